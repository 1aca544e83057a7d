package fit

import (
	"errors"
	"fmt"
	"math"
)

// Unsettled is the reason why a record does not determine a settled value.
type Unsettled int

const (
	// NoChange: a constant describes the readings as well. They are level, or
	// change too slowly to be seen.
	NoChange Unsettled = iota + 1
	// NoBend: the curve cannot be told from one that never settles.
	NoBend
	// Uncertain: a time constant is known to no better than 50 %.
	Uncertain
	// TooFast: the change is over before the second time; the later readings
	// are settled and can be averaged.
	TooFast
	// NoSecondTerm: two exponentials were asked for and one does as well.
	NoSecondTerm
)

// An UnsettledError refuses to state a settled value.
type UnsettledError struct {
	Reason Unsettled
	// Span of the record and best estimate of the (slowest) time constant, +Inf
	// when a straight line is best.
	Span, Tau float64
	// Seen is 1 − exp(−Span/Tau), the part of the change that the record seems
	// to hold; as uncertain as Tau. NaN when there is no change.
	Seen float64
	// P is the probability of so good a fit by chance were the simpler curve
	// true; NaN where no simpler curve was compared.
	P float64
}

func (e *UnsettledError) Error() string {
	seen := fmt.Sprintf("about %.0f %% of the change seen (time constant %.3g, record %.3g)", 100*e.Seen, e.Tau, e.Span)
	if e.Seen < 0.01 {
		seen = "less than 1 % of the change seen"
	}
	switch e.Reason {
	case NoChange:
		return fmt.Sprintf("no change beyond the scatter (p = %.2g): level, or too slow for a record of %.3g", e.P, e.Span)
	case NoBend:
		return fmt.Sprintf("settled value not determined: a steady drift fits as well (p = %.2g); %s", e.P, seen)
	case TooFast:
		return fmt.Sprintf("time constant not determined: the change is over before the second time; %s", seen)
	case NoSecondTerm:
		return fmt.Sprintf("second exponential not determined (p = %.2g): one fits as well; %s", e.P, seen)
	}
	return fmt.Sprintf("settled value not determined: time constant too uncertain; %s", seen)
}

// refuse builds the error for a time constant.
func (c *record) refuse(reason Unsettled, tau, p float64) error {
	e := &UnsettledError{Reason: reason, Span: c.span, Tau: tau, Seen: c.seen(tau), P: p}
	if reason == NoChange {
		e.Seen = math.NaN()
	}
	return e
}

// seen returns the part of an exponential change that falls in the record.
func (c *record) seen(tau float64) float64 { return -math.Expm1(-c.span / tau) }

// compare returns the probability of a drop of the sum of squares from simple
// to full by chance: an F test, or chi-square for absolute uncertainties. Sums
// at the level of rounding count as that level.
func (c *record) compare(simple, full float64, extra, dof int) float64 {
	full = math.Max(full, c.noise)
	if simple <= full {
		return 1
	}
	if c.opt.Basis == Absolute {
		return chi2Tail(simple-full, float64(extra))
	}
	return fTail((simple-full)/float64(extra)/(full/float64(dof)), float64(extra), float64(dof))
}

// better reports whether a search that found no minimum had nevertheless come
// significantly below a simpler curve: then that curve is no explanation, and
// the failure has to be reported as what it is.
func (c *record) better(failure error, simple float64, dof int) bool {
	var e *ConvergenceError
	return errors.As(failure, &e) && c.compare(simple, e.RSS, 2, dof) <= settlingLevel
}

// oneTerm fits a single exponential and compares it with a constant and with a
// straight line.
func (c *record) oneTerm() (*NonlinearResult, error) {
	n := len(c.y)
	start := c.scanOne()
	tau := start[2]
	constant, err := c.baseline(false)
	if err != nil {
		return nil, err
	}
	line, err := c.baseline(true)
	if err != nil {
		return nil, err
	}
	fit, err := c.fit(exponentials(c.x), start)
	if err != nil {
		if c.better(err, line, n-3) {
			return nil, err
		}
		// No minimum at a finite time constant, or parameters that cannot be
		// told apart there: the straight line, or a jump, is the best curve.
		if tau < c.first {
			jump, err := c.jump()
			if err != nil {
				return nil, err
			}
			if p := c.compare(constant, jump, 1, n-2); p > settlingLevel {
				return nil, c.refuse(NoChange, tau, p)
			}
			return nil, c.refuse(TooFast, tau, math.NaN())
		}
		if p := c.compare(constant, line, 1, n-2); p > settlingLevel {
			return nil, c.refuse(NoChange, tau, p)
		}
		return nil, c.refuse(NoBend, math.Inf(1), 1)
	}
	tau = fit.Coef[2]
	if p := c.compare(constant, fit.RSS, 2, n-3); p > settlingLevel {
		return nil, c.refuse(NoChange, tau, p)
	}
	if p := c.compare(line, fit.RSS, 1, n-3); p > settlingLevel {
		return nil, c.refuse(NoBend, tau, p)
	}
	return fit, nil
}

// twoTerms fits two exponentials, given the fit of one, and compares it with
// one and with a straight line plus one.
func (c *record) twoTerms(one *NonlinearResult) (*NonlinearResult, error) {
	n := len(c.y)
	start := c.scanTwo()
	fit, err := c.fit(exponentials(c.x), start)
	if err != nil {
		if c.better(err, one.RSS, n-5) {
			return nil, err
		}
		return nil, c.refuse(NoSecondTerm, one.Coef[2], 1)
	}
	slow := math.Max(fit.Coef[2], fit.Coef[4])
	if p := c.compare(one.RSS, fit.RSS, 2, n-5); p > settlingLevel {
		return nil, c.refuse(NoSecondTerm, one.Coef[2], p)
	}
	drift, err := c.fit(driftModel(c.x), c.scanDrift())
	if err != nil {
		return fit, nil // no such curve to confuse it with
	}
	if p := c.compare(drift.RSS, fit.RSS, 1, n-5); p > settlingLevel {
		return nil, c.refuse(NoBend, slow, p)
	}
	return fit, nil
}

// determined checks the time constants of a fit.
func (c *record) determined(fit *NonlinearResult) error {
	slow := 0.0
	for k := 2; k < len(fit.Coef); k += 2 {
		slow = math.Max(slow, fit.Coef[k])
	}
	for k := 2; k < len(fit.Coef); k += 2 {
		// exp(−5) = 0.7 % of the change is left at the second time.
		if fit.Coef[k] < c.first/5 {
			return c.refuse(TooFast, fit.Coef[k], math.NaN())
		}
		if !(fit.StdErr[k] <= tauLimit*fit.Coef[k]) {
			return c.refuse(Uncertain, slow, math.NaN())
		}
	}
	return nil
}
