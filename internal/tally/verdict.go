package tally

import "math"

// Verdict is what may be said about a difference.
type Verdict string

// The words for a difference, and only these.
const (
	// Resolved: zero lies outside the coverage interval.
	Resolved Verdict = "resolved"
	// Equal: the whole interval lies within ±δ, the study's limit.
	Equal Verdict = "equal within"
	// NotResolved: neither; the study cannot tell.
	NotResolved Verdict = "not resolved"
)

// Judge gives the verdict on a difference. margin is the limit δ in the
// difference's unit; 0 or less: none, and nothing is called equal. A
// difference that is resolved and yet lies within ±δ is called resolved; the
// margin can be stated beside it.
func Judge(d Figure, margin float64) Verdict {
	switch {
	case d.Lo() > 0 || d.Hi() < 0:
		return Resolved
	case margin > 0 && d.Lo() > -margin && d.Hi() < margin:
		return Equal
	}
	return NotResolved
}

// Within tells whether the whole interval lies inside ±margin.
func Within(d Figure, margin float64) bool {
	return margin > 0 && math.Max(-d.Lo(), d.Hi()) < margin
}
