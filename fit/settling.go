package fit

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// SettlingOptions extend Options; Names are not used.
type SettlingOptions struct {
	Options
	// Terms is the number of exponentials, 1 or 2; 0 means 1.
	Terms int
}

// An Exponential is one term A·exp(−(t−Start)/τ) of a settling curve.
type Exponential struct {
	Amplitude, UAmplitude float64
	Tau, UTau             float64
}

// A SettlingResult is a fitted approach to a settled value.
type SettlingResult struct {
	Final float64 // settled value y∞
	U     float64 // its standard uncertainty
	DOF   float64 // of U: n−p, or +Inf when Basis is Absolute

	Start float64       // first time; amplitudes belong to it
	Terms []Exponential // slowest first

	Last      float64 // fitted value at the last time
	Remaining float64 // Final − Last, the change still to come
	Seen      float64 // 1 − exp(−span/τ) of the slowest term: the part of its change within the record

	Fit *NonlinearResult // parameters final, A1, tau1, A2, tau2

	Warnings []string
}

// settlingLevel is the probability at which the curve must be told apart from
// each simpler one. It is stricter than flagLevel: a settled value read from a
// bend that is only scatter can be wrong without limit. At 0.001 made records of
// every length that are accepted and wrong by more than 3 u are about 5 % at most
// (TestSettlingEarly).
const settlingLevel = 0.001

// tauLimit is the largest relative standard uncertainty of a time constant at
// which the linearized uncertainty of the settled value is still trusted.
const tauLimit = 0.5

// tauDoubt is the relative standard uncertainty of a time constant above which
// a warning goes with the result: see Settling on records that pass by chance.
const tauDoubt = 0.15

// Settling fits y = y∞ + A·exp(−(t−t0)/τ), or the same with a second
// exponential, to readings y at times t that do not decrease; t0 is the first
// time. It finds its own start values by a scan of time constants.
//
// The settled value is an extrapolation, so the record must show it: Settling
// returns an [*UnsettledError], which says how much of the change was seen,
// unless the curve is distinguishable (p < 0.001) from a constant and from the
// curve with an infinite time constant (a straight line), the time constants
// are known within 50 %, and the change outlasts the first interval.
//
// Even so, a record too short to pass as a rule can pass by chance, because its
// scatter happens to bend it; then Final lies too near the last reading and U
// is too small. Counted over all made records of one length, refused ones
// included, up to about one in ten gives a 95 % interval that misses. Where
// the time constant is known to no better than 15 % the result carries a
// warning; without it about the 5 % that should miss do.
//
// A change that is not exponential ends elsewhere than its fit says; look at
// the residuals and at Seen.
func Settling(t, y []float64, opt SettlingOptions) (*SettlingResult, error) {
	r, err := settling(t, y, opt)
	if err != nil {
		return nil, fmt.Errorf("settling fit: %w", err)
	}
	return r, nil
}

func settling(t, y []float64, opt SettlingOptions) (*SettlingResult, error) {
	terms := opt.Terms
	if terms == 0 {
		terms = 1
	}
	if terms < 1 || terms > 2 {
		return nil, fmt.Errorf("%d exponentials, need 1 or 2", opt.Terms)
	}
	if err := checkShape(len(t), 1+2*terms, y); err != nil {
		return nil, err
	}
	if err := finite("time", t); err != nil {
		return nil, err
	}
	if !slices.IsSorted(t) {
		return nil, errors.New("times decrease")
	}
	c, err := newRecord(t, y, opt.Options)
	if err != nil {
		return nil, err
	}
	if c.distinct < 1+2*terms {
		return nil, fmt.Errorf("%d different times, need %d or more", c.distinct, 1+2*terms)
	}
	one, err := c.oneTerm()
	if err != nil {
		return nil, err
	}
	fit := one
	if terms == 2 {
		if fit, err = c.twoTerms(one); err != nil {
			return nil, err
		}
	}
	if err := c.determined(fit); err != nil {
		return nil, err
	}
	return c.report(fit), nil
}

// report puts a fit into words of settling.
func (c *record) report(fit *NonlinearResult) *SettlingResult {
	r := &SettlingResult{
		Final: fit.Coef[0], U: fit.StdErr[0], DOF: float64(fit.DOF),
		Start: c.t0, Fit: fit, Warnings: slices.Clone(fit.Warnings),
	}
	if fit.Basis == Absolute {
		r.DOF = math.Inf(1)
	}
	for k := 1; k < len(fit.Coef); k += 2 {
		r.Terms = append(r.Terms, Exponential{
			Amplitude: fit.Coef[k], UAmplitude: fit.StdErr[k], Tau: fit.Coef[k+1], UTau: fit.StdErr[k+1],
		})
	}
	slices.SortFunc(r.Terms, func(a, b Exponential) int {
		if a.Tau > b.Tau {
			return -1
		}
		return 1
	})
	r.Last = fit.Fitted[len(fit.Fitted)-1]
	r.Remaining = r.Final - r.Last
	r.Seen = c.seen(r.Terms[0].Tau)
	for _, e := range r.Terms {
		if e.UTau > tauDoubt*e.Tau {
			r.Warnings = append(r.Warnings, fmt.Sprintf(
				"time constant %.3g known to %.0f %% only: the settled value may lie farther from the last reading than its uncertainty says",
				e.Tau, 100*e.UTau/e.Tau))
		}
	}
	// An exponential fitted to a warming body whose conductance grows with its
	// temperature (as ΔT^1.25) is 4 % of the change off when 88 % were seen, more
	// before; TestSettlingNotExponential computes it.
	if r.Seen < 0.9 {
		r.Warnings = append(r.Warnings, fmt.Sprintf(
			"%.0f %% of the change seen: the settled value rests on the rest being exponential too", 100*r.Seen))
	}
	return r
}

// exponentials is the model y∞ + Σ A·exp(−x/τ) over times x from the start,
// not finite for a time constant that is not positive.
func exponentials(x []float64) Model {
	return Model{
		Eval: func(p, dst []float64) {
			for i, v := range x {
				dst[i] = p[0]
				for k := 1; k < len(p); k += 2 {
					if p[k+1] <= 0 {
						dst[i] = math.NaN()
					}
					dst[i] += p[k] * math.Exp(-v/p[k+1])
				}
			}
		},
		Jacobian: func(p []float64, dst *mat.Dense) {
			for i, v := range x {
				row := dst.RawRowView(i)
				row[0] = 1
				for k := 1; k < len(p); k += 2 {
					e := math.Exp(-v / p[k+1])
					row[k], row[k+1] = e, p[k]*e*v/(p[k+1]*p[k+1])
				}
			}
		},
	}
}
