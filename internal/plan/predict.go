package plan

import (
	"fmt"
	"slices"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Prediction is the uncertainty that a target is expected to come out with.
type Prediction struct {
	Target   Target
	Figure   tally.Figure // expected figure and its interval
	Limit    float64      // aimed at, watts; 0: none
	Causes   []gum.Share  // of the variance, largest first
	Rails    []RailShare  // largest first
	Findings []sensing.Finding
	// Missing names what keeps the target from being predicted.
	Missing []string
}

// RailShare is one rail's part of the variance of a target, by the covariance of
// its power (or the difference of its powers) with the target.
type RailShare struct {
	Board, Rail string
	Fraction    float64
}

// Possible tells whether there is a figure.
func (p Prediction) Possible() bool { return len(p.Missing) == 0 }

// Reached tells whether the interval is as narrow as is aimed at.
func (p Prediction) Reached() bool {
	return p.Possible() && (p.Limit == 0 || p.Figure.Expanded <= p.Limit)
}

// Resolved tells whether a difference is expected to come out as resolved.
func (p Prediction) Resolved() bool {
	return p.Possible() && tally.Judge(p.Figure, 0) == tally.Resolved
}

// predict tallies the planned work for one target.
func (m *maker) predict(v variant, t Target, budget bool) (Prediction, error) {
	out := Prediction{Target: t}
	s := m.planned(v, t.states())
	// One comparison, so that the tally does not make all that suggest themselves.
	s.Comparisons = []study.Comparison{{First: t.First, Second: t.First}}
	only(s, t.states())
	ta, err := tally.Run(s, tally.Options{})
	if err != nil {
		return out, err
	}
	first := ta.State(t.First)
	var against *tally.State
	for _, on := range t.states() {
		st := ta.State(on)
		if st == nil || !st.Complete {
			out.Missing = append(out.Missing, m.missing(v, on)...)
		}
	}
	if len(out.Missing) > 0 {
		return out, nil
	}
	out.Figure = first.Total
	if t.Kind == study.ClaimDifference {
		against = ta.State(t.Against)
		d, err := ta.Compare(first, against)
		if err != nil {
			return out, err
		}
		out.Figure = d.Difference
	}
	out.Limit = t.limit(out.Figure.Estimate)
	if !budget {
		return out, nil
	}
	if out.Causes, err = ta.Graph.BudgetBy(out.Figure.Value, sensing.TagCause); err != nil {
		return out, err
	}
	out.Findings = ta.Findings
	out.Rails, err = railShares(ta, out.Figure, first, against)
	return out, err
}

// missing says what would have to be expected before a state can be predicted.
func (m *maker) missing(v variant, on study.StateOn) (out []string) {
	b := v.study.Board(on.Board)
	var unknown, unread []string
	for _, r := range b.Rails {
		switch e := m.expect.of(b, r, on.State); {
		case r.Aside && r.From == nil:
		case !e.Known:
			unknown = append(unknown, r.Name)
		case len(r.Taps) > 0 && m.railReading(v, b, r, on.State, 0) == nil:
			unread = append(unread, r.Name)
		}
	}
	if len(unknown) > 0 {
		out = append(out, fmt.Sprintf("it is not said what %s of %s will carry in %s", quantity.Join(unknown), b.Name, on.State))
	}
	if len(unread) > 0 {
		out = append(out, fmt.Sprintf("no meter shows %s of %s", quantity.Join(unread), b.Name))
	}
	if len(out) == 0 {
		out = append(out, fmt.Sprintf("no rail of %s is to be read in %s", b.Name, on.State))
	}
	return out
}

func railShares(ta *tally.Tally, f tally.Figure, first, against *tally.State) ([]RailShare, error) {
	variance := f.U * f.U
	if variance == 0 {
		return nil, nil
	}
	var out []RailShare
	add := func(board, rail string, v gum.Value, sign float64) error {
		c, err := ta.Graph.Cov(v, f.Value)
		for i := range out {
			if out[i].Board == board && out[i].Rail == rail {
				out[i].Fraction += sign * c / variance
				return err
			}
		}
		out = append(out, RailShare{board, rail, sign * c / variance})
		return err
	}
	for i, s := range []*tally.State{first, against} {
		if s == nil {
			continue
		}
		sign := float64(1 - 2*i)
		for _, r := range s.Rails {
			if r.Aside {
				continue
			}
			if err := add(s.Board.Name, r.Name, r.Power.Value, sign); err != nil {
				return nil, err
			}
		}
	}
	slices.SortStableFunc(out, func(a, b RailShare) int {
		switch {
		case a.Fraction > b.Fraction:
			return -1
		case a.Fraction < b.Fraction:
			return 1
		case a.Board+a.Rail < b.Board+b.Rail:
			return -1
		}
		return 1
	})
	return out, nil
}
