package trace

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The bound is that of a load simulated moment by moment: no shape of load and
// no beginning of the window goes beyond it, and the rectangular load that is on
// for the unfinished part attains it.
func TestCutShort(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 7))
	// mean over [begin, begin + n) of a load that repeats every len(x) steps.
	mean := func(x []float64, begin, n int) float64 {
		sum := 0.0
		for i := range n {
			sum += x[(begin+i)%len(x)]
		}
		return sum / float64(n)
	}
	for range 400 {
		period, window := 2+rng.IntN(60), 1+rng.IntN(300)
		bound := CutShort(float64(window), float64(period), float64(period))
		worst := 0.0
		x := make([]float64, period)
		for kind := range 4 {
			for i := range x {
				switch kind {
				case 0: // the rectangle that is on for the unfinished part
					x[i] = 0
					if i < window%period {
						x[i] = 1
					}
				case 1:
					x[i] = (1 + math.Sin(2*math.Pi*float64(i)/float64(period))) / 2
				case 2:
					x[i] = float64(i) / float64(period)
				default:
					x[i] = rng.Float64()
				}
			}
			truth := mean(x, 0, period)
			for begin := range period {
				worst = math.Max(worst, math.Abs(mean(x, begin, window)-truth))
			}
		}
		if worst > bound+1e-12 || worst < bound-1e-12 {
			t.Fatalf("window %d, period %d: the worst is %g, the bound %g", window, period, worst, bound)
		}
	}
	// Between limits of the period: never below a fine search, and attained.
	for range 200 {
		window := 0.1 + 5*rng.Float64()
		lo := 0.1 + rng.Float64()
		hi := lo * (1 + rng.Float64())
		worst := 0.0
		for i := range 20001 {
			p := lo + (hi-lo)*float64(i)/20000
			worst = math.Max(worst, CutShort(window, p, p))
		}
		if got := CutShort(window, lo, hi); got < worst-1e-12 || got > worst+1e-3 {
			t.Fatalf("window %g, period %g to %g: %g, a search finds %g", window, lo, hi, got, worst)
		}
	}
	for _, c := range []struct{ window, lo, hi, want float64 }{
		{4, 2, 2, 0}, {1, 2, 2, 0.5}, {3, 2, 2, 1.0 / 6}, {0.4, 2, 2, 0.8}, {1, 0.4, 0.9, math.Pow(math.Sqrt2-1, 2)},
	} {
		if got := CutShort(c.window, c.lo, c.hi); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g in periods of %g to %g: %g, want %g", c.window, c.lo, c.hi, got, c.want)
		}
	}
}
