package gum

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// expansionDOF is the number of degrees of freedom from which the expansion of
// the t quantile alone is exact to 1e-12 for every probability below 0.9999.
const expansionDOF = 2000

// tQuantile returns the p-quantile, p > 0.5, of Student's t distribution with
// any positive number of degrees of freedom.
//
// It starts from the expansion in inverse degrees of freedom (Abramowitz and
// Stegun 26.7.5) and closes in by Newton's method on the distribution function,
// which takes two or three steps where a search takes fifteen. Coverage factors
// are asked for by the thousand.
func tQuantile(p, dof float64) float64 {
	x := distuv.UnitNormal.Quantile(p)
	t := tExpansion(x, dof)
	if dof >= expansionDOF {
		return t
	}
	d := distuv.StudentsT{Sigma: 1, Nu: dof}
	if dof < 3 || x > 4 {
		return d.Quantile(p) // the expansion is no start here
	}
	for range 8 {
		step := (d.CDF(t) - p) / d.Prob(t)
		t -= step
		if math.Abs(step) <= 1e-13*t {
			return t
		}
	}
	return d.Quantile(p)
}

func tExpansion(x, dof float64) float64 {
	x2 := x * x
	g1 := (x2 + 1) / 4
	g2 := ((5*x2+16)*x2 + 3) / 96
	g3 := (((3*x2+19)*x2+17)*x2 - 15) / 384
	g4 := ((((79*x2+776)*x2+1482)*x2-1920)*x2 - 945) / 92160
	return x * (1 + (g1+(g2+(g3+g4/dof)/dof)/dof)/dof)
}
