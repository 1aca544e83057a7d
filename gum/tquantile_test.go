package gum

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Against gonum's inverse of the incomplete beta function, over the degrees of
// freedom and probabilities that coverage factors are asked for.
func TestTQuantile(t *testing.T) {
	for _, dof := range []float64{1, 1.5, 2.9, 3, 3.3, 4, 5.5, 9, 17.2, 50, 120, 900, 1999, 2000, 2001, 5e4, 1e6} {
		for _, level := range []float64{0.5, 0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9973, 0.9998, 0.99999} {
			p := 0.5 + level/2
			want := distuv.StudentsT{Sigma: 1, Nu: dof}.Quantile(p)
			if got := tQuantile(p, dof); math.Abs(got-want) > 1e-9*want {
				t.Errorf("t(%g) with %g degrees of freedom: %.12g, want %.12g", p, dof, got, want)
			}
		}
	}
}

func BenchmarkCoverageFactor(b *testing.B) {
	for b.Loop() {
		coverageFactor(0.95, 23.7)
	}
}
