package fit

import (
	"fmt"
	"math"
)

// flagLevel is the probability below which a diagnostic becomes a warning. One
// sound fit in twenty is flagged by each test: a flag asks for a look, no more.
const flagLevel = 0.05

// Diagnostics say how well a model and the stated uncertainties describe the
// observations. Nothing is ever removed because of them.
type Diagnostics struct {
	// RSS is the sum of squared residuals, each divided by the stated variance
	// (or rᵀΣ⁻¹r for a full matrix): chi-square when Basis is Absolute.
	RSS        float64
	DOF        int     // observations less parameters
	ResidualSD float64 // √(RSS/DOF)

	// Chi2P is the probability of a chi-square at least as large as RSS were
	// the stated uncertainties right; NaN unless Basis is Absolute.
	Chi2P float64
	// Birge is the Birge ratio √(chi²/DOF), NaN unless Basis is Absolute (R. T.
	// Birge, Phys. Rev. 40 (1932) 207).
	Birge float64

	// Standardized residuals: each divided by its own standard deviation, with
	// the share of its variance that the fit took up removed. Zero for an
	// observation the fit must pass through.
	Standardized []float64
	Outlier      Outlier
	Runs         Runs

	Warnings []string
}

// An Outlier is the observation with the largest standardized residual.
type Outlier struct {
	Index        int
	Standardized float64
	// P is the probability of so large a residual among all n of a sound
	// normal sample, by Bonferroni's bound on the externally studentized
	// residual (R. D. Cook, S. Weisberg, Residuals and Influence in Regression, 2.2).
	P float64
}

// evidence is what diagnose needs to know about a finished fit.
type evidence struct {
	rss, noise float64 // noise: weighted sum of squares that rounding explains
	dof        int
	basis      Basis
	residuals  []float64
	variance   func(i int) float64
	explained  []float64 // part of variance i taken up by the fit
	order      []int     // order of observations for the runs test; nil: as given
}

// noiseSS bounds the sum of squared residuals that the rounding of data to
// float64 explains, for whitened data of the given sum of squares.
func noiseSS(sumSq float64) float64 { return 4 * eps * eps * sumSq }

// diagnose runs every test on one fit.
func diagnose(e evidence) Diagnostics {
	n, dof := len(e.residuals), float64(e.dof)
	s2 := e.rss / dof
	d := Diagnostics{
		RSS: e.rss, DOF: e.dof, ResidualSD: math.Sqrt(s2), Chi2P: math.NaN(), Birge: math.NaN(),
		Standardized: make([]float64, n), Outlier: Outlier{P: 1}, Runs: Runs{P: 1},
	}
	if e.basis == Absolute {
		d.Birge = d.ResidualSD
		d.Chi2P = chi2Tail(e.rss, dof)
		s2 = 1
		if d.Chi2P < flagLevel {
			d.warn("residuals exceed the stated uncertainties: chi-square %.4g for %d degrees of freedom, p = %.2g, Birge ratio %.3g",
				e.rss, e.dof, d.Chi2P, d.Birge)
		} else if 1-d.Chi2P < flagLevel {
			d.warn("residuals are smaller than the stated uncertainties allow: chi-square %.4g for %d degrees of freedom, p = %.2g",
				e.rss, e.dof, d.Chi2P)
		}
	}
	if e.rss <= e.noise {
		return d // an exact fit: the residuals are rounding and mean nothing
	}
	for i, r := range e.residuals {
		v := e.variance(i)
		if left := v - e.explained[i]; left > 1e-10*v {
			d.Standardized[i] = r / math.Sqrt(s2*left)
		}
	}
	d.findOutlier(e.basis)
	if d.Outlier.P < flagLevel {
		d.warn("observation %d stands out: standardized residual %.2f, p = %.2g among %d; kept",
			d.Outlier.Index, d.Outlier.Standardized, d.Outlier.P, n)
	}
	ordered := e.residuals
	if e.order != nil {
		ordered = make([]float64, n)
		for i, k := range e.order {
			ordered[i] = e.residuals[k]
		}
	}
	d.Runs = RunsTest(ordered)
	if d.Runs.P < flagLevel {
		how := "too few: the model bends away from the data, or neighbours are correlated"
		if float64(d.Runs.Count) > d.Runs.Expected {
			how = "too many: neighbours alternate"
		}
		d.warn("residuals come in %d runs where %.1f are expected, p = %.2g, %s", d.Runs.Count, d.Runs.Expected, d.Runs.P, how)
	}
	return d
}

func (d *Diagnostics) warn(format string, args ...any) {
	d.Warnings = append(d.Warnings, fmt.Sprintf(format, args...))
}

// findOutlier fills Outlier from Standardized.
func (d *Diagnostics) findOutlier(basis Basis) {
	for i, z := range d.Standardized {
		if math.Abs(z) > math.Abs(d.Outlier.Standardized) {
			d.Outlier.Index, d.Outlier.Standardized = i, z
		}
	}
	z, dof := d.Outlier.Standardized, float64(d.DOF)
	p := 1.0
	switch {
	case z == 0:
	case basis == Absolute:
		p = tTwoSided(z, math.Inf(1))
	case d.DOF > 1 && z*z >= dof: // the largest value it can take
		p = 0
	case d.DOF > 1:
		p = tTwoSided(z*math.Sqrt((dof-1)/(dof-z*z)), dof-1)
	}
	d.Outlier.P = math.Min(1, p*float64(len(d.Standardized)))
}
