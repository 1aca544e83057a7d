package fit

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// A Term is one summand of a combination of columns.
type Term struct {
	Column int
	Name   string
	Factor float64
}

// A Dependency says that one column of a design equals a combination of
// others, within the tolerance of the fit. A column of zeros has no terms.
type Dependency struct {
	Column int
	Name   string
	Terms  []Term
}

// String writes the dependency as an equation, such as "c = 1·a + 2·b".
func (d Dependency) String() string {
	if len(d.Terms) == 0 {
		return d.Name + " = 0"
	}
	var b strings.Builder
	b.WriteString(d.Name + " =")
	for i, t := range d.Terms {
		f, sign := t.Factor, " + "
		if f < 0 {
			f, sign = -f, " - "
		}
		if i == 0 {
			sign = strings.Replace(sign, " + ", " ", 1)
		}
		fmt.Fprintf(&b, "%s%.6g·%s", sign, f, t.Name)
	}
	return b.String()
}

// A RankError reports a design whose columns are not independent, so that the
// data cannot tell their coefficients apart. Each dependent column is named
// with what it is made of; leaving out one column of each relation, or
// measuring where the relation does not hold, makes the fit possible.
type RankError struct {
	Rank, Columns int
	Dependencies  []Dependency
}

func (e *RankError) Error() string {
	parts := make([]string, len(e.Dependencies))
	for i, d := range e.Dependencies {
		parts[i] = d.String()
	}
	return fmt.Sprintf("design has rank %d of %d: %s", e.Rank, e.Columns, strings.Join(parts, "; "))
}

// termLimit drops terms this small beside the largest, measured in lengths of
// columns: they are rounding.
const termLimit = 1e-7

// dependency expresses column j, whose transformed upper part is top, by the
// columns kept so far.
func (f *factor) dependency(j int, top []dd, kept []int, names []string) Dependency {
	d := Dependency{Column: j, Name: names[j]}
	if f.norm[j] == 0 {
		return d
	}
	x := f.back(top)
	for i, k := range kept {
		if math.Abs(x[i].hi)*f.norm[k] > termLimit*f.norm[j] {
			c := x[i].ldexp(f.exp[j] - f.exp[k]).float()
			d.Terms = append(d.Terms, Term{Column: k, Name: names[k], Factor: c})
		}
	}
	return d
}

// checkCondition computes the condition number of the design with columns of
// unit length, and refuses one above 1/tol: limited pivoting alone can miss a
// dependency that is spread over many columns. The right singular vector of
// the smallest singular value then tells which.
func (f *factor) checkCondition(tol float64, names []string) error {
	r := mat.NewDense(f.p, f.p, nil)
	for j, c := range f.r {
		for i := range c {
			r.Set(i, j, c[i].hi/f.norm[j])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(r, mat.SVDThin) {
		return fmt.Errorf("singular values of the design do not converge")
	}
	s := svd.Values(nil)
	f.cond = s[0] / s[f.p-1]
	if f.cond <= 1/tol {
		return nil
	}
	var v mat.Dense
	svd.VTo(&v)
	null := mat.Col(nil, f.p-1, &v)
	// Blame the latest column that takes a substantial part.
	big, j := mat.Norm(mat.NewVecDense(f.p, null), math.Inf(1)), 0
	for i, x := range null {
		if math.Abs(x) > 0.1*big {
			j = i
		}
	}
	d := Dependency{Column: j, Name: names[j]}
	for i, x := range null {
		if i != j && math.Abs(x) > termLimit*big {
			// Back from unit-length columns to those of the caller.
			c := -x / null[j] * (f.norm[j] / f.norm[i])
			d.Terms = append(d.Terms, Term{Column: i, Name: names[i], Factor: math.Ldexp(c, f.exp[j]-f.exp[i])})
		}
	}
	return &RankError{Rank: f.p - 1, Columns: f.p, Dependencies: []Dependency{d}}
}
