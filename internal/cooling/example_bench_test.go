package cooling

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"railtally/gum"
	"railtally/internal/example"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// described is another thing to say of the virtual bench's cooling than what the
// worked example says. The sink is invented; by the formulas alone it is of about
// that size.
const described = `
cooling:
  Otter:
    limits: {case: 95 °C, sink: 90 °C, junction: 105 °C}
    limits from: an invented data sheet
    room: 45 °C
    junction above case: 0.4 K/W
    chip side: 17.5 mm
    sink: {kind: plate fins, width: 40 mm, length: 40 mm, base thickness: 3 mm, fins: 10, fin height: 18 mm, fin thickness: 1 mm}
  Marten:
    limits: {case: 95 °C}
    sink: {kind: unknown}
`

// section is the worked example's own section on cooling.
var section = regexp.MustCompile(`(?ms)^cooling:\n.*?\n\n`)

// tallied is the study of one virtual bench, with its own section on cooling or
// with another.
func tallied(t testing.TB, seed uint64, cooling string) *tally.Tally {
	t.Helper()
	text := example.New(seed).Text
	if cooling != "" {
		text = section.ReplaceAll(text, []byte(strings.ReplaceAll(cooling, "$", "$$")+"\n"))
	}
	s, _, err := studyfile.Read("bench.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	out, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func run(t testing.TB, tl *tally.Tally, o Options) *Cooling {
	t.Helper()
	c, err := Run(tl, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func entry(t testing.TB, text string, u quantity.Unit) *quantity.Entry {
	t.Helper()
	e, err := quantity.Parse(text, u, "")
	if err != nil {
		t.Fatal(err)
	}
	return &e
}

// A state left out of the fit: what the thermometer showed there lies in the
// predicted interval as often as it should, over many benches.
func TestLeftOutState(t *testing.T) {
	t.Parallel()
	covered, all := 0, 0
	for seed := range uint64(16) {
		tl := tallied(t, seed, described)
		for _, state := range example.States() {
			on := study.StateOn{Board: "Otter", State: state}
			c := run(t, tl, Options{Board: "Otter", LeaveOut: []study.StateOn{on}})
			b := c.Boards[0]
			for _, name := range []string{"case", "sink"} {
				p := b.Named(name)
				for _, r := range p.Readings {
					if !r.LeftOut {
						continue
					}
					f, err := c.PredictReading(p, r)
					if err != nil {
						t.Fatal(err)
					}
					shown := r.Temperature.Value.Add(r.accuracy).Estimate()
					all++
					if shown >= f.Lo() && shown <= f.Hi() {
						covered++
					}
				}
			}
		}
	}
	if share := float64(covered) / float64(all); share < 0.93 {
		t.Errorf("%d of %d readings lie in their interval (%.1f %%)", covered, all, 100*share)
	}
}

// The worked example itself, as it is published: each state of both boards in
// turn is predicted from the others.
func TestLeftOutOfTheExample(t *testing.T) {
	t.Parallel()
	tl := tallied(t, example.Seed, "")
	seen := 0
	for _, board := range example.Boards() {
		for _, state := range example.States() {
			on := study.StateOn{Board: board, State: state}
			c := run(t, tl, Options{Board: board, LeaveOut: []study.StateOn{on}})
			for _, name := range []string{"case", "sink"} {
				p := c.Boards[0].Named(name)
				for _, r := range p.Readings {
					if !r.LeftOut {
						continue
					}
					f, err := c.PredictReading(p, r)
					if err != nil {
						t.Fatal(err)
					}
					seen++
					if shown := r.Temperature.Value.Add(r.accuracy).Estimate(); shown < f.Lo() || shown > f.Hi() {
						t.Errorf("%s of %s in %s: %.1f °C, predicted %.2f ± %.2f °C", name, on, r.Sitting.Name, shown, f.Estimate, f.Expanded)
					}
				}
			}
		}
	}
	if seen != 28 {
		t.Errorf("%d readings were left out in turn, and there are 28", seen)
	}
}

// What the worked example says of its fans, bench by bench, against the truth:
// Otter stays 6 K under its limit and Marten passes its own by 5 K, and both are
// said, at every bench.
func TestFanOfTheExample(t *testing.T) {
	t.Parallel()
	for seed := range uint64(12) {
		if seed == 0 {
			seed = example.Seed
		}
		bench, c := example.New(seed), run(t, tallied(t, seed, ""), Options{})
		for _, b := range c.Boards {
			a, pr, err := c.passive(b)
			if err != nil {
				t.Fatal(err)
			}
			truth := b.How.Room.Value() + bench.TrueRise("case", bench.True(b.Name, "four-busy", ""))
			want := Yes
			if truth > pr.Limit {
				want = No
			}
			if a.Verdict != want {
				t.Errorf("seed %d: truly %.1f °C, %q: %s", seed, truth, a.Verdict, a.Text)
			}
		}
	}
}

// What is said of the fan is right with respect to the bench's truth: a yes or
// a no is wrong at most as often as the level allows, and where the truth is
// far from the limit something is said.
func TestFanSentence(t *testing.T) {
	t.Parallel()
	said, wrong, far, silent := 0, 0, 0, 0
	for seed := range uint64(16) {
		bench := example.New(seed)
		tl := tallied(t, seed, described)
		truth := func(room, power float64) float64 { return room + bench.TrueRise("case", power) }
		power := bench.True("Marten", "four-busy", "")
		for _, room := range []string{"23 °C", "35 °C", "45 °C", "50 °C"} {
			r := entry(t, room, quantity.Celsius)
			for _, limit := range []string{"70 °C", "85 °C", "92 °C", "98 °C", "105 °C"} {
				l := entry(t, limit, quantity.Celsius)
				c := run(t, tl, Options{Board: "Marten", Room: r, Limits: []*study.TempLimit{{Name: "case", Max: *l}}})
				a, _, err := c.passive(c.Boards[0])
				if err != nil {
					t.Fatal(err)
				}
				over := truth(r.Value(), power) - l.Value()
				switch a.Verdict {
				case Yes, No:
					said++
					if (a.Verdict == Yes) != (over <= 0) {
						wrong++
					}
				case Open:
					if math.Abs(over) > 5 {
						silent++
					}
				}
				if math.Abs(over) > 5 {
					far++
				}
				for v, words := range map[Verdict]string{Yes: "no fan is needed", No: "not enough without a fan", Open: "cannot be said"} {
					if strings.Contains(a.Text.String(), words) != (v == a.Verdict) {
						t.Fatalf("%s: %s", a.Verdict, a.Text)
					}
				}
			}
		}
	}
	if said < 100 || float64(wrong) > 0.05*float64(said) {
		t.Errorf("%d of %d answers are wrong", wrong, said)
	}
	if silent > 0 {
		t.Errorf("of %d cases more than 5 K from the limit %d were left open", far, silent)
	}
}

// A gain that the clamp shares between the states cancels from a prediction at
// the power of one of them, and comes back when the power is stated by itself.
func TestSharedGainCancels(t *testing.T) {
	tl := tallied(t, example.Seed, described)
	share := func(o Options) float64 {
		c := run(t, tl, o)
		b := c.Boards[0]
		pr, err := c.Predict(b.Named("case"), b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
		if err != nil {
			t.Fatal(err)
		}
		shares, err := tl.Graph.BudgetBy(pr.Temperature.Value, sensing.TagCause)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range shares {
			if s.Name == sensing.CauseCal {
				return math.Sqrt(s.Fraction) * pr.Temperature.U
			}
		}
		return 0
	}
	own := share(Options{Board: "Otter"})
	stated := share(Options{Board: "Otter", Power: entry(t, "5.995 W", quantity.Watt)})
	if !(own < 0.1*stated) {
		t.Errorf("the calibration costs %.3f K beside its own power and %.3f K beside a stated one", own, stated)
	}
}

// The law of propagation against Monte Carlo of the same graph (JCGM 101): the
// prediction, its interval, and a change of the sink.
func TestAgainstMonteCarlo(t *testing.T) {
	tl := tallied(t, example.Seed, described)
	c := run(t, tl, Options{Board: "Otter", Power: entry(t, "7.5 ± 0.3 W", quantity.Watt)})
	b := c.Boards[0]
	pr, err := c.Predict(b.Named("case"), b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
	if err != nil {
		t.Fatal(err)
	}
	s := *b.Model.Ladder.Sink
	s.Height *= 1.5
	trial, err := c.Try(b, Change{Sink: &s})
	if err != nil {
		t.Fatal(err)
	}
	r, err := tl.Graph.MonteCarlo(t.Context(), gum.MCOptions{Trials: 20000, Seed: 3}, pr.Temperature.Value, b.Named("case").Law.N)
	if err != nil {
		t.Fatal(err)
	}
	again, err := tl.Graph.MonteCarlo(t.Context(), gum.MCOptions{Trials: 1500, Seed: 3}, trial.Points[0].Temperature.Value)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		name string
		f    tally.Figure
		o    gum.MCOutput
		tol  float64
	}{{"prediction", pr.Temperature, r.Outputs[0], 0.05}, {"exponent", b.Named("case").Law.Exponent, r.Outputs[1], 0.05},
		{"other sink", trial.Points[0].Temperature, again.Outputs[0], 0.08}} {
		if math.Abs(x.f.Estimate-x.o.Mean) > 0.1*x.f.U {
			t.Errorf("%s: %g, simulated %g", x.name, x.f.Estimate, x.o.Mean)
		}
		// Standard uncertainties are not the same thing: few degrees of freedom
		// widen the simulated one (JCGM 101 6.4.9.4), and k·u here.
		if half := (x.o.Symmetric.Hi - x.o.Symmetric.Lo) / 2; math.Abs(x.f.Expanded-half) > x.tol*half {
			t.Errorf("%s: ± %g, simulated ± %g", x.name, x.f.Expanded, half)
		}
	}
}
