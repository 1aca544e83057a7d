package gum

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// jointGroup is a set of correlated inputs with consecutive ordinals.
type jointGroup struct {
	name  string
	first int32 // ordinal of the first member
	n     int
	cov   []float64 // n×n, row by row
	root  []float64 // n×n lower triangle L with L·Lᵀ = cov
	dof   float64
	note  string // what had to be assumed about dof
}

// psdTolerance is how far below zero the smallest eigenvalue of a correlation
// matrix may lie and still be put down to rounding.
const psdTolerance = 1e-9

// Joint adds inputs that were observed together or come out of one fit, with
// their covariance matrix, and returns one value per input. cov is n×n and must
// be positive semidefinite (an eigenvalue of its correlation matrix below
// −1e-9 is a fault), so full correlation is allowed.
//
// Each Dist must be a [Normal], which gives the mean. Its U is either zero,
// for unstated, or must agree with the square root of the diagonal of cov.
//
// The group counts as one component with dof degrees of freedom in the
// effective degrees of freedom of a result: n−1 for n simultaneous
// observations (Willink 2007), those of the residuals for a fit. Zero takes
// them from the inputs' DOF. Where the inputs disagree the smallest is taken,
// and where they disagree with a dof given it is overruled; either is told in
// the warnings of each result.
//
// Monte Carlo draws from the multivariate normal distribution when dof is
// infinite, and otherwise from the multivariate t with scale matrix cov
// (JCGM 102:2011 5.3.2), so that, as for [StudentT], its covariance is
// dof/(dof−2) times cov.
func (g *Graph) Joint(name string, in []Input, cov mat.Symmetric, dof float64) []Value {
	out := make([]Value, len(in))
	group, err := newJoint(name, in, cov, dof)
	if err != nil {
		g.fail("joint inputs %q: %w", name, err)
		for k := range out {
			out[k] = g.push(node{op: opConst}, math.NaN())
		}
		return out
	}
	group.first = int32(len(g.inputs))
	g.groups = append(g.groups, group)
	for k, x := range in {
		u := math.Sqrt(group.cov[k*group.n+k])
		out[k] = g.addInput(x, x.Dist.Expectation(), u, group.dof, int32(len(g.groups)-1))
	}
	return out
}

func newJoint(name string, in []Input, cov mat.Symmetric, dof float64) (jointGroup, error) {
	n := len(in)
	j := jointGroup{name: name, n: n}
	if n == 0 || cov == nil || cov.SymmetricDim() != n {
		dim := 0
		if cov != nil {
			dim = cov.SymmetricDim()
		}
		return j, fmt.Errorf("%d inputs with a covariance matrix of %d rows", n, dim)
	}
	j.cov = make([]float64, n*n)
	for r := range n {
		for c := range n {
			j.cov[r*n+c] = cov.At(r, c)
		}
	}
	if err := finite(j.cov...); err != nil {
		return j, fmt.Errorf("covariance matrix: %w", err)
	}
	for k, x := range in {
		if err := j.member(k, x); err != nil {
			return j, fmt.Errorf("%q: %w", x.Name, err)
		}
	}
	if err := j.settleDOF(in, dof); err != nil {
		return j, err
	}
	return j, j.factorise()
}

// member checks input k against the diagonal of the covariance matrix.
func (j *jointGroup) member(k int, x Input) error {
	d, ok := x.Dist.(Normal)
	if !ok {
		return fmt.Errorf("distribution %T is not Normal", x.Dist)
	}
	if err := d.check(); err != nil {
		return err
	}
	v := j.cov[k*j.n+k]
	if v < 0 {
		return fmt.Errorf("variance %g is negative", v)
	}
	if u := math.Sqrt(v); d.U != 0 && math.Abs(d.U-u) > 1e-6*u {
		return fmt.Errorf("standard uncertainty %g disagrees with %g in the covariance matrix", d.U, u)
	}
	_, err := checkDOF(x.DOF)
	return err
}

func (j *jointGroup) settleDOF(in []Input, dof float64) error {
	given, err := checkDOF(dof)
	if err != nil {
		return err
	}
	least, mixed, contrary := math.Inf(1), false, false
	for _, x := range in {
		d, _ := checkDOF(x.DOF)
		least = min(least, d)
		mixed = mixed || x.DOF != in[0].DOF
		contrary = contrary || x.DOF != 0 && d != given
	}
	switch {
	case dof == 0 && mixed:
		j.dof = least
		j.note = fmt.Sprintf("joint inputs %q state different degrees of freedom; the smallest, %g, is taken for the group", j.name, least)
	case dof == 0:
		j.dof = least
	default:
		j.dof = given
		if contrary {
			j.note = fmt.Sprintf("joint inputs %q: the group's %g degrees of freedom overrule those of its inputs", j.name, given)
		}
	}
	return nil
}

// factorise checks that the covariance matrix is positive semidefinite and
// computes its lower triangular root by Cholesky's method, where a column
// whose pivot vanishes is left at zero. It works on the correlation matrix, so
// that units do not matter.
func (j *jointGroup) factorise() error {
	n := j.n
	r := mat.NewSymDense(n, nil)
	for a := range n {
		r.SetSym(a, a, 1)
		for b := range a {
			c, ua, ub := j.cov[a*n+b], math.Sqrt(j.cov[a*n+a]), math.Sqrt(j.cov[b*n+b])
			if ua == 0 || ub == 0 {
				if c != 0 {
					return fmt.Errorf("covariance %g with an exactly known input", c)
				}
				continue
			}
			if rho := c / ua / ub; math.Abs(rho) > 1e-30 { // less upsets the eigenvalue solver's scaling
				r.SetSym(a, b, rho)
			}
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(r, false) {
		return fmt.Errorf("eigenvalues of the correlation matrix do not converge")
	}
	if least := eig.Values(nil)[0]; least < -psdTolerance {
		return fmt.Errorf("covariance matrix is not positive semidefinite: its correlation matrix has the eigenvalue %.3g", least)
	}
	j.root = make([]float64, n*n)
	for c := range n {
		for row := c; row < n; row++ {
			s := r.At(row, c)
			for k := range c {
				s -= j.root[row*n+k] * j.root[c*n+k]
			}
			switch pivot := j.root[c*n+c]; {
			case row == c && s > psdTolerance:
				j.root[c*n+c] = math.Sqrt(s)
			case row > c && pivot > 0:
				j.root[row*n+c] = s / pivot
			}
		}
	}
	for row := range n {
		u := math.Sqrt(j.cov[row*n+row])
		for c := range row + 1 {
			j.root[row*n+c] *= u
		}
	}
	return nil
}
