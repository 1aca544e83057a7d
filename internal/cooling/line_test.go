package cooling

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"railtally/internal/cooling/heat"
	"railtally/internal/example"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

func otter(t testing.TB, o Options) (*Cooling, *Board) {
	t.Helper()
	o.Board = "Otter"
	c := run(t, tallied(t, example.Seed, described), o)
	return c, c.Boards[0]
}

// A line without the graph says what the graph says.
func TestLineIsTheGraph(t *testing.T) {
	c, b := otter(t, Options{})
	for _, p := range b.Points {
		for _, x := range []struct{ power, room, pressure float64 }{{4, 20, heat.SeaLevel}, {9, 50, heat.SeaLevel}, {6, 30, heat.PressureAt(2000)}} {
			got, u := p.Line.At(x.power, x.room, x.pressure)
			pr, err := c.Predict(p, c.Tally.Graph.Const(x.power), c.Tally.Graph.Const(x.room), x.pressure)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got-pr.Temperature.Estimate) > 1e-9 || math.Abs(u-pr.Temperature.U) > 1e-4*u {
				t.Errorf("%s at %v: %g ± %g, in the graph %g ± %g", p.Name, x, got, u, pr.Temperature.Estimate, pr.Temperature.U)
			}
		}
	}
}

// Warmer with more power, in a warmer room and higher up; likelier to be kept
// the other way; and the largest power and room are where the probability is
// what was asked for.
func TestLineIsMonotonic(t *testing.T) {
	_, b := otter(t, Options{})
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.SampledFrom(b.Points).Draw(t, "point").Line
		power, room := rapid.Float64Range(0.5, 15).Draw(t, "power"), rapid.Float64Range(-10, 60).Draw(t, "room")
		p := heat.PressureAt(rapid.Float64Range(0, 3000).Draw(t, "altitude"))
		was, _ := l.At(power, room, p)
		for what, now := range map[string]func() (float64, float64){
			"more power": func() (float64, float64) { return l.At(power*1.05, room, p) },
			"warmer":     func() (float64, float64) { return l.At(power, room+1, p) },
			"higher":     func() (float64, float64) { return l.At(power, room, p*0.95) },
		} {
			if x, u := now(); x <= was || !(u > 0) {
				t.Fatalf("%s: %g ± %g, was %g", what, x, u, was)
			}
		}
		limit := rapid.Float64Range(70, 120).Draw(t, "limit")
		prob := rapid.SampledFrom([]float64{0.05, 0.5, 0.95, 0.99}).Draw(t, "probability")
		if x := l.PowerFor(limit, room, p, prob); math.Abs(l.Keeps(limit, x, room, p)-prob) > 1e-6 {
			t.Fatalf("at %g W the limit is kept with %g, not %g", x, l.Keeps(limit, x, room, p), prob)
		}
		if x := l.RoomFor(limit, power, p, prob); !math.IsNaN(x) && math.Abs(l.Keeps(limit, power, x, p)-prob) > 1e-6 {
			t.Fatalf("in %g °C the limit is kept with %g, not %g", x, l.Keeps(limit, power, x, p), prob)
		}
	})
}

// With no power there is no rise, and far below the room no limit is kept.
func TestLineAtItsEnds(t *testing.T) {
	_, b := otter(t, Options{})
	l := b.Named("case").Line
	if x, _ := l.At(0, 23, heat.SeaLevel); x != 23 {
		t.Errorf("without power %g °C", x)
	}
	if p := l.PowerFor(20, 30, heat.SeaLevel, 0.95); p != 0 {
		t.Errorf("a limit under the room is kept with %g W", p)
	}
	if !math.IsNaN(l.RoomFor(10, 200, heat.SeaLevel, 0.95)) {
		t.Error("200 W find a room that is cold enough")
	}
}

// One state alone: the exponent is what was known beforehand, and the interval
// grows with the distance from it.
func TestOneReading(t *testing.T) {
	var out []study.StateOn
	for _, s := range example.States() {
		if s != "one-busy-fast" {
			out = append(out, study.StateOn{Board: "Otter", State: s})
		}
	}
	_, b := otter(t, Options{LeaveOut: out})
	l := b.Named("case").Law
	if l.N0 != 1 || l.Beforehand != 1 || math.Abs(l.Exponent.Estimate-0.79) > 1e-9 || math.Abs(l.Exponent.U-0.06/math.Sqrt(3)) > 1e-6 {
		t.Errorf("%+v", l)
	}
	_, near := b.Named("case").Line.At(5.2, 23, heat.SeaLevel)
	_, far := b.Named("case").Line.At(13, 23, heat.SeaLevel)
	if far < 2*near {
		t.Errorf("± %g K at hand, ± %g K at a factor of 2.5", near, far)
	}
	// A constant resistance carried up by 2.5 would be 20 to 27 % too hot
	// (correlations in testdata of package heat, trade rules).
	r := b.Named("case").Readings
	for _, x := range r {
		if x.LeftOut {
			continue
		}
		up, _ := b.Named("case").Line.At(2.5*x.Power.Estimate, 23, heat.SeaLevel)
		constant := 2.5 * x.Rise.Estimate
		if over := constant/(up-23) - 1; over < 0.15 || over > 0.28 {
			t.Errorf("a constant resistance is %.0f %% over", 100*over)
		}
	}
}

func TestRefused(t *testing.T) {
	tl := tallied(t, example.Seed, described)
	for what, o := range map[string]Options{
		"no such board": {Board: "Stoat"}, "hot room": {Room: entry(t, "300 °C", quantity.Celsius)},
		"a power that no law reaches": {Power: entry(t, "500 W", quantity.Watt)}, "up in space": {Altitude: entry(t, "90 km", quantity.Metre)},
	} {
		if _, err := Run(tl, o); err == nil {
			t.Errorf("%s: taken", what)
		}
	}
	c := run(t, tl, Options{Board: "Marten"})
	if _, err := c.Try(c.Boards[0], Change{}); err == nil {
		t.Error("a sink of which nothing is known was changed")
	}
}
