package tally

import (
	"slices"

	"railtally/gum"
	"railtally/internal/sensing"
)

// Budget lists what contributes to the uncertainty of a figure, largest first,
// in four views of the same variance.
type Budget struct {
	Inputs      []gum.Share // each uncertain input
	Instruments []gum.Share // "" collects what belongs to no instrument
	Causes      []gum.Share
	Rails       []RailShare // of a state's total only
}

// RailShare is one rail's part in the variance of a total: the covariance of
// the rail's power with the total over the total's variance. The shares add up
// to 1, less what belongs to no rail, such as the sitting's effect.
type RailShare struct {
	Rail     string
	Fraction float64
}

// Budget works out the budget of a figure.
func (t *Tally) Budget(f Figure) (Budget, error) {
	var b Budget
	var err error
	if b.Inputs, err = t.Graph.Budget(f.Value); err != nil {
		return b, err
	}
	if b.Instruments, err = t.Graph.BudgetBy(f.Value, sensing.TagInstrument); err != nil {
		return b, err
	}
	b.Causes, err = t.Graph.BudgetBy(f.Value, sensing.TagCause)
	return b, err
}

// StateBudget is the budget of a complete state's total, with its rails.
func (t *Tally) StateBudget(s *State) (Budget, error) {
	b, err := t.Budget(s.Total)
	if err != nil || s.Total.U == 0 {
		return b, err
	}
	for _, r := range s.Rails {
		if r.Aside {
			continue
		}
		c, err := t.Graph.Cov(r.Power.Value, s.Total.Value)
		if err != nil {
			return b, err
		}
		b.Rails = append(b.Rails, RailShare{r.Name, c / (s.Total.U * s.Total.U)})
	}
	slices.SortStableFunc(b.Rails, func(x, y RailShare) int {
		switch {
		case x.Fraction > y.Fraction:
			return -1
		case x.Fraction < y.Fraction:
			return 1
		}
		return 0
	})
	return b, nil
}
