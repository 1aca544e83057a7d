package fit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Whatever the readings, the answer is a refusal or finite figures, and units
// and origins of time and reading do not matter.
func TestSettlingInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		terms := rapid.IntRange(1, 2).Draw(t, "terms")
		n := rapid.IntRange(2+2*terms, 40).Draw(t, "n")
		x, y := make([]float64, n), make([]float64, n)
		shape := rapid.SampledFrom([]string{"settling", "noise", "steps"}).Draw(t, "shape")
		amplitude := rapid.Float64Range(-100, 100).Draw(t, "A")
		tau := rapid.Float64Range(0.05, 20).Draw(t, "tau")
		for i := range x {
			if i > 0 {
				// Repeated times happen.
				x[i] = x[i-1] + float64(rapid.IntRange(0, 8).Draw(t, "dt"))/8
			}
			switch shape {
			case "settling":
				y[i] = 20 + amplitude*math.Exp(-x[i]/tau) + float64(rapid.IntRange(-50, 50).Draw(t, "e"))/100
			case "noise":
				y[i] = float64(rapid.IntRange(-50, 50).Draw(t, "e")) / 100
			case "steps":
				y[i] = float64(rapid.IntRange(0, 2).Draw(t, "e"))
			}
		}
		a, errA := Settling(x, y, SettlingOptions{Terms: terms})

		// Powers of two: the moved record holds the same numbers exactly.
		ft, fy := math.Ldexp(1, rapid.IntRange(-20, 20).Draw(t, "ft")), math.Ldexp(1, rapid.IntRange(-20, 20).Draw(t, "fy"))
		ot := float64(rapid.IntRange(-1000, 1000).Draw(t, "ot"))
		u, v := make([]float64, n), make([]float64, n)
		for i := range u {
			u[i], v[i] = ft*(x[i]+ot), fy*y[i]
		}
		b, errB := Settling(u, v, SettlingOptions{Terms: terms})
		if (errA == nil) != (errB == nil) {
			t.Fatalf("%v in one unit, %v in another", errA, errB)
		}
		if errA != nil {
			// The reason may differ: where nothing settles, the search can end
			// anywhere, and the last bit decides.
			return
		}
		if bad := a.Final + a.U + a.Seen + a.Remaining; math.IsNaN(bad) || math.IsInf(bad, 0) {
			t.Fatalf("not finite: %+v", a)
		}
		size := math.Abs(a.Final) + math.Abs(a.Remaining)
		agree(t, "final", []float64{b.Final / fy, size}, []float64{a.Final, size}, 1e-7)
		agree(t, "u", []float64{b.U / fy, 1e-3 * size}, []float64{a.U, 1e-3 * size}, 1e-5)
		agree(t, "tau", []float64{b.Terms[0].Tau / ft}, []float64{a.Terms[0].Tau}, 1e-5)
	})
}
