package tally

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"railtally/internal/phrase"
	"railtally/internal/study"
)

// term is one column of the design beside the constant: a level of a factor, or
// levels of several factors together.
type term []LevelChange

// factor is that of a term of one factor; of others it is "".
func (t term) factor() string {
	if len(t) == 1 {
		return t[0].Factor
	}
	return ""
}

// varied is a factor with the levels that occur on a board, at least two.
type varied struct {
	name   string
	levels []string
}

// design says which levels each observation had.
type design struct {
	factors []varied
	of      []map[string]string // level by factor, of each observation
	terms   []term
	cols    [][]float64 // the constant's, then one for each term
	known   basis       // what the columns span
	// dependent are the terms of single factors that cannot be told from those
	// before them.
	dependent []int
	// together are the interactions that are among the terms, untold says in
	// words which are not, and why.
	together [][]string
	untold   []phrase.Phrase
}

// newDesign makes a term of every level that occurs, but for the first one of
// each factor, which belongs to the base; and, where these can be told apart,
// the terms of the interactions.
func newDesign(factors []*study.Factor, interactions []*study.Interaction, obs []observation) *design {
	d := &design{}
	for _, o := range obs {
		levels := make(map[string]string, len(o.state.State.Levels))
		for _, l := range o.state.State.Levels {
			levels[l.Factor] = l.Value
		}
		d.of = append(d.of, levels)
	}
	one := make([]float64, len(obs))
	for i := range one {
		one[i] = 1
	}
	d.cols = [][]float64{one}
	d.known.add(one)
	for _, f := range factors {
		occurs := map[string]bool{}
		for _, levels := range d.of {
			occurs[levels[f.Name]] = true
		}
		seen := slices.DeleteFunc(slices.Clone(f.Levels), func(l string) bool { return !occurs[l] })
		if len(seen) < 2 {
			continue // never varied on this board
		}
		d.factors = append(d.factors, varied{f.Name, seen})
		for _, level := range seen[1:] {
			tm := term{{f.Name, level, seen[0]}}
			col := d.column(tm)
			if !d.known.add(col) {
				d.dependent = append(d.dependent, len(d.terms))
			}
			d.terms, d.cols = append(d.terms, tm), append(d.cols, col)
		}
	}
	if len(d.terms) > 0 && len(d.dependent) == 0 {
		d.interact(interactions)
	}
	return d
}

// column is 1 where an observation has every level of a term.
func (d *design) column(tm term) []float64 {
	out := make([]float64, len(d.of))
	for i, levels := range d.of {
		if !slices.ContainsFunc(tm, func(c LevelChange) bool { return levels[c.Factor] != c.Level }) {
			out[i] = 1
		}
	}
	return out
}

func (d *design) matrix() *mat.Dense {
	x := mat.NewDense(len(d.of), len(d.cols), nil)
	for k, col := range d.cols {
		x.SetCol(k, col)
	}
	return x
}

// confounded explains in words what the states cannot tell apart; "" when
// every term can be estimated.
func (d *design) confounded() phrase.Phrase {
	if len(d.terms) == 0 {
		return phrase.New("No factor was varied on this board.")
	}
	if len(d.dependent) == 0 {
		return phrase.Phrase{}
	}
	for _, k := range d.dependent {
		for i, f := range d.factors {
			for _, g := range d.factors[:i] {
				if (f.name == d.terms[k].factor() || g.name == d.terms[k].factor()) && d.inStep(f.name, g.name) {
					return phrase.New("%s and %s were never varied separately, so what one of them adds cannot be told from what the other does. Measure a state in which only one of them is changed.", g.name, f.name)
				}
			}
		}
	}
	var names []string
	for _, k := range d.dependent {
		names = append(names, d.terms[k][0].Factor+" "+d.terms[k][0].Level)
	}
	return phrase.New("The states measured cannot tell the effect of %s from the other factors': every state that has it differs from its neighbours in something else as well. Measure a state that differs from another in nothing but that.", names)
}

// inStep tells whether two factors' levels determine one another in every
// observation.
func (d *design) inStep(f, g string) bool {
	there, back := map[string]string{}, map[string]string{}
	for _, levels := range d.of {
		a, b := levels[f], levels[g]
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

// basis is an orthonormal basis of columns.
type basis [][]float64

// add takes in a column and tells whether it is independent of those before it.
// Columns hold only zeros and ones, so what is dependent leaves nothing but
// rounding.
func (b *basis) add(col []float64) bool {
	left := slices.Clone(col)
	before := norm(left)
	for range 2 { // twice is enough (Kahan and Parlett)
		for _, e := range *b {
			var dot float64
			for i := range left {
				dot += e[i] * left[i]
			}
			for i := range left {
				left[i] -= dot * e[i]
			}
		}
	}
	after := norm(left)
	if after <= 1e-9*before {
		return false
	}
	for i := range left {
		left[i] /= after
	}
	*b = append(*b, left)
	return true
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
