package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A linearization is the local model |r − J·d|² in scaled parameters, by the
// singular values of J·diag(1/scale), so that a step of any damping costs p².
type linearization struct {
	scale []float64
	sv    []float64
	v     *mat.Dense
	g     []float64 // Uᵀr
}

// A trustStep is a step d, the decrease of the sum of squares it promises, and
// whether it was short enough to need no damping.
type trustStep struct {
	d    []float64
	gain float64
	free bool
}

// linearize decomposes J. scale grows to the largest column lengths seen so
// far (Moré); a column that is all zero keeps scale 1. It reports false when
// the decomposition fails.
func linearize(j *mat.Dense, res, scale []float64) (linearization, bool) {
	n, p := j.Dims()
	for k := range p {
		scale[k] = math.Max(scale[k], mat.Norm(j.ColView(k), 2))
	}
	l := linearization{scale: make([]float64, p), g: make([]float64, p), v: new(mat.Dense)}
	a := mat.NewDense(n, p, nil)
	for k, s := range scale {
		if s == 0 {
			s = 1
		}
		l.scale[k] = s
		for i := range n {
			a.Set(i, k, j.At(i, k)/s)
		}
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return l, false
	}
	l.sv = svd.Values(nil)
	svd.VTo(l.v)
	var u mat.Dense
	svd.UTo(&u)
	var utr mat.VecDense
	utr.MulVec(u.T(), mat.NewVecDense(n, res))
	for k := range l.g {
		l.g[k] = utr.AtVec(k)
	}
	return l, true
}

// length returns |scale∘d|.
func (l linearization) length(d []float64) float64 {
	var s float64
	for k, v := range d {
		s = math.Hypot(s, v*l.scale[k])
	}
	return s
}

// step minimizes the local model within the radius.
func (l linearization) step(radius float64) trustStep {
	lambda := 0.0
	free := l.norm(0) <= radius
	if !free {
		// norm falls with lambda: bracket, then bisect in the logarithm to 1 %.
		lo, hi := 0.0, l.sv[0]*l.sv[0]
		for l.norm(hi) > radius {
			lo, hi = hi, hi*16
		}
		for lo == 0 {
			if m := hi / 16; l.norm(m) > radius || m < 1e-300 {
				lo = m
			} else {
				hi = m
			}
		}
		for hi > 1.01*lo {
			if m := math.Sqrt(lo * hi); l.norm(m) > radius {
				lo = m
			} else {
				hi = m
			}
		}
		lambda = hi
	}
	t := trustStep{d: make([]float64, len(l.g)), free: free}
	for k, s := range l.sv {
		z := l.part(k, lambda)
		// |r|² − |r − J·d|² = Σ s·z·(2g − s·z)
		t.gain += s * z * (2*l.g[k] - s*z)
		for j := range t.d {
			t.d[j] += l.v.At(j, k) * z / l.scale[j]
		}
	}
	return t
}

// part returns the component of the step along singular vector k. Directions
// that J does not see at working precision are left alone.
func (l linearization) part(k int, lambda float64) float64 {
	s := l.sv[k]
	if s <= eps*l.sv[0] {
		return 0
	}
	return s * l.g[k] / (s*s + lambda)
}

// norm returns the length of the step for a damping lambda.
func (l linearization) norm(lambda float64) float64 {
	var s float64
	for k := range l.sv {
		s = math.Hypot(s, l.part(k, lambda))
	}
	return s
}
