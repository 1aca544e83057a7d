package tally

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// below is the probability that the true value of a figure lies below x, when
// what is known of it is Student's t about the estimate (the normal
// distribution for infinite degrees of freedom); JCGM 106 7.2.
func (f Figure) below(x float64) float64 {
	if f.U == 0 {
		switch {
		case x < f.Estimate:
			return 0
		case x > f.Estimate:
			return 1
		}
		return 0.5
	}
	z := (x - f.Estimate) / f.U
	if math.IsInf(f.DOF, 1) {
		return distuv.UnitNormal.CDF(z)
	}
	return distuv.StudentsT{Sigma: 1, Nu: f.DOF}.CDF(z)
}

// zeroP is the two-sided probability of an estimate at least this far from
// zero, were the true value zero.
func (f Figure) zeroP() float64 {
	if f.U == 0 && f.Estimate == 0 {
		return 1
	}
	p := f.below(0)
	return 2 * math.Min(p, 1-p)
}

// equalP is the larger of the probabilities of the two one-sided tests that
// the true value lies at or beyond ±margin (D. J. Schuirmann, 1987): equality
// within the margin is shown at risk α when it is below α.
func (f Figure) equalP(margin float64) float64 {
	return math.Max(f.below(-margin), 1-f.below(margin))
}

// detectPower is how surely a difference must be found to count as detectable
// (80 %; common practice, no source).
const detectPower = 0.8

// detectable is the smallest true value that would have been called different
// from zero with probability detectPower: (t₍₁₊ₗ₎⸝₂ + t₀.₈)·u.
func (f Figure) detectable() float64 {
	if math.IsInf(f.DOF, 1) {
		return f.Expanded + distuv.UnitNormal.Quantile(detectPower)*f.U
	}
	return f.Expanded + distuv.StudentsT{Sigma: 1, Nu: f.DOF}.Quantile(detectPower)*f.U
}
