package plan

import (
	"fmt"
	"math"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Target is one total or difference with the uncertainty that would answer the
// question.
type Target struct {
	Kind           study.ClaimKind // ClaimTotal or ClaimDifference
	First, Against study.StateOn
	// To is the largest half-width of the interval, in watts, or in parts of the
	// total where Relative; 0: none is stated.
	To       float64
	Relative bool
	// Margin asks instead that the interval stay on one side of this limit: the
	// half-width may be as large as the expected distance from it.
	Margin *float64
	From   string // where the aim comes from, in words
}

// Name is what the target is about: "Otter busy against Otter idle".
func (t Target) Name() string {
	if t.Kind == study.ClaimDifference {
		return t.First.String() + " against " + t.Against.String()
	}
	return t.First.String()
}

// limit is the largest half-width in watts, given the expected figure; 0: none.
func (t Target) limit(estimate float64) float64 {
	switch {
	case t.Margin != nil:
		return math.Abs(estimate - *t.Margin)
	case t.Relative:
		return t.To * math.Abs(estimate)
	}
	return t.To
}

// LimitText says what is aimed at: "±0.1 W", "±2 %".
func (t Target) LimitText(estimate float64) string {
	switch l := t.limit(estimate); {
	case l == 0:
		return "no aim stated"
	case t.Relative:
		return fmt.Sprintf("±%s (%s)", pct(t.To), watts(l))
	default:
		return "±" + watts(l)
	}
}

// states are the states that the target needs.
func (t Target) states() []study.StateOn {
	if t.Kind == study.ClaimDifference {
		return []study.StateOn{t.First, t.Against}
	}
	return []study.StateOn{t.First}
}

// targets are a study's aims, the margins of its claims, and, where it states no
// aim at all, the differences it asks about, each to be known within what the
// study calls equal.
func targets(s *study.Study) []Target {
	var out []Target
	for _, a := range s.Aims {
		out = append(out, Target{Kind: a.Kind, First: a.First, Against: a.Against,
			To: a.To.Value(), Relative: a.To.Unit == quantity.None, From: "aim"})
	}
	for _, c := range s.Claims {
		if c.Kind != study.ClaimTotal && c.Kind != study.ClaimDifference {
			continue
		}
		lo, hi := c.Limits()
		for _, l := range []float64{lo, hi} {
			if !math.IsInf(l, 0) {
				out = append(out, Target{Kind: c.Kind, First: c.First, Against: c.Against, Margin: &l,
					From: "claim with the limit " + quantity.Format(l, quantity.Watt, 3)})
			}
		}
	}
	if len(s.Aims) > 0 {
		return out
	}
	equal := 0.0
	if s.EqualWithin != nil {
		equal = s.EqualWithin.Value()
	}
	for _, c := range s.Comparisons {
		out = append(out, Target{Kind: study.ClaimDifference, First: c.First, Against: c.Second, To: equal, From: "comparison, to be called equal or not"})
	}
	if len(s.Comparisons) == 0 {
		for _, b := range s.Boards {
			for i, st := range s.States {
				on := study.StateOn{Board: b.Name, State: st.Name}
				if i == 0 {
					out = append(out, Target{Kind: study.ClaimTotal, First: on, From: "no aim is stated"})
					continue
				}
				out = append(out, Target{Kind: study.ClaimDifference, First: on,
					Against: study.StateOn{Board: b.Name, State: s.States[i-1].Name}, To: equal, From: "no aim is stated"})
			}
		}
	}
	return out
}
