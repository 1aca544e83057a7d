package tally

import (
	"fmt"
	"math"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// Difference is what one state draws more than another.
//
// It is taken within the sittings in which both states were measured, where
// most errors are common to both; only where there is no such sitting is it
// the difference of the two totals.
type Difference struct {
	First, Second *State
	Difference    Figure // First − Second, watts
	Ratio         Figure // First / Second; zero where Second is not positive
	// Within names the sittings the difference was taken in, when they are
	// fewer than the totals rest on; the figure is then not exactly the
	// difference of the totals shown.
	Within  []string
	Verdict Verdict
	// Margin is the study's equal-within limit, 0 when it has none.
	Margin float64
	// Factors in which the two states differ, when both have factors.
	Factors []string
	// Limit is the cause that contributes most to the difference's variance.
	Limit gum.Share

	// P is the probability of a difference at least this large were there none;
	// FamilyP the same when all differences shown are judged together (Holm).
	P, FamilyP float64
	// EqualP is the probability of the two one-sided tests of equality within
	// the margin; NaN without a margin.
	EqualP float64
	// Advice says what would resolve a difference that is not resolved.
	Advice []phrase.Phrase
	// Detectable is the smallest true difference that this study would have
	// resolved with a probability of 80 %.
	Detectable float64
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
	together(t.Differences)
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
	minuend, subtrahend := first.Total.Value, second.Total.Value
	if both := common(first, second); len(both) > 0 && (len(both) < len(complete(first)) || len(both) < len(complete(second))) {
		minuend, subtrahend = first.within(both), second.within(both)
		for _, sit := range both {
			d.Within = append(d.Within, sit.Name)
		}
	}
	var err error
	if d.Difference, err = t.Figure(minuend.Sub(subtrahend)); err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	if subtrahend.Estimate() > 0 {
		if d.Ratio, err = t.Figure(minuend.Div(subtrahend)); err != nil {
			return nil, fmt.Errorf("%s: ratio: %w", what, err)
		}
	}
	if t.Study.EqualWithin != nil {
		d.Margin = t.Study.EqualWithin.Value()
	}
	d.Verdict = Judge(d.Difference, d.Margin)
	d.P, d.FamilyP = d.Difference.zeroP(), d.Difference.zeroP()
	d.EqualP = math.NaN()
	if d.Margin > 0 {
		d.EqualP = d.Difference.equalP(d.Margin)
	}
	d.Detectable = d.Difference.detectable()
	causes, err := t.Graph.BudgetBy(d.Difference.Value, sensing.TagCause)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	if len(causes) > 0 {
		d.Limit = causes[0]
	}
	if d.Verdict == NotResolved {
		d.Advice, err = t.advice(d.Difference, d.Needed(), nil)
	}
	return d, err
}

// Needed is the standard uncertainty at which the difference would be resolved,
// or equal within the margin, whichever comes first, were its estimate and its
// coverage factor to stay.
func (d *Difference) Needed() float64 {
	size := math.Abs(d.Difference.Estimate)
	return math.Max(size, d.Margin-size) / d.Difference.K
}

// common returns the sittings in which both states were measured completely.
func common(a, b *State) []*study.Sitting {
	var out []*study.Sitting
	for _, sit := range complete(a) {
		if b.in(sit) != nil {
			out = append(out, sit)
		}
	}
	return out
}

// within is the mean of a state's totals in some of its sittings. The effect
// of a sitting is left out: it is the same on both sides of a difference.
func (s *State) within(sittings []*study.Sitting) gum.Value {
	vs := make([]gum.Value, len(sittings))
	for i, sit := range sittings {
		vs[i] = s.in(sit).Total
	}
	return mean(vs)
}

// comparisons returns those the study asks for; when it asks for none, the same
// state on each pair of boards, then on each board every state against the one
// before it that differs from it in a single factor (or, in a study without
// factors, the one before it).
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

// stepBefore is the last earlier state that differs in exactly one factor, or
// simply the last one where states have no factors.
func stepBefore(earlier []*State, s *State) *State {
	for i := len(earlier) - 1; i >= 0; i-- {
		if len(s.State.Levels) == 0 || len(s.State.DiffersIn(earlier[i].State)) == 1 {
			return earlier[i]
		}
	}
	return nil
}
