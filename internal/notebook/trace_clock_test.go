package notebook

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// TestTwoClocks: voltage and current of a rail come from two instruments whose clocks differ by 7.3 s and whose rates
// differ. The shift is found, kept, and the tally makes of readings of a window the mean of v·i, as if one instrument had
// logged both.
func TestTwoClocks(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	p, sitting := togetherBegun(t, nb)
	const phi, ohms, behind = 0.995, 0.02, 7.3
	rng := rand.New(rand.NewPCG(21, 22))
	load, x := make([]float64, 80000), 0.0 // each ms
	for k := range load {
		x = phi*x + math.Sqrt(1-phi*phi)*rng.NormFloat64()
		load[k] = 5 + 2*x
	}
	log := func(name string, zero time.Time, n int, step, from float64, value func(amps float64) float64, r ChannelRole) Trace {
		at, v := make([]float64, n), make([]float64, n)
		for k := range n {
			at[k] = float64(k) * step
			v[k] = value(load[int((from+at[k])*1000+0.5)])
		}
		w := must[*TraceWriter](t)(nb.BeginTrace(ctx, TraceHead{Study: p.StudyID, Source: FromMeters, Zero: zero}, name, Origin{}))
		must[int](t)(w.AddClock(ctx, []Channel{{Name: "reading", Unit: quantity.Volt}}))
		if err := errorsOf(w.Append(ctx, 0, at, v), w.Close(ctx, TraceEnd{})); err != nil {
			t.Fatal(err)
		}
		y := must[Trace](t)(nb.Trace(ctx, w.Trace()))
		must[Ack](t)(nb.MapTrace(ctx, y.Mapping.ID, name, "", []ChannelRole{r}, Origin{}))
		return must[Trace](t)(nb.Trace(ctx, w.Trace()))
	}
	// The second clock was set by hand, 4 s late: the zeros say a shift of 4 s where it is 7.3 s.
	volts := log("volts", began(), 6000, 0.010, 0, func(a float64) float64 { return 1.1 - ohms*a + 1e-4*rng.NormFloat64() }, ChannelRole{Is: Voltage, Rail: "core"})
	amps := log("amps", began().Add(4*time.Second), 10000, 0.007, behind, func(a float64) float64 { return 0.01 * a }, ChannelRole{Is: Current, Rail: "core"})

	al, err := nb.CorrelateTraces(ctx, volts.ID, 0, amps.ID, 0, 10)
	if err != nil || math.Abs(al.Offset-behind) > 3*al.U || al.U > 0.01 {
		t.Fatalf("found %+v, want %g s (%v)", al, behind, err)
	}
	// Kept with the current, whose clock the voltage is brought to.
	c := Clock{Trace: volts.ID, Offset: -al.Offset, U: al.U, Method: al.Method}
	first := must[Ack](t)(nb.AlignTrace(ctx, amps.Mapping.ID, c, false, Origin{Key: "twice"}))
	if again := must[Ack](t)(nb.AlignTrace(ctx, amps.Mapping.ID, c, false, Origin{Key: "twice"})); !again.Again || again.ID != first.ID {
		t.Errorf("sent twice: %+v", again)
	}
	if _, err := nb.AlignTrace(ctx, first.ID, Clock{Trace: amps.ID}, false, Origin{}); CodeOf(err) != Invalid {
		t.Errorf("a trace was aligned with itself: %v", err)
	}
	now := must[Trace](t)(nb.Trace(ctx, amps.ID))
	back := must[[]Clock](t)(nb.Clocks(ctx, &volts))
	if kept := must[[]Clock](t)(nb.Clocks(ctx, &now)); len(kept) != 1 || kept[0] != c || len(now.Mapping.Roles) != 1 || len(back) != 1 || back[0].Offset != al.Offset {
		t.Errorf("kept %+v, seen from the other %+v", kept, back)
	}
	must[Ack](t)(nb.MapTrace(ctx, now.Mapping.ID, "amperes", "", now.Mapping.Roles, Origin{}))

	acks := must[[]Ack](t)(nb.TakeWindow(ctx, amps.ID, 2, 50, Place{Sitting: sitting.First, State: "busy"}, Origin{}))
	if len(acks) != 3 {
		t.Fatalf("kept %d rows, want a step, a current and a voltage", len(acks))
	}
	got := must[*Record](t)(nb.Record(ctx, p.StudyID)).Study
	rr := got.Sittings[0].Steps[0].Reading("core")
	if rr.Current[0].WithVoltage == nil || !strings.HasPrefix(rr.Voltage.From, "volts, reading, 9.3") {
		t.Errorf("%+v, %+v", rr.Current[0], rr.Voltage)
	}
	product, n := 0.0, 0
	for k := int((behind + 2) * 1000); k <= int((behind+50)*1000); k++ {
		product += (1.1 - ohms*load[k]) * load[k]
		n++
	}
	product /= float64(n)
	whole := must[*tally.Tally](t)(tally.Run(got, tally.Options{}))
	power, err := whole.Graph.Result(whole.Boards[0].States[0].Taken[0].Rails[0].Power)
	if err != nil {
		t.Fatal(err)
	}
	alone := rr.Voltage.Value() * rr.Current[0].Reading.Value() / 0.01
	// Both means are written to two digits of an uncertainty of 3 %, which may round each by a part in a thousand.
	if math.Abs(power.Estimate/product-1) > 2e-3 || math.Abs(alone/product-1) < 0.01 {
		t.Errorf("the tally says %g W, the mean of v·i is %g W, the product of the means %g W", power.Estimate, product, alone)
	}

	// From the voltage's trace the same two are taken with the same part.
	list := must[[]WindowReading](t)(nb.ReadWindow(ctx, volts.ID, 2+behind, 50+behind))
	if len(list) != 2 || list[1].With != "volts" || list[1].Content.WithVoltage == "" {
		t.Errorf("from the other trace: %+v", list)
	}

	// An offset that is not known to the second says so: what the two have together is within its uncertainty of nothing.
	vague := c
	vague.U = 1
	j, err := nb.JoinTraces(ctx, amps.ID, 0, volts.ID, 0, vague.Alignment(), 2, 50)
	if err != nil || j.UShare() < 0.6*math.Abs(j.Share.Mean()) {
		t.Errorf("%+v %v", j, err)
	}
	// Said anew from the other side it replaces what was kept.
	must[Ack](t)(nb.AlignTrace(ctx, volts.Mapping.ID, Clock{Trace: amps.ID, Offset: 7, U: 0.5, Method: "offset given"}, false, Origin{}))
	now = must[Trace](t)(nb.Trace(ctx, amps.ID))
	if kept := must[[]Clock](t)(nb.Clocks(ctx, &now)); len(kept) != 1 || kept[0].Offset != -7 {
		t.Errorf("said anew: %+v", kept)
	}
	must[Ack](t)(nb.AlignTrace(ctx, now.Mapping.ID, Clock{Trace: volts.ID}, true, Origin{}))
	if now = must[Trace](t)(nb.Trace(ctx, amps.ID)); len(now.Mapping.Clocks) != 0 || now.Mapping.Name != "amperes" || len(must[[]Clock](t)(nb.Clocks(ctx, &now))) != 0 {
		t.Errorf("not forgotten: %+v", now.Mapping)
	}
	sound(t, nb)
}
