package tally

import "fmt"

// RailPart is one rail's part in the power of the chip.
type RailPart struct {
	*Rail
	Share Figure // ratio
}

// RailParts gives each rail's part in a complete state's total, in the board's
// order. Nil where the total is not above zero.
func (t *Tally) RailParts(s *State) ([]RailPart, error) {
	if !s.Complete || s.Total.Estimate <= 0 {
		return nil, nil
	}
	var out []RailPart
	for _, r := range s.Rails {
		if r.Aside {
			continue
		}
		f, err := t.Figure(r.Power.Value.Div(s.Total.Value))
		if err != nil {
			return nil, fmt.Errorf("%s, %s: share: %w", s.On(), r.Name, err)
		}
		out = append(out, RailPart{r, f})
	}
	return out, nil
}

// Matrix compares each of some complete states with each one before it: row i
// holds the i-th state less the first, the second, up to the one before it, and
// FamilyP judges all of them together. Its cost grows with the square of the
// states.
func (t *Tally) Matrix(states []*State) ([][]*Difference, error) {
	rows := make([][]*Difference, len(states))
	var all []*Difference
	for i, s := range states {
		for _, before := range states[:i] {
			d, err := t.Compare(s, before)
			if err != nil {
				return nil, err
			}
			rows[i], all = append(rows[i], d), append(all, d)
		}
	}
	together(all)
	return rows, nil
}

// Complete are the states of a board that have a total, in the study's order.
func (b *Board) Complete() (out []*State) {
	for _, s := range b.States {
		if s.Complete {
			out = append(out, s)
		}
	}
	return out
}
