package fit

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// The upper tails below go straight to the incomplete beta and gamma functions
// (M. Abramowitz, I. A. Stegun, 26.4 to 26.7), because one minus a cumulative
// probability has no digits left where a test is most decisive.

// fTail returns P(F > f) for d1 and d2 degrees of freedom.
func fTail(f, d1, d2 float64) float64 {
	switch {
	case math.IsNaN(f):
		return math.NaN()
	case f <= 0:
		return 1
	case math.IsInf(f, 1):
		return 0
	}
	return mathext.RegIncBeta(d2/2, d1/2, d2/(d2+d1*f))
}

// tTwoSided returns P(|T| > |t|); dof may be +Inf.
func tTwoSided(t, dof float64) float64 {
	switch {
	case math.IsInf(t, 0):
		return 0
	case math.IsInf(dof, 1):
		return math.Erfc(math.Abs(t) / math.Sqrt2)
	}
	return mathext.RegIncBeta(dof/2, 0.5, dof/(dof+t*t))
}

// chi2Tail returns P(χ² > x) for dof degrees of freedom.
func chi2Tail(x, dof float64) float64 {
	if x <= 0 {
		return 1
	}
	return mathext.GammaIncRegComp(dof/2, x/2)
}
