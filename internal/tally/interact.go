package tally

import (
	"slices"

	"railtally/internal/phrase"
	"railtally/internal/study"
)

// LevelChange is one factor set to a level in place of another.
type LevelChange struct{ Factor, Level, From string }

// mostCells is how many combinations of levels an interaction may have; more
// are measured by nobody (our own choice).
const mostCells = 1000

// interact adds the terms of the interactions that the observations tell, those
// of fewer factors first: one term for each combination of further levels that
// was measured. With it, a factor's own term is what its level adds while the
// other factors of the interaction are at their first levels. An interaction
// that cannot be told is left out as a whole, and said to be.
func (d *design) interact(list []*study.Interaction) {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b *study.Interaction) int { return len(a.Of) - len(b.Of) })
	for _, x := range list {
		if why := d.tell(x.Factors()); !why.IsZero() {
			d.untold = append(d.untold, why)
		}
	}
}

// tell adds the terms of one interaction, or says why it does not.
func (d *design) tell(what []string) phrase.Phrase {
	var factors []varied
	for _, name := range what {
		i := slices.IndexFunc(d.factors, func(f varied) bool { return f.name == name })
		if i < 0 {
			return phrase.New("What %s do together is not known: %s was not varied on this board.", what, name)
		}
		factors = append(factors, d.factors[i])
	}
	cells := 1
	for _, f := range factors {
		if cells *= len(f.levels); cells > mostCells {
			return phrase.New("What %s do together is not looked at: they have more than %d combinations of levels.", what, mostCells)
		}
	}
	for _, part := range parts(what) {
		if len(part) > 1 && !slices.ContainsFunc(d.together, func(t []string) bool { return sameNames(t, part) }) {
			return phrase.New("What %s do together is not known, because what %s do is not.", what, part)
		}
	}
	var terms []term
	var cols [][]float64
	var unseen [][]string
	known := slices.Clone(d.known)
	for _, tm := range combinations(factors) {
		col := d.column(tm)
		if norm(col) == 0 {
			unseen = append(unseen, tm.text())
			continue
		}
		if !known.add(col) {
			return d.inseparable(what, factors)
		}
		terms, cols = append(terms, tm), append(cols, col)
	}
	if len(terms) == 0 {
		return d.inseparable(what, factors)
	}
	d.terms, d.cols, d.known = append(d.terms, terms...), append(d.cols, cols...), known
	d.together = append(d.together, what)
	if len(unseen) > 0 {
		return phrase.New("No state was measured with %s, so what they add together is not known.", orNone(unseen))
	}
	return phrase.Phrase{}
}

// inseparable says why an interaction cannot be told: which combinations of
// levels were not measured, or that all were, but never by themselves.
func (d *design) inseparable(what []string, factors []varied) phrase.Phrase {
	var missing [][]string
	for _, tm := range grid(factors, 0) {
		if norm(d.column(tm)) == 0 {
			missing = append(missing, tm.text())
		}
	}
	if len(missing) == 0 {
		return phrase.New("What %s do together cannot be told from what other factors add: where they are changed together, another factor is changed as well. Measure such a state with the other factors as they were.", what)
	}
	return phrase.New("What %s do together cannot be told from what each adds alone: no state was measured with %s. The effects here are those of a plain sum. Measure such a state.", what, orNone(missing))
}

// orNone lists what was not measured, the first few by name.
func orNone(list [][]string) phrase.Phrase {
	const named = 3
	out := phrase.New("%s", list[0])
	for _, x := range list[1:min(len(list), named)] {
		out = phrase.New("%s, nor with %s", out, x)
	}
	if more := len(list) - named; more > 0 {
		out = phrase.New("%s, nor with %s", out, phrase.Count(more, "one more combination", "%s more combinations"))
	}
	return out
}

// combinations are the terms of an interaction: every combination of the
// factors' further levels.
func combinations(factors []varied) []term { return grid(factors, 1) }

// grid is every combination of the factors' levels from the first-th on.
func grid(factors []varied, first int) []term {
	out := []term{nil}
	for _, f := range factors {
		var next []term
		for _, tm := range out {
			for _, level := range f.levels[first:] {
				next = append(next, append(slices.Clone(tm), LevelChange{f.name, level, f.levels[0]}))
			}
		}
		out = next
	}
	return out
}

// text names the levels of a term: "drives 4 and load copy".
func (t term) text() []string {
	out := make([]string, len(t))
	for i, c := range t {
		out[i] = c.Factor + " " + c.Level
	}
	return out
}

// parts are the sets of names that lack one of them.
func parts(names []string) (out [][]string) {
	for i := range names {
		out = append(out, slices.Delete(slices.Clone(names), i, i+1))
	}
	return out
}

func sameNames(a, b []string) bool {
	return slices.Equal(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b)))
}

// heldAt is at which levels of the factors that a term's factors act together
// with the term holds: their first ones.
func (d *design) heldAt(tm term) (out []study.Level) {
	for _, f := range d.factors {
		own := slices.ContainsFunc(tm, func(c LevelChange) bool { return c.Factor == f.name })
		acts := slices.ContainsFunc(d.together, func(names []string) bool {
			return slices.Contains(names, f.name) && !slices.ContainsFunc(tm, func(c LevelChange) bool { return !slices.Contains(names, c.Factor) })
		})
		if !own && acts {
			out = append(out, study.Level{Factor: f.name, Value: f.levels[0]})
		}
	}
	return out
}
