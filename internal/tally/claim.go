package tally

import (
	"fmt"
	"math"

	"railtally/internal/phrase"
	"railtally/internal/study"
)

// Judgement is what may be said about a claim.
type Judgement string

// The words for a claim, and only these.
const (
	Holds     Judgement = "holds"
	Fails     Judgement = "fails"
	Undecided Judgement = "undecided"
)

// ClaimResult is one claim of the study, judged.
type ClaimResult struct {
	*study.Claim
	Number int // from 1, in the study's order
	Rule   study.Rule
	Lo, Hi float64 // what the claim allows; infinite where it is open

	// Known is false when the figure could not be computed; Why then says so,
	// and the claim is undecided.
	Known  bool
	Figure Figure
	Why    phrase.Phrase

	// Probability that the true value conforms, JCGM 106 clause 7, by Student's
	// t where the figure rests on few degrees of freedom.
	Probability float64
	Judgement   Judgement
	// Rests names the figures that the claim rests on, and Cautions what must be
	// said with it.
	Rests, Cautions []phrase.Phrase
	// Advice says what would decide an undecided claim.
	Advice []phrase.Phrase

	remedies map[string]phrase.Phrase
}

// conformity is the probability that the true value of a figure lies between
// two limits, either of which may be infinite (JCGM 106 7.3, 7.4).
func (f Figure) conformity(lo, hi float64) float64 {
	p := 1.0
	if !math.IsInf(hi, 1) {
		p = f.below(hi)
	}
	if !math.IsInf(lo, -1) {
		p -= f.below(lo)
	}
	return math.Max(0, math.Min(1, p))
}

// decide judges a figure against limits by a decision rule (JCGM 106 clause 8).
func decide(f Figure, lo, hi float64, rule study.Rule) Judgement {
	inside := func(by float64) bool { return f.Estimate >= lo+by && f.Estimate <= hi-by }
	switch rule.Kind {
	case study.RuleNone:
		if inside(0) {
			return Holds
		}
		return Fails
	case study.RuleGuard:
		w := rule.Guard * f.Expanded
		switch {
		case inside(w):
			return Holds
		case !inside(-w):
			return Fails
		}
		return Undecided
	}
	switch p := f.conformity(lo, hi); {
	case p >= 1-rule.Risk:
		return Holds
	case p <= rule.Risk:
		return Fails
	}
	return Undecided
}

// judgeClaims judges every claim of the study.
func (t *Tally) judgeClaims() error {
	for i, c := range t.Study.Claims {
		r := &ClaimResult{Claim: c, Number: i + 1, Rule: t.Study.RuleOf(c), Judgement: Undecided}
		r.Lo, r.Hi = c.Limits()
		if err := t.claimed(r); err != nil {
			return fmt.Errorf("claim %d: %w", r.Number, err)
		}
		if r.Known = r.Why.IsZero(); r.Known {
			r.Probability = r.Figure.conformity(r.Lo, r.Hi)
			r.Judgement = decide(r.Figure, r.Lo, r.Hi, r.Rule)
		}
		if r.Known && r.Judgement == Undecided {
			var err error
			if r.Advice, err = t.advice(r.Figure, r.Needed(), r.remedies); err != nil {
				return fmt.Errorf("claim %d: %w", r.Number, err)
			}
		}
		t.Claims = append(t.Claims, r)
	}
	return nil
}

// Needed is the standard uncertainty at which the claim would be decided, were
// the estimate to stay where it is and its degrees of freedom too: the distance
// to the nearest limit over the quantile that the rule asks for.
func (r *ClaimResult) Needed() float64 {
	distance := math.Min(math.Abs(r.Figure.Estimate-r.Lo), math.Abs(r.Figure.Estimate-r.Hi))
	switch r.Rule.Kind {
	case study.RuleGuard:
		return distance / (r.Rule.Guard * r.Figure.K)
	default:
		return distance / quantile(1-r.Rule.Risk, r.Figure.DOF)
	}
}

// Judge is how the claim would be decided were its figure another.
func (r *ClaimResult) Judge(f Figure) Judgement { return decide(f, r.Lo, r.Hi, r.Rule) }

// AnyFails tells whether one of the claims fails.
func (t *Tally) AnyFails() bool {
	for _, c := range t.Claims {
		if c.Judgement == Fails {
			return true
		}
	}
	return false
}

// GuardBand is by how much the rule draws a limit in to accept, and pushes it
// out to refuse, in the figure's unit; 0 where it does not.
func (r *ClaimResult) GuardBand() float64 {
	if !r.Known || r.Rule.Kind != study.RuleGuard {
		return 0
	}
	return r.Rule.Guard * r.Figure.Expanded
}

// Capability is the measurement capability index of JCGM 106 7.6.3: the width of
// what is claimed over four standard uncertainties. Near 1 hardly any figure can
// decide the claim. NaN where the claim has one limit or the figure no
// uncertainty.
func (r *ClaimResult) Capability() float64 {
	if !r.Known || r.Figure.U == 0 || math.IsInf(r.Lo, 0) || math.IsInf(r.Hi, 0) {
		return math.NaN()
	}
	return (r.Hi - r.Lo) / (4 * r.Figure.U)
}
