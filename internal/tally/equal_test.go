package tally

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"railtally/gum"
)

// At the boundary, with a true difference of exactly δ, 'equal within δ' is wrong
// whenever it is said: at most 5 times in a hundred, by the verdict (which asks
// for the whole two-sided interval) and by the two one-sided tests at 5 %, for
// few repeats and for many, for small scatter and for large.
func TestEqualIsSeldomWrongAtTheBoundary(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	const trials, margin = 20000, 1.0
	for _, c := range []struct {
		n  int
		sd float64
	}{{3, 0.2}, {6, 0.2}, {30, 0.2}, {6, 1}, {30, 3}} {
		said, tested := 0, 0
		for range trials {
			f := differenceOfMeans(t, r, c.n, c.sd, margin)
			if Judge(f, margin) == Equal || Judge(f, margin) == Resolved && Within(f, margin) {
				said++
			}
			if f.equalP(margin) < 0.05 {
				tested++
			}
		}
		name := fmt.Sprintf("%d repeats scattering by %g", c.n, c.sd)
		t.Logf("%s: said %.2f %%, tests %.2f %%", name, 100*float64(said)/trials, 100*float64(tested)/trials)
		if said > trials*5/100 {
			t.Errorf("%s: equal is said wrongly in %.2f %%", name, 100*float64(said)/trials)
		}
		// 5 % and three standard deviations of the count, √(0.05·0.95/20000).
		if float64(tested) > trials*(0.05+0.0047) {
			t.Errorf("%s: the tests are wrong in %.2f %%", name, 100*float64(tested)/trials)
		}
		// With small scatter the other boundary is far, and the risk is used up.
		if c.sd == 0.2 && c.n >= 6 && float64(tested) < trials*(0.05-0.0060) {
			t.Errorf("%s: the tests are wrong in %.2f %% only, so they are too strict", name, 100*float64(tested)/trials)
		}
	}
}

// differenceOfMeans is the difference of two means of n repeats each, whose
// true difference is given, as the graph evaluates it.
func differenceOfMeans(t *testing.T, r *rand.Rand, n int, sd, truth float64) Figure {
	g := gum.New()
	ta := &Tally{Graph: g, Level: 0.95}
	var ends [2]gum.Value
	for k, mean := range []float64{2 + truth, 2} {
		var sum, ss float64
		xs := make([]float64, n)
		for i := range xs {
			xs[i] = mean + sd*r.NormFloat64()
			sum += xs[i] / float64(n)
		}
		for _, x := range xs {
			ss += (x - sum) * (x - sum)
		}
		s := math.Sqrt(ss / float64(n-1) / float64(n))
		ends[k] = g.Input(gum.Input{Name: "mean", Dist: gum.StudentT{Mean: sum, Scale: s, DOF: float64(n - 1)}})
	}
	f, err := ta.Figure(ends[0].Sub(ends[1]))
	if err != nil {
		t.Fatal(err)
	}
	return f
}
