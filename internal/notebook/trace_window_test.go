package notebook

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
	"railtally/internal/trace"
)

const togetherStudy = `
study: What does the chip draw while it works in bursts?
instruments:
  red shunt: {kind: shunt, resistance: 10 mΩ ±0.1 %}
  meter:
    kind: meter
    ranges:
      500 mV: {digit: 0.1 µV, spec: ±0.01 %}
      5 V: {digit: 1 µV, spec: ±0.01 %}
boards:
  Heron:
    rails:
      core: {nominal: 1.0 V ±5 %, tap: red shunt}
states:
  busy: {}
`

// togetherBegun begins the study of togetherStudy and its first sitting.
func togetherBegun(t *testing.T, nb *Notebook) (*Plan, Ack) {
	t.Helper()
	s, _, err := studyfile.Read("together.yaml", []byte(togetherStudy))
	if err != nil {
		t.Fatal(err)
	}
	p := must[*Plan](t)(nb.NewStudy(t.Context(), s, Origin{}))
	return p, must[Ack](t)(nb.OpenSitting(t.Context(), p.StudyID, Head{Board: "Heron", On: began(), Clock: true, CurrentMeter: "meter", VoltageMeter: "meter", Room: "23 ± 1 °C"}, Origin{}))
}

// TestTakeWindow: a window of a trace becomes readings, and the tally makes of them the mean of v·i, which
// here differs from the product of the means by two parts in a hundred: the load pulls its own voltage down.
// That mean(v·i) = mean(v)·mean(i) + cov(v, i) is an identity; the uncertainty is checked against the AR(1)
// process that the samples were drawn from: F = (1+φ)/(1−φ) (Priestley, Spectral Analysis and Time Series, from
// memory).
func TestTakeWindow(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	p, sitting := togetherBegun(t, nb)
	const n, phi, ohms = 40000, 0.9, 0.02
	rng := rand.New(rand.NewPCG(11, 12))
	at, volts, drop := make([]float64, n), make([]float64, n), make([]float64, n)
	product, x := 0.0, 0.0
	for k := range n {
		x = phi*x + math.Sqrt(1-phi*phi)*rng.NormFloat64()
		amps := 5 + 2*x
		at[k] = float64(k) / 1000
		volts[k] = 1.1 - ohms*amps
		drop[k] = amps * 0.01
		product += volts[k] * amps / n
	}
	w := must[*TraceWriter](t)(nb.BeginTrace(ctx, TraceHead{Study: p.StudyID, Source: FromMeters, Zero: began().Add(time.Hour)}, "bursts", Origin{}))
	must[int](t)(w.AddClock(ctx, []Channel{{Name: "V", Unit: quantity.Volt}, {Name: "shunt", Unit: quantity.Volt}}))
	if err := errorsOf(w.Append(ctx, 0, at, volts, drop), w.Close(ctx, TraceEnd{})); err != nil {
		t.Fatal(err)
	}
	x0 := must[Trace](t)(nb.Trace(ctx, w.Trace()))
	if _, err := nb.TakeWindow(ctx, w.Trace(), 0, 40, Place{Sitting: sitting.First, State: "busy"}, Origin{}); CodeOf(err) != Invalid {
		t.Errorf("a trace of nothing was taken: %v", err)
	}
	roles := []ChannelRole{{Channel: 0, Is: Voltage, Rail: "core"}, {Channel: 1, Is: Current, Rail: "core"}}
	must[Ack](t)(nb.MapTrace(ctx, x0.Mapping.ID, "bursts", "", roles, Origin{}))
	acks := must[[]Ack](t)(nb.TakeWindow(ctx, w.Trace(), 0, 40, Place{Sitting: sitting.First, State: "busy"}, Origin{Key: "k"}))
	if again := must[[]Ack](t)(nb.TakeWindow(ctx, w.Trace(), 0, 40, Place{Sitting: sitting.First, State: "busy"}, Origin{Key: "k"})); len(acks) != 3 || !again[2].Again || again[2].ID != acks[2].ID {
		t.Errorf("sent twice: %+v, %+v", acks, again)
	}

	// Of a load that the state says repeats every 60 s the window holds two thirds: r(P − r)/(PT) = 1/3 of the
	// samples' range is an error of the mean, as its rectangle.
	for _, r := range must[[]WindowReading](t)(nb.ReadWindow(ctx, w.Trace(), 0, 40)) {
		text := r.Content.Text
		r.cutShort(&x0, 0, 40, &study.Cycle{Period: quantity.Entry{Kind: quantity.Single, Values: []float64{60}, Unit: quantity.Second}})
		e, err := quantity.Parse(r.Content.Text, quantity.Volt, "")
		want := math.Hypot(r.Stats.U, (r.Stats.Max-r.Stats.Min)/3/math.Sqrt(3))
		if err != nil || text == r.Content.Text || math.Abs(e.Tol.Plus/want-1) > 0.05 || !strings.Contains(r.Content.From, "shorter than whole periods") {
			t.Errorf("%s became %s, from %s: want ± %g; %v", text, r.Content.Text, r.Content.From, want, err)
		}
	}

	got := must[*Record](t)(nb.Record(ctx, p.StudyID)).Study
	step := got.Sittings[0].Steps[0]
	if want := began().Add(time.Hour + 20*time.Second); !step.At.Equal(want) {
		t.Errorf("the step is at %v, want %v", step.At, want)
	}
	rr := step.Reading("core")
	i := rr.Current[0]
	if !strings.HasPrefix(i.Reading.From, "bursts, shunt, 0 s to 40 s: 40000 samples worth ") || i.WithVoltage == nil {
		t.Errorf("%+v", i)
	}
	m := trace.MomentsOf(drop)
	u := i.Reading.Tol.Plus
	known := 2 * 0.01 * math.Sqrt((1+phi)/(1-phi)/n)
	if math.Abs(i.Reading.Value()-m.Mean()) > u/10 || math.Abs(u/known-1) > 0.15 || !(i.Reading.Tol.DOF > 50) || i.Reading.Tol.K != 1 {
		t.Errorf("read %s; the mean is %g and its uncertainty %g", i.Reading.Text, m.Mean(), known)
	}
	whole := must[*tally.Tally](t)(tally.Run(got, tally.Options{}))
	watts := whole.Boards[0].States[0].Taken[0].Rails[0].Power
	power, err := whole.Graph.Result(watts)
	if err != nil {
		t.Fatal(err)
	}
	product0 := rr.Voltage.Value() * i.Reading.Value() / 0.01
	if math.Abs(power.Estimate/product-1) > 1e-4 || math.Abs(product0/product-1) < 0.01 {
		t.Errorf("the tally says %g W, the mean of v·i is %g W, the product of the means %g W", power.Estimate, product, product0)
	}
	scatter := 0
	for _, sh := range must[[]gum.Share](t)(whole.Graph.Budget(watts)) {
		for _, tag := range sh.Tags {
			if tag.Value == sensing.CauseScatter {
				scatter++
			}
		}
	}
	if scatter != 3 { // of the voltage, of the current, and of what they have together
		t.Errorf("%d inputs of the budget come from the scatter of samples", scatter)
	}

	// What goes out as a study file comes in again as it was.
	text := yamlText(t, got)
	back, _, err := studyfile.Read("back.yaml", []byte(text))
	if err != nil || yamlText(t, back) != text || back.Sittings[0].Steps[0].Reading("core").Current[0].WithVoltage == nil {
		t.Errorf("%v\n%s", err, text)
	}
	sound(t, nb)
}
