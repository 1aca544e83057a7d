package insertion

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"railtally/internal/quantity"
)

// A loop is never hotter than without its pads or without its air, and tends to
// the one when short and to the other when long.
func TestLoopRiseLiesBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := quantity.GaugeArea(rapid.IntRange(14, 32).Draw(t, "gauge"))
		i := rapid.Float64Range(0.01, 0.1).Draw(t, "of fusing") * Preece(a)
		l := rapid.Float64Range(0.005, 2).Draw(t, "length")
		got, held, far := LoopRise(i, l, a), HeldEndsRise(i, l, a), StillAirRise(i, a)
		if got > held*(1+1e-9) || got > far*(1+1e-9) {
			t.Fatalf("%g K exceeds %g or %g K", got, held, far)
		}
		if short := LoopRise(i, 1e-3, a); math.Abs(short/HeldEndsRise(i, 1e-3, a)-1) > 0.01 {
			t.Fatalf("1 mm: %g K", short)
		}
		if long := LoopRise(i, 50, a); math.Abs(long/far-1) > 0.01 {
			t.Fatalf("50 m: %g K, want %g", long, far)
		}
	})
}

// The smallest sound gauge is sound, the next thinner is not; the longest loop of
// it is at least as long as what was asked for.
func TestSmallestGaugeIsSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.Float64Range(0.02, 0.3).Draw(t, "length")
		i := rapid.Float64Range(0.01, 10).Draw(t, "current")
		drop := rapid.Float64Range(1e-3, 50e-3).Draw(t, "drop")
		sound := func(g int) bool {
			a := quantity.GaugeArea(g)
			return i*(Resistance(l, a, 20)+2*Joint) <= drop && LoopRise(i, l, a) <= 20 && FuseMargin*i <= Preece(a)
		}
		g, ok := SmallestGauge(l, i, drop, 20)
		if !ok {
			if sound(ThickestGauge) {
				t.Fatal("the thickest is sound, and none was found")
			}
			return
		}
		if !sound(g) || g < ThinnestGauge && sound(g+1) {
			t.Fatalf("AWG %d is not the smallest", g)
		}
		if got := LongestLoop(quantity.GaugeArea(g), i, drop); got < l*(1-1e-9) {
			t.Fatalf("longest loop %g m of AWG %d, and %g m is sound", got, g, l)
		}
	})
}

// A circle encloses more than any rectangle of the same wire, so it has more
// inductance; two legs pressed together have less than half of it.
func TestCircleHasMost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := quantity.GaugeArea(rapid.IntRange(18, 30).Draw(t, "gauge"))
		l := rapid.Float64Range(0.05, 0.5).Draw(t, "length")
		f := rapid.Float64Range(0.1, 0.5).Draw(t, "side")
		if r := Rectangle(l/2*f, l/2*(1-f), a); r > Loop(l, a) {
			t.Fatalf("rectangle %g above circle %g", r, Loop(l, a))
		}
		if p := Pair(1.2*Diameter(a), a) * l / 2; p > Loop(l, a)/2 {
			t.Fatalf("pressed together %g, circle %g", p, Loop(l, a))
		}
	})
}
