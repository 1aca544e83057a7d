package fit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A Result is a fitted linear model. Slices over observations are in the order
// the observations were given. It is read-only and safe for concurrent use.
type Result struct {
	Names  []string
	Coef   []float64
	StdErr []float64     // standard uncertainty of each coefficient
	Cov    *mat.SymDense // covariance matrix of the coefficients
	Basis  Basis

	Fitted    []float64
	Residuals []float64 // y − Fitted
	Leverage  []float64 // diagonal of the hat matrix of the whitened design; sums to Rank

	N, Rank int

	// R2 is 1 − RSS/TotalSS, NaN when TotalSS is zero. TotalSS is about the
	// fitted constant when HasConstant, otherwise about zero.
	R2          float64
	TotalSS     float64
	HasConstant bool // a constant is a combination of the columns

	// ModelSS, ModelDOF, F and FP test whether the model explains more than a
	// constant (or zero, without one). F is NaN when the model is a constant only.
	ModelSS  float64
	ModelDOF int
	F, FP    float64

	// Condition is the 2-norm condition number of the whitened design with
	// columns of unit length: the factor by which a relative change of the
	// data may be magnified in the coefficients.
	Condition float64

	Diagnostics

	factor   *factor
	coef     []dd
	weighted bool
}

// Linear fits y = X·b by least squares: X has a row per observation and a
// column per coefficient, to be written out in full, a column of ones included
// where an intercept is wanted.
//
// It returns an error for mismatched lengths, n ≤ p, values that are not
// finite and variances that are not positive, a [*CovarianceError] for an
// unusable covariance matrix and a [*RankError] for dependent columns.
// Formulas: JCGM 100:2008 H.3 generalized to p parameters, A. C. Aitken, Proc.
// R. Soc. Edinb. 55 (1935) 42 for the covariance matrix.
func Linear(x mat.Matrix, y []float64, opt Options) (*Result, error) {
	n, p := x.Dims()
	if err := checkShape(n, p, y); err != nil {
		return nil, fmt.Errorf("linear fit: %w", err)
	}
	cols := make([][]dd, p)
	for j := range cols {
		c := mat.Col(nil, j, x)
		if err := finite(fmt.Sprintf("design column %d, row", j), c); err != nil {
			return nil, fmt.Errorf("linear fit: %w", err)
		}
		cols[j] = ddSlice(c)
	}
	r, err := linear(cols, y, opt, nil)
	if err != nil {
		return nil, fmt.Errorf("linear fit: %w", err)
	}
	return r, nil
}

// linear fits checked data. The design columns are kept unchanged; order is
// the order of observations for the runs test, nil for as given.
func linear(design [][]dd, y []float64, opt Options, order []int) (*Result, error) {
	n, p := len(y), len(design)
	names, err := opt.names(p)
	if err != nil {
		return nil, err
	}
	w, err := opt.whitener(n)
	if err != nil {
		return nil, err
	}
	cols := make([][]dd, p)
	for j, c := range design {
		cols[j] = append([]dd(nil), c...)
	}
	one, yw := make([]dd, n), ddSlice(y)
	for i := range one {
		one[i] = ddOf(1)
	}
	if err := w.apply(append(append([][]dd(nil), cols...), one, yw)...); err != nil {
		return nil, err
	}
	// Powers of two keep the squares in range.
	ye, oe := exponent(rounded(yw)), exponent(rounded(one))
	for i := range yw {
		yw[i], one[i] = yw[i].ldexp(-ye), one[i].ldexp(-oe)
	}
	f, err := factorize(cols, opt.tolerance(p, w.cond), names)
	if err != nil {
		return nil, err
	}
	r := &Result{Names: names, Basis: opt.Basis, N: n, Rank: p, Condition: f.cond, factor: f, weighted: w.scale != nil}
	total := r.totalSS(yw, one)
	f.qt(yw)
	rss := dot(yw[p:], yw[p:])
	r.coef = f.solve(yw)
	for j := range r.coef {
		r.coef[j] = r.coef[j].ldexp(ye)
	}
	r.Coef = rounded(r.coef)
	r.residuals(design, y)
	r.explain(total, rss, ye)

	q := f.thin()
	r.Leverage = make([]float64, n)
	for i := range n {
		var h dd
		for _, c := range q {
			h = h.add(c[i].mul(c[i]))
		}
		r.Leverage[i] = h.float()
	}
	r.Diagnostics = diagnose(evidence{
		rss: math.Ldexp(rss.float(), 2*ye), noise: math.Ldexp(noiseSS(dot(yw, yw).hi), 2*ye),
		dof: n - p, basis: opt.Basis, residuals: r.Residuals,
		variance: w.varianceOf, explained: w.explained(q, r.Leverage), order: order,
	})
	if f.cond > 1e8 {
		r.Warnings = append(r.Warnings, fmt.Sprintf(
			"design condition %.1g: about %.0f digits of the data are lost in the coefficients", f.cond, math.Log10(f.cond)))
	}
	r.Cov = f.inverseGram()
	if opt.Basis != Absolute {
		r.Cov.ScaleSym(r.ResidualSD*r.ResidualSD, r.Cov)
	}
	r.StdErr = make([]float64, p)
	for j := range r.StdErr {
		r.StdErr[j] = math.Sqrt(r.Cov.At(j, j))
	}
	return r, nil
}

// tolerance returns the rank tolerance, see Options.Tolerance.
func (o Options) tolerance(p int, cond float64) float64 {
	if o.Tolerance > 0 {
		return o.Tolerance
	}
	return 16 * float64(p) * eps * math.Sqrt(cond)
}

// totalSS returns the sum of squares to be explained and finds whether the
// whitened constant lies in the space of the columns.
func (r *Result) totalSS(yw, one []dd) dd {
	t := append([]dd(nil), one...)
	r.factor.qt(t)
	// 1e-10: far above rounding in whitening, far below a real difference.
	r.HasConstant = dot(t[r.Rank:], t[r.Rank:]).hi <= 1e-20*dot(t, t).hi
	d := append([]dd(nil), yw...)
	if r.HasConstant {
		axpy(dot(one, yw).div(dot(one, one)).neg(), one, d)
	}
	return dot(d, d)
}

// residuals fills Fitted and Residuals from the double-double coefficients.
func (r *Result) residuals(design [][]dd, y []float64) {
	r.Fitted = make([]float64, r.N)
	r.Residuals = make([]float64, r.N)
	for i := range y {
		var s dd
		for j, c := range design {
			s = s.add(c[i].mul(r.coef[j]))
		}
		r.Fitted[i] = s.float()
		r.Residuals[i] = ddOf(y[i]).sub(s).float()
	}
}

// explain fills the analysis-of-variance part; sums carry the factor 2^−2ye.
func (r *Result) explain(total, rss dd, ye int) {
	r.TotalSS = math.Ldexp(total.float(), 2*ye)
	r.ModelSS = math.Ldexp(total.sub(rss).float(), 2*ye)
	r.ModelDOF = r.Rank
	if r.HasConstant {
		r.ModelDOF--
	}
	r.R2, r.F, r.FP = math.NaN(), math.NaN(), math.NaN()
	if total.hi > 0 {
		r.R2 = ddOf(1).sub(rss.div(total)).float()
	}
	if r.ModelDOF > 0 && total.hi > 0 {
		d1, d2 := float64(r.ModelDOF), float64(r.N-r.Rank)
		r.F = total.sub(rss).float() / d1 / (rss.float() / d2)
		r.FP = fTail(r.F, d1, d2)
	}
}
