package tally

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// term is one column of the design beside the constant: a level of a factor.
type term struct{ factor, level, from string }

// design says which levels each observation had.
type design struct {
	factors []*study.Factor
	terms   []term
	rows    [][]float64 // an observation each: constant, then terms
}

// newDesign makes a term of every level that occurs, but for the first one of
// each factor, which belongs to the base.
func newDesign(factors []*study.Factor, obs []observation) *design {
	d := &design{}
	for _, f := range factors {
		var seen []string
		for _, level := range f.Levels {
			if slices.ContainsFunc(obs, func(o observation) bool { return o.state.State.Level(f.Name) == level }) {
				seen = append(seen, level)
			}
		}
		if len(seen) < 2 {
			continue // never varied on this board
		}
		d.factors = append(d.factors, f)
		for _, level := range seen[1:] {
			d.terms = append(d.terms, term{f.Name, level, seen[0]})
		}
	}
	for _, o := range obs {
		row := make([]float64, len(d.terms)+1)
		row[0] = 1
		for k, tm := range d.terms {
			if o.state.State.Level(tm.factor) == tm.level {
				row[k+1] = 1
			}
		}
		d.rows = append(d.rows, row)
	}
	return d
}

func (d *design) matrix() *mat.Dense {
	x := mat.NewDense(len(d.rows), len(d.terms)+1, nil)
	for i, r := range d.rows {
		x.SetRow(i, r)
	}
	return x
}

// confounded explains in words what the states cannot tell apart; "" when
// every term can be estimated.
func (d *design) confounded() string {
	if len(d.terms) == 0 {
		return "No factor was varied on this board."
	}
	dependent := d.dependent()
	if len(dependent) == 0 {
		return ""
	}
	for _, k := range dependent {
		for i, f := range d.factors {
			for _, g := range d.factors[:i] {
				if (f.Name == d.terms[k].factor || g.Name == d.terms[k].factor) && d.together(f.Name, g.Name) {
					return fmt.Sprintf("%s and %s were never varied separately, so what one of them adds cannot be told from what the other does. Measure a state in which only one of them is changed.", g.Name, f.Name)
				}
			}
		}
	}
	var names []string
	for _, k := range dependent {
		names = append(names, d.terms[k].factor+" "+d.terms[k].level)
	}
	return fmt.Sprintf("The states measured cannot tell the effect of %s from the other factors': every state that has it differs from its neighbours in something else as well. Measure a state that differs from another in nothing but that.", quantity.Join(names))
}

// together tells whether two factors' levels determine one another in every
// observation.
func (d *design) together(f, g string) bool {
	of := func(row []float64, name string) (level int) {
		for k, tm := range d.terms {
			if tm.factor == name && row[k+1] == 1 {
				level = k + 1
			}
		}
		return level
	}
	there, back := map[int]int{}, map[int]int{}
	for _, row := range d.rows {
		a, b := of(row, f), of(row, g)
		if x, ok := there[a]; ok && x != b {
			return false
		}
		if x, ok := back[b]; ok && x != a {
			return false
		}
		there[a], back[b] = b, a
	}
	return true
}

// dependent returns the terms that are combinations of the constant and
// earlier terms, by orthogonalising column after column. Columns hold only
// zeros and ones, so what is dependent leaves nothing but rounding.
func (d *design) dependent() []int {
	n := len(d.rows)
	var basis [][]float64
	var out []int
	for k := range len(d.terms) + 1 {
		col := make([]float64, n)
		for i, r := range d.rows {
			col[i] = r[k]
		}
		before := norm(col)
		for range 2 { // twice is enough (Kahan and Parlett)
			for _, b := range basis {
				var dot float64
				for i := range col {
					dot += b[i] * col[i]
				}
				for i := range col {
					col[i] -= dot * b[i]
				}
			}
		}
		after := norm(col)
		if after < 1e-9*before {
			out = append(out, k-1)
			continue
		}
		for i := range col {
			col[i] /= after
		}
		basis = append(basis, col)
	}
	return out
}

func norm(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v * v
	}
	return math.Sqrt(s)
}

func sortByPower(rs []RailEffect) {
	slices.SortStableFunc(rs, func(a, b RailEffect) int {
		return cmp.Compare(math.Abs(b.Power.Estimate), math.Abs(a.Power.Estimate))
	})
}

func sortMisfits(ms []Misfit) {
	slices.SortStableFunc(ms, func(a, b Misfit) int { return cmp.Compare(math.Abs(b.Score), math.Abs(a.Score)) })
}
