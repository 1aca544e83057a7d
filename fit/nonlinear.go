package fit

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A Model predicts the observations from parameters.
type Model struct {
	// Eval writes the n predicted observations for parameters p into dst. It
	// may write NaN or Inf where p makes no sense; such a step is not taken. It
	// must not keep or change p.
	Eval func(p, dst []float64)
	// Jacobian writes ∂prediction[i]/∂p[j] into dst (n×p, zeroed). Nil: central
	// differences, refined by one Richardson extrapolation at the end.
	Jacobian func(p []float64, dst *mat.Dense)
}

// NonlinearOptions extend Options.
type NonlinearOptions struct {
	Options
	// Typical size of each parameter, used for the differences of a parameter
	// that is zero; nil means 1 for each.
	Typical []float64
	// MaxIterations caps the steps over all attempts; 0 means 2000.
	MaxIterations int
}

// A NonlinearResult is a fitted nonlinear model at a minimum of RSS. The
// covariance is that of the model linearized there, s²·(JᵀJ)⁻¹ or (JᵀΣ⁻¹J)⁻¹.
type NonlinearResult struct {
	Names  []string
	Coef   []float64
	StdErr []float64
	Cov    *mat.SymDense
	Basis  Basis

	Fitted, Residuals []float64
	Leverage          []float64
	N                 int

	// Condition of the whitened Jacobian with columns of unit length.
	Condition   float64
	Iterations  int // steps tried, over all attempts
	Evaluations int // calls of Eval
	Attempts    int // first step sizes tried

	Diagnostics
}

// A ConvergenceError reports a nonlinear fit that found no minimum.
type ConvergenceError struct {
	Iterations int
	Coef       []float64 // best parameters reached
	RSS        float64
}

func (e *ConvergenceError) Error() string {
	return fmt.Sprintf("no minimum after %d iterations, best sum of squares %.6g at %.6g", e.Iterations, e.RSS, e.Coef)
}

// attempts are the sizes of the first step, as fractions of the scaled
// parameter vector. The first suits most problems; when it ends where some
// parameter no longer matters (it ran away over a plateau), shorter and longer
// first steps from the same start are tried and the best minimum is kept.
var attempts = [...]float64{1, 0.1, 10, 0.01, 100}

// runaway is the ratio of standard uncertainty to value at which a parameter
// counts as not determined.
const runaway = 100

// Nonlinear minimizes the sum of squared residuals of m over its parameters,
// from start, by the Levenberg–Marquardt method with a scaled trust region (J.
// J. Moré, Lecture Notes in Mathematics 630 (1978) 105) and undamped
// Gauss–Newton steps at the end. Like every local method it finds a minimum
// near start, which need not be the lowest there is.
//
// Errors: those of [Linear], with a [*RankError] when parameters cannot be told
// apart at the minimum, and a [*ConvergenceError].
func Nonlinear(m Model, y, start []float64, opt NonlinearOptions) (*NonlinearResult, error) {
	r, err := nonlinear(m, y, start, opt)
	if err != nil {
		return nil, fmt.Errorf("nonlinear fit: %w", err)
	}
	return r, nil
}

func nonlinear(m Model, y, start []float64, opt NonlinearOptions) (*NonlinearResult, error) {
	n, p := len(y), len(start)
	if m.Eval == nil {
		return nil, errors.New("no model")
	}
	if err := checkShape(n, p, y); err != nil {
		return nil, err
	}
	if err := finite("start value", start); err != nil {
		return nil, err
	}
	if opt.MaxIterations < 0 {
		return nil, fmt.Errorf("iteration limit %d is negative", opt.MaxIterations)
	}
	names, err := opt.names(p)
	if err != nil {
		return nil, err
	}
	w, err := opt.whitener(n)
	if err != nil {
		return nil, err
	}
	s := &search{model: m, y: y, w: w, typical: opt.Typical, limit: opt.MaxIterations}
	if s.limit == 0 {
		s.limit = 2000
	}
	if s.typical == nil {
		s.typical = make([]float64, p)
		for j := range s.typical {
			s.typical[j] = 1
		}
	}
	if len(s.typical) != p {
		return nil, fmt.Errorf("%d typical sizes for %d parameters", len(s.typical), p)
	}
	for j, t := range s.typical {
		if !(t > 0) || math.IsInf(t, 1) {
			return nil, fmt.Errorf("typical size %d is %v, need a positive number", j, t)
		}
	}
	if _, ok := s.at(start); !ok {
		return nil, errors.New("model is not finite at the start values")
	}
	var best *NonlinearResult
	var failure error
	tried := 0
	for _, factor := range attempts {
		tried++
		pt, err := s.minimize(start, factor)
		if err == nil {
			var r *NonlinearResult
			if r, err = s.result(pt, names, opt); err == nil && (best == nil || r.RSS < best.RSS) {
				best = r
			}
		}
		if err != nil && failure == nil {
			failure = err
		}
		if best != nil && best.undetermined() < 0 || s.steps >= s.limit {
			break
		}
	}
	if best == nil {
		return nil, failure
	}
	best.Iterations, best.Evaluations, best.Attempts = s.steps, s.evals, tried
	if j := best.undetermined(); j >= 0 {
		best.warn("%s = %.3g is not determined: standard uncertainty %.2g", names[j], best.Coef[j], best.StdErr[j])
	}
	return best, nil
}

// differenceTolerance replaces the default Options.Tolerance where derivatives
// come from differences, which are good to about 1e-12.
const differenceTolerance = 1e-10

// undetermined returns the first parameter that the data leave open, or −1.
func (r *NonlinearResult) undetermined() int {
	for j, u := range r.StdErr {
		if u > runaway*math.Abs(r.Coef[j]) {
			return j
		}
	}
	return -1
}

// result linearizes the model at a minimum.
func (s *search) result(pt point, names []string, opt NonlinearOptions) (*NonlinearResult, error) {
	n, p := len(s.y), len(pt.p)
	jac := s.jacobian(pt.p, true)
	cols := make([][]dd, p)
	for j := range cols {
		c := mat.Col(nil, j, jac)
		if err := finite("derivative", c); err != nil {
			return nil, err
		}
		cols[j] = ddSlice(c)
	}
	if err := s.w.apply(cols...); err != nil {
		return nil, err
	}
	tol := opt.tolerance(p, s.w.cond)
	if s.model.Jacobian == nil && opt.Tolerance == 0 {
		tol = max(tol, differenceTolerance)
	}
	f, err := factorize(cols, tol, names)
	if err != nil {
		return nil, fmt.Errorf("derivatives at the minimum: %w", err)
	}
	r := &NonlinearResult{Names: names, Coef: pt.p, Basis: opt.Basis, N: n, Condition: f.cond}
	r.Fitted = pt.fitted
	r.Residuals = make([]float64, n)
	for i, v := range s.y {
		r.Residuals[i] = v - pt.fitted[i]
	}
	q := f.thin()
	r.Leverage = make([]float64, n)
	for _, c := range q {
		for i, v := range c {
			r.Leverage[i] += v.hi * v.hi
		}
	}
	r.Diagnostics = diagnose(evidence{
		rss: pt.rss, noise: noiseSS(s.whitenedSS(s.y)) * float64(n), dof: n - p, basis: opt.Basis,
		residuals: r.Residuals, variance: s.w.varianceOf, explained: s.w.explained(q, r.Leverage),
	})
	r.Cov = f.inverseGram()
	if opt.Basis != Absolute {
		r.Cov.ScaleSym(r.RSS/float64(r.DOF), r.Cov)
	}
	r.StdErr = make([]float64, p)
	for j := range r.StdErr {
		r.StdErr[j] = math.Sqrt(r.Cov.At(j, j))
	}
	return r, nil
}

// Corr returns the correlation coefficient of two parameters, 0 where one of
// them has no uncertainty.
func (r *NonlinearResult) Corr(i, j int) float64 {
	if u := r.StdErr[i] * r.StdErr[j]; u > 0 {
		return r.Cov.At(i, j) / u
	}
	return 0
}
