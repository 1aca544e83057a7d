package acquire

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// cover takes readings of a made noise until the rules say that they are enough, many times over, and returns how often
// the 95 % interval of Student's t holds the true mean, with how many readings were taken on average.
func cover(t testing.TB, runs int, phi, digit float64, o TakeOptions) (share, readings float64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(51, uint64(1000*phi)+uint64(1e6*digit)))
	inside := 0
	for range runs {
		k := &take{o: o, news: make(chan struct{}, 1)}
		k.o.Least = time.Nanosecond
		k.begin()
		k.skip = 0
		const truth = 0.4
		x, at := rng.NormFloat64(), 0.0
		var got *Taken
		for n := 1; got == nil; n++ {
			x = phi*x + math.Sqrt(1-phi*phi)*rng.NormFloat64()
			v := truth + 1e-3*x
			if digit > 0 {
				v = math.Round(v/digit) * digit
			}
			k.add(Batch{T: []float64{at}, V: []float64{v}})
			at += 0.02
			var err error
			if got, err = k.judge(n >= 1000); err != nil { // 20 s at 50 readings a second
				t.Fatal(err)
			}
		}
		readings += float64(got.Stats.N) / float64(runs)
		half := got.Stats.U * distuv.StudentsT{Sigma: 1, Nu: got.DOF()}.Quantile(0.975)
		// What the last digit alone leaves unknown is added by whoever knows the meter's range.
		half = math.Hypot(half, 1.96*digit/math.Sqrt(12))
		if math.Abs(got.Stats.Mean()-truth) <= half {
			inside++
		}
	}
	return float64(inside) / float64(runs), readings
}

// TestTakeCovers: a take that ends by its own rules does not choose a moment at which its uncertainty is too small.
func TestTakeCovers(t *testing.T) {
	for _, c := range []struct {
		name       string
		phi, digit float64
	}{
		{"independent readings", 0, 0},
		{"readings that repeat each other", 0.8, 0},
		{"slow noise", 0.97, 0},
		{"a coarse digit", 0, 2e-3},
	} {
		share, n := cover(t, 250, c.phi, c.digit, TakeOptions{})
		t.Logf("%s: %.1f %% of the intervals hold the truth, %.0f readings each", c.name, 100*share, n)
		// Three standard errors of a share of 95 % in 250 are 4.1 points.
		if share < 0.909 {
			t.Errorf("%s: %.1f %% of the intervals hold the truth", c.name, 100*share)
		}
	}
}
