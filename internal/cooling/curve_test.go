package cooling

import (
	"math"
	"testing"

	"railtally/internal/example"
	"railtally/internal/quantity"
)

// The curve of a change is the trial itself, at other powers and rooms too.
func TestCurveIsTheTrial(t *testing.T) {
	tl := tallied(t, example.Seed, "")
	settings := []Setting{{"fin height", "30"}, {"air speed", "0.2"}}
	c := run(t, tl, Options{Board: "Otter"})
	b := c.Boards[0]
	ch, bad := b.ChangeOf(settings)
	if len(bad) > 0 {
		t.Fatal(bad[0])
	}
	tr := try(t, c, b, ch)
	p := b.Named("case")
	curve, err := tr.Curve(p)
	if err != nil {
		t.Fatal(err)
	}
	got, u := curve.At(tr.base.power, tr.base.room, b.Ask.Pressure)
	if want := tr.Points[0].Temperature; math.Abs(u-want.U) > 1e-9 || math.Abs(got-want.Estimate) > 0.002*(want.Estimate-tr.base.room) {
		t.Errorf("%g ± %g at what is asked, the trial says %g ± %g", got, u, want.Estimate, want.U)
	}
	for _, x := range []struct{ power, room string }{{"1.5 W", "25 °C"}, {"3 W", "40 °C"}, {"9 W", "60 °C"}} {
		other := run(t, tl, Options{Board: "Otter", Power: entry(t, x.power, quantity.Watt), Room: entry(t, x.room, quantity.Celsius)})
		ob := other.Boards[0]
		want := try(t, other, ob, ch).Points[0].Temperature
		power, room := ob.Ask.Power.Estimate(), ob.Ask.Room.Estimate()
		got, u := curve.At(power, room, b.Ask.Pressure)
		if math.Abs(got-want.Estimate) > 0.002*(want.Estimate-room) || u < 0.8*want.U || u > 1.35*want.U {
			t.Errorf("%s in %s: %g ± %g, the trial there says %g ± %g", x.power, x.room, got, u, want.Estimate, want.U)
		}
	}
	if same, err := try(t, c, b, Change{}).Curve(p); err != nil || same != Curve(p.Line) {
		t.Errorf("no change is not the line: %v", err)
	}
}

// The candidates go from warm to cool, more air and area are cooler than what
// there is, and the way of the heat after a trial stays in balance.
func TestCandidates(t *testing.T) {
	tl := tallied(t, example.Seed, "")
	c := run(t, tl, Options{Board: "Marten"})
	b := c.Boards[0]
	list, err := c.Candidates(b)
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]float64{}
	last := math.Inf(1)
	for _, x := range list {
		if x.Err != nil {
			t.Errorf("%s: %v", x.Name, x.Err)
			continue
		}
		now := x.Worst.Temperature.Estimate
		if now > last {
			t.Errorf("%s stands at %g °C below %g °C", x.Name, now, last)
		}
		last, at[x.Name] = now, now
		h, err := c.PathAfter(b, x.Trial)
		if err != nil {
			t.Fatal(err)
		}
		if h.Split && math.Abs(h.Up+h.Down-h.Power.Estimate) > 1e-6 {
			t.Errorf("%s: %g W and %g W of %g W", x.Name, h.Up, h.Down, h.Power.Estimate)
		}
	}
	for _, cooler := range []string{"half as much fin area again", "twice the fin area", "the best count of fins", "a fan", "half as wide again"} {
		if !(at[cooler] < at["as it is"]) {
			t.Errorf("%s: %g °C, as it is %g °C", cooler, at[cooler], at["as it is"])
		}
	}
	if !(at["the board alone"] > at["as it is"]) {
		t.Errorf("the board alone: %g °C", at["the board alone"])
	}
}

// A fan's flow is wider than a speed that is known, and lies where the speeds
// that it may make lie.
func TestFanFlow(t *testing.T) {
	c := run(t, tallied(t, example.Seed, ""), Options{Board: "Marten"})
	b := c.Boards[0]
	of := func(key, text string) float64 {
		ch, bad := b.ChangeOf([]Setting{{key, text}})
		if len(bad) > 0 {
			t.Fatal(bad[0])
		}
		return try(t, c, b, ch).Points[0].Temperature.Estimate
	}
	// 3 m³/h over 40 by 18 mm are 1.157 m/s; 0.3 and 0.8 of it go through.
	x, slow, fast := of("fan flow", "3 m³/h"), of("air speed", "0.347"), of("air speed", "0.926")
	if !(x < slow && x > fast) {
		t.Errorf("a fan gives %g °C; %g and %g °C are the ends of its speeds", x, slow, fast)
	}
	for _, same := range []string{"3", "50 l/min", "0.8333 l/s", "1.7657 cfm"} {
		if y := of("fan flow", same); math.Abs(x-y) > 0.01 {
			t.Errorf("%s is %g °C, 3 m³/h is %g °C", same, y, x)
		}
	}
	for _, s := range []Setting{{"fan flow", "-1"}, {"fan flow", "3 W"}, {"fan flow", "3 %"}, {"fan flow", ""}} {
		if _, bad := b.ChangeOf([]Setting{s}); len(bad) == 0 {
			t.Errorf("%v is taken", s)
		}
	}
}
