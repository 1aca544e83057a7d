package study

import (
	"math"

	"railtally/internal/quantity"
)

// ClaimKind is what a claim is about.
type ClaimKind string

// The kinds of claim.
const (
	ClaimTotal       ClaimKind = "total"       // power of the chip in a state
	ClaimDifference  ClaimKind = "difference"  // one total minus another
	ClaimRatio       ClaimKind = "ratio"       // one total over another
	ClaimEffect      ClaimKind = "effect"      // what a level of a factor adds
	ClaimShare       ClaimKind = "share"       // an effect's part of the highest total
	ClaimThroughput  ClaimKind = "throughput"  // reached in a state
	ClaimTemperature ClaimKind = "temperature" // read in a state
	ClaimPredicted   ClaimKind = "predicted"   // temperature at another power, room or altitude
)

// ClaimKinds lists them in the order in which they are offered.
var ClaimKinds = []ClaimKind{ClaimTotal, ClaimDifference, ClaimRatio, ClaimEffect, ClaimShare, ClaimThroughput, ClaimTemperature, ClaimPredicted}

// Unit is the unit of what such a claim is about.
func (k ClaimKind) Unit() quantity.Unit {
	switch k {
	case ClaimRatio, ClaimShare:
		return quantity.None
	case ClaimThroughput:
		return quantity.BytePerSecond
	case ClaimTemperature, ClaimPredicted:
		return quantity.Celsius
	}
	return quantity.Watt
}

// Claim is a statement that the study is to confirm or refute: that a figure
// lies below, above or within limits.
type Claim struct {
	// Says is the sentence as it is published when the claim holds; empty: the
	// tally makes one.
	Says string
	Note string

	Kind ClaimKind
	// First is the state of a total, a throughput or a temperature, or the one
	// that a difference or a ratio begins with.
	First, Against StateOn
	Effect         EffectOf    // of an effect or a share
	Predicted      PredictedAt // of a predicted temperature
	Point          string      // name of a temperature

	// Exactly one of the three is not nil. Within is a band or a value ± limits.
	Above, Below, Within *quantity.Entry

	// Rule decides; nil: the study's.
	Rule *Rule
}

// PredictedAt says for what a temperature of a board is predicted. What is nil
// is as the board's section on cooling says; without it, the highest power that
// was measured, the warmest room, and the sea's level.
type PredictedAt struct {
	Board    string
	Power    *quantity.Entry // W
	Room     *quantity.Entry // °C
	Altitude *quantity.Entry // m
}

// EffectOf names an effect: what a factor's level adds on a board, counted from
// another level. An empty From is the factor's first level; an empty Factor, of
// a share only, is the board with every factor at its first level.
type EffectOf struct {
	Board, Factor, Level, From string
	// With are the levels of other factors at which the effect is meant, where
	// they act together with it; the others are at their first levels.
	With []Level
}

// Limits are the ends of what the claim allows; infinite where it is open.
func (c *Claim) Limits() (lo, hi float64) {
	lo, hi = math.Inf(-1), math.Inf(1)
	switch {
	case c.Above != nil:
		lo = c.Above.Value()
	case c.Below != nil:
		hi = c.Below.Value()
	case c.Within != nil && c.Within.Kind == quantity.Band:
		lo, hi = c.Within.Values[0], c.Within.Values[1]
	case c.Within != nil && c.Within.Tol != nil:
		lo, hi = c.Within.Value()-c.Within.Tol.Minus, c.Within.Value()+c.Within.Tol.Plus
	}
	return lo, hi
}

// RuleKind is a way to decide in the face of uncertainty (JCGM 106 clause 8).
type RuleKind string

// The decision rules.
const (
	// RuleNone: the estimate alone decides; the risk is shared (8.2).
	RuleNone RuleKind = "none"
	// RuleGuard: the limits are drawn in by Guard·U to accept, and pushed out by
	// as much to refuse (8.3).
	RuleGuard RuleKind = "guard band"
	// RuleRisk: a claim holds, or fails, when the probability of being wrong in
	// saying so is at most Risk.
	RuleRisk RuleKind = "risk"
)

// Rule is how a claim is decided.
type Rule struct {
	Kind  RuleKind
	Guard float64 // of a guard band, in expanded uncertainties U at the study's level
	Risk  float64 // of a stated risk
}

// DefaultRisk is the risk of a study that states no rule: 5 %.
const DefaultRisk = 0.05

// RuleOf is the rule by which a claim of the study is decided: its own, or the
// study's, or a risk of 5 %.
func (s *Study) RuleOf(c *Claim) Rule {
	switch {
	case c.Rule != nil:
		return *c.Rule
	case s.Rule != nil:
		return *s.Rule
	}
	return Rule{Kind: RuleRisk, Risk: DefaultRisk}
}
