package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// eps is the spacing of float64 at 1.
const eps = 0x1p-52

// A factor is the Householder factorization Q·R of a design matrix with n rows
// and p columns of full rank (G. H. Golub, C. F. Van Loan, Matrix Computations,
// 5.2), carried in double-double. Columns are first scaled by powers of two,
// which is exact and keeps squares from overflowing.
type factor struct {
	n, p int
	exp  []int  // column j was multiplied by 2^−exp[j]
	v    [][]dd // v[k] is the k-th Householder vector, rows k to n−1
	beta []dd   // 2/(vᵀv)
	r    [][]dd // r[j] is column j of R, rows 0 to j, in scaled columns
	norm []float64
	cond float64 // 2-norm condition of the columns scaled to unit length
}

// factorize consumes cols. A column nearer than tol (as a fraction of its
// length) to the space of the columns before it makes a *RankError; so does a
// condition number above 1/tol. Columns are taken in the order given and
// dependent ones set aside (limited pivoting, as LINPACK's DQRDC is modified
// for regression in R), so that it is the later column that is named.
func factorize(cols [][]dd, tol float64, names []string) (*factor, error) {
	f := &factor{n: len(cols[0]), p: len(cols)}
	f.exp = make([]int, f.p)
	f.norm = make([]float64, f.p)
	for j, c := range cols {
		f.exp[j] = exponent(rounded(c))
		for i := range c {
			c[i] = c[i].ldexp(-f.exp[j])
		}
		f.norm[j] = math.Sqrt(dot(c, c).hi)
	}
	var kept []int
	var lost []Dependency
	for j, c := range cols {
		k := len(kept)
		norm := dot(c[k:], c[k:]).sqrt()
		if f.norm[j] == 0 || norm.hi <= tol*f.norm[j] {
			lost = append(lost, f.dependency(j, c[:k], kept, names))
			continue
		}
		f.reflect(c, k, norm)
		kept = append(kept, j)
		for _, later := range cols[j+1:] {
			f.transform(k, later)
		}
	}
	if lost != nil {
		return nil, &RankError{Rank: len(kept), Columns: f.p, Dependencies: lost}
	}
	return f, f.checkCondition(tol, names)
}

// reflect stores the Householder vector that maps c[k:] onto its first
// element, and the new column of R.
func (f *factor) reflect(c []dd, k int, norm dd) {
	x := c[k]
	s := norm
	if x.hi < 0 {
		s = norm.neg()
	}
	f.beta = append(f.beta, ddOf(1).div(norm.mul(norm.add(s.mul(x).div(norm)))))
	col := append(append([]dd(nil), c[:k]...), s.neg())
	c[k] = x.add(s)
	f.v = append(f.v, c[k:])
	f.r = append(f.r, col)
}

// transform applies reflector k to a full column in place.
func (f *factor) transform(k int, c []dd) {
	v := f.v[k]
	axpy(f.beta[k].mul(dot(v, c[k:])).neg(), v, c[k:])
}

// qt applies Qᵀ to c in place.
func (f *factor) qt(c []dd) {
	for k := range f.v {
		f.transform(k, c)
	}
}

// q applies Q to c in place.
func (f *factor) q(c []dd) {
	for k := len(f.v) - 1; k >= 0; k-- {
		f.transform(k, c)
	}
}

// thin returns the p orthonormal columns of Q that span the design.
func (f *factor) thin() [][]dd {
	out := make([][]dd, f.p)
	for j := range out {
		out[j] = make([]dd, f.n)
		out[j][j] = ddOf(1)
		f.q(out[j])
	}
	return out
}

// back solves R·x = b for the first len(b) columns, in scaled columns.
func (f *factor) back(b []dd) []dd {
	x := append([]dd(nil), b...)
	for j := len(x) - 1; j >= 0; j-- {
		x[j] = x[j].div(f.r[j][j])
		axpy(x[j].neg(), f.r[j][:j], x[:j])
	}
	return x
}

// forward solves Rᵀ·x = b.
func (f *factor) forward(b []dd) []dd {
	x := make([]dd, len(b))
	for j := range b {
		x[j] = b[j].sub(dot(f.r[j][:j], x[:j])).div(f.r[j][j])
	}
	return x
}

// solve returns the coefficients for (QᵀY)[:p], in unscaled columns.
func (f *factor) solve(qty []dd) []dd {
	x := f.back(qty[:f.p])
	for j := range x {
		x[j] = x[j].ldexp(-f.exp[j])
	}
	return x
}

// inverseGram returns (XᵀX)⁻¹ = R⁻¹R⁻ᵀ in unscaled columns.
func (f *factor) inverseGram() *mat.SymDense {
	inv := make([][]dd, f.p) // columns of R⁻¹
	for j := range inv {
		e := make([]dd, j+1)
		e[j] = ddOf(1)
		inv[j] = f.back(e)
	}
	g := mat.NewSymDense(f.p, nil)
	for a := range f.p {
		for b := a; b < f.p; b++ {
			var s dd
			for j := b; j < f.p; j++ {
				s = s.add(inv[j][a].mul(inv[j][b]))
			}
			g.SetSym(a, b, math.Ldexp(s.float(), -f.exp[a]-f.exp[b]))
		}
	}
	return g
}

// rowVariance returns xᵀ(XᵀX)⁻¹x for a design row x, as |R⁻ᵀx|², which does
// not cancel however ill-conditioned the design.
func (f *factor) rowVariance(row []dd) float64 {
	b := make([]dd, f.p)
	for j := range b {
		b[j] = row[j].ldexp(-f.exp[j])
	}
	z := f.forward(b)
	return dot(z, z).float()
}
