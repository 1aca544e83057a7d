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

// Matrix compares each complete state of a board with each one before it: row i
// holds the i-th complete state less the first, the second, up to the one
// before it.
func (t *Tally) Matrix(b *Board) (states []*State, rows [][]*Difference, err error) {
	for _, s := range b.States {
		if !s.Complete {
			continue
		}
		var row []*Difference
		for _, before := range states {
			d, err := t.Compare(s, before)
			if err != nil {
				return nil, nil, err
			}
			row = append(row, d)
		}
		states, rows = append(states, s), append(rows, row)
	}
	return states, rows, nil
}
