package tally

import (
	"fmt"

	"railtally/gum"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// Difference is what one state draws more than another.
type Difference struct {
	First, Second *State
	Difference    Figure // First − Second, watts
	Ratio         Figure // First / Second; zero where Second is not positive
	Verdict       Verdict
	// Margin is the study's equal-within limit, 0 when it has none.
	Margin float64
	// Factors in which the two states differ, when both have factors.
	Factors []string
	// Limit is the cause that contributes most to the difference's variance.
	Limit gum.Share
}

// compare evaluates the study's comparisons, or those that suggest themselves.
func (t *Tally) compare() error {
	for _, c := range t.comparisons() {
		first, second := t.State(c.First), t.State(c.Second)
		if first == nil || second == nil || !first.Complete || !second.Complete {
			t.Findings = append(t.Findings, notComparable(c, first, second))
			continue
		}
		d, err := t.Compare(first, second)
		if err != nil {
			return err
		}
		t.Differences = append(t.Differences, d)
	}
	return nil
}

// Compare evaluates the difference and the ratio of any two complete states,
// of one board or of two.
func (t *Tally) Compare(first, second *State) (*Difference, error) {
	what := fmt.Sprintf("%s against %s", first.On(), second.On())
	if !first.Complete || !second.Complete {
		return nil, fmt.Errorf("%s: a rail is missing in one of the states", what)
	}
	d := &Difference{First: first, Second: second, Factors: first.State.DiffersIn(second.State)}
	var err error
	if d.Difference, err = t.figure(first.Total.Value.Sub(second.Total.Value)); err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	if second.Total.Estimate > 0 {
		if d.Ratio, err = t.figure(first.Total.Value.Div(second.Total.Value)); err != nil {
			return nil, fmt.Errorf("%s: ratio: %w", what, err)
		}
	}
	if t.Study.EqualWithin != nil {
		d.Margin = t.Study.EqualWithin.Value()
	}
	d.Verdict = Judge(d.Difference, d.Margin)
	causes, err := t.Graph.BudgetBy(d.Difference.Value, sensing.TagCause)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	if len(causes) > 0 {
		d.Limit = causes[0]
	}
	return d, nil
}

// comparisons returns those the study asks for; when it asks for none, the same
// state on each pair of boards, then on each board every state against the one
// before it that differs from it in a single factor.
func (t *Tally) comparisons() []study.Comparison {
	if len(t.Study.Comparisons) > 0 {
		return t.Study.Comparisons
	}
	var out []study.Comparison
	for i, a := range t.Boards {
		for _, b := range t.Boards[i+1:] {
			for _, s := range a.States {
				other := t.State(study.StateOn{Board: b.Name, State: s.State.Name})
				if other != nil && s.Complete && other.Complete {
					out = append(out, study.Comparison{First: other.On(), Second: s.On()})
				}
			}
		}
	}
	for _, b := range t.Boards {
		for i, s := range b.States {
			if base := stepBefore(b.States[:i], s); base != nil && s.Complete && base.Complete {
				out = append(out, study.Comparison{First: s.On(), Second: base.On()})
			}
		}
	}
	return out
}

// stepBefore is the last earlier state that differs in exactly one factor.
func stepBefore(earlier []*State, s *State) *State {
	for i := len(earlier) - 1; i >= 0; i-- {
		if len(s.State.DiffersIn(earlier[i].State)) == 1 {
			return earlier[i]
		}
	}
	return nil
}
