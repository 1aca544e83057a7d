package fit

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// covarianceLimit on the condition of a correlation matrix: beyond it fewer
// than four digits of a float64 weight would be left.
const covarianceLimit = 1e12

// A whitener turns observations with the stated covariance Σ into independent
// ones of unit variance: v ↦ W·v with WᵀW = Σ⁻¹. With no statement W is the
// unit matrix, with variances 1/u on the diagonal, with a full matrix L⁻¹S⁻¹,
// where S = diag(u) and L is the Cholesky factor of the correlation matrix.
type whitener struct {
	variance []float64 // diagonal of Σ; nil: all one
	scale    []dd      // 1/u; nil: all one
	lower    *mat.TriDense
	cond     float64 // of the correlation matrix; 1 when independent
}

// whitener validates the statement about n observations.
func (o Options) whitener(n int) (*whitener, error) {
	if err := o.checkBasis(); err != nil {
		return nil, err
	}
	w := &whitener{cond: 1}
	switch {
	case o.Variances != nil:
		if len(o.Variances) != n {
			return nil, fmt.Errorf("%d variances for %d observations", len(o.Variances), n)
		}
		w.variance = append([]float64(nil), o.Variances...)
	case o.Covariance != nil:
		if m := o.Covariance.SymmetricDim(); m != n {
			return nil, fmt.Errorf("%d×%d covariance matrix for %d observations", m, m, n)
		}
		w.variance = make([]float64, n)
		for i := range w.variance {
			w.variance[i] = o.Covariance.At(i, i)
		}
	default:
		return w, nil
	}
	w.scale = make([]dd, n)
	for i, v := range w.variance {
		if !(v > 0) || math.IsInf(v, 1) {
			return nil, fmt.Errorf("variance %d is %v, need a positive number", i, v)
		}
		w.scale[i] = ddOf(1).div(ddOf(v).sqrt())
	}
	if o.Covariance == nil {
		return w, nil
	}
	return w, w.factorize(o.Covariance)
}

// factorize computes the Cholesky factor of the correlation matrix of cov.
func (w *whitener) factorize(cov mat.Symmetric) error {
	n := len(w.scale)
	r := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			c, back := cov.At(i, j), cov.At(j, i)
			if math.IsNaN(c) || math.IsInf(c, 0) {
				return fmt.Errorf("covariance %d,%d is %v", i, j, c)
			}
			if c != back {
				return fmt.Errorf("covariance %d,%d is not symmetric", i, j)
			}
			r.SetSym(i, j, c*w.scale[i].hi*w.scale[j].hi)
		}
		r.SetSym(i, i, 1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(r) {
		return &CovarianceError{Condition: math.Inf(1), Limit: covarianceLimit}
	}
	if w.cond = chol.Cond(); w.cond > covarianceLimit {
		return &CovarianceError{Condition: w.cond, Limit: covarianceLimit}
	}
	w.lower = mat.NewTriDense(n, mat.Lower, nil)
	chol.LTo(w.lower)
	return nil
}

// apply replaces each column v by W·v.
func (w *whitener) apply(cols ...[]dd) error {
	if w.scale == nil {
		return nil
	}
	for _, c := range cols {
		for i := range c {
			c[i] = c[i].mul(w.scale[i])
		}
	}
	if w.lower == nil {
		return nil
	}
	b := mat.NewDense(len(w.scale), len(cols), nil)
	for j, c := range cols {
		for i := range c {
			b.Set(i, j, c[i].float())
		}
	}
	var x mat.Dense
	if err := x.Solve(w.lower, b); err != nil {
		// A condition warning cannot occur below covarianceLimit.
		return errors.New("covariance matrix cannot be solved")
	}
	for j, c := range cols {
		for i := range c {
			c[i] = ddOf(x.At(i, j))
		}
	}
	return nil
}

// explained returns diag(Σ^½·Q·Qᵀ·Σ^½ᵀ), the part of each observation's
// variance that the fitted curve takes up, for the orthonormal columns q of
// the whitened design.
func (w *whitener) explained(q [][]dd, leverage []float64) []float64 {
	out := append([]float64(nil), leverage...)
	switch {
	case w.lower != nil:
		n := len(w.scale)
		m := mat.NewDense(n, len(q), nil)
		for j, c := range q {
			for i := range c {
				m.Set(i, j, c[i].float())
			}
		}
		m.Mul(w.lower, m)
		for i := range n {
			var s float64
			for _, v := range m.RawRowView(i) {
				s += v * v
			}
			out[i] = s * w.variance[i]
		}
	case w.variance != nil:
		for i, v := range w.variance {
			out[i] *= v
		}
	}
	return out
}

// varianceOf returns the stated variance of observation i, 1 when unstated.
func (w *whitener) varianceOf(i int) float64 {
	if w.variance == nil {
		return 1
	}
	return w.variance[i]
}
