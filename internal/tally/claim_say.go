package tally

import (
	"fmt"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Statement is the claim as a sentence: as the study says it, or made from what
// it is about and its limits.
func (r *ClaimResult) Statement() string {
	if s := strings.TrimSpace(r.Says); s != "" {
		return s
	}
	return r.Subject() + " " + r.LimitText() + "."
}

// Subject names the figure that the claim is about, with its verb.
func (r *ClaimResult) Subject() string {
	e := r.Effect
	effect := fmt.Sprintf("%s %s", e.Factor, e.Level)
	if e.From != "" {
		effect += " instead of " + e.From
	}
	switch r.Kind {
	case study.ClaimTotal:
		return fmt.Sprintf("The chip's power in %s is", r.First)
	case study.ClaimDifference:
		return fmt.Sprintf("What %s draws more than %s is", r.First, r.Against)
	case study.ClaimRatio:
		return fmt.Sprintf("The power of %s over that of %s is", r.First, r.Against)
	case study.ClaimEffect:
		return fmt.Sprintf("What %s adds on %s is", effect, e.Board)
	case study.ClaimShare:
		if e.Factor == "" {
			return fmt.Sprintf("The part of %s's highest power that being on takes is", e.Board)
		}
		return fmt.Sprintf("The part of %s's highest power that %s takes is", e.Board, effect)
	case study.ClaimThroughput:
		return fmt.Sprintf("The throughput in %s is", r.First)
	}
	if r.Kind == study.ClaimPredicted {
		return fmt.Sprintf("The %s temperature of %s%s is", r.Point, r.Predicted.Board, conditions(r.Predicted))
	}
	return fmt.Sprintf("The %s temperature in %s is", r.Point, r.First)
}

// conditions says for what a temperature is predicted.
func conditions(x study.PredictedAt) string {
	text := ""
	if x.Power != nil {
		text += " at " + typed(x.Power)
	}
	if x.Room != nil {
		text += " in air of " + typed(x.Room)
	}
	if x.Altitude != nil {
		text += ", " + typed(x.Altitude) + " above the sea,"
	}
	return text
}

// Found says in a word how the figure was come by: "measured", or "predicted".
func (r *ClaimResult) Found() string {
	if r.Kind == study.ClaimPredicted {
		return "predicted"
	}
	return "measured"
}

// FigureText prints the figure with its interval.
func (r *ClaimResult) FigureText() string {
	f := r.Figure
	if r.Kind == study.ClaimShare {
		return quantity.FormatU(100*f.Estimate, 100*f.Expanded, quantity.None) + " %"
	}
	return quantity.FormatU(f.Estimate, f.Expanded, r.Kind.Unit())
}

// LimitText says what the claim allows, as it was written: "below 6 W".
func (r *ClaimResult) LimitText() string {
	switch {
	case r.Below != nil:
		return "below " + typed(r.Below)
	case r.Above != nil:
		return "above " + typed(r.Above)
	}
	return "within " + typed(r.Within)
}

func typed(e *quantity.Entry) string {
	if e.Text != "" {
		return e.Text
	}
	return e.String()
}

// RuleText says how the claim was decided.
func (r *ClaimResult) RuleText() string {
	switch r.Rule.Kind {
	case study.RuleNone:
		return "by the estimate alone, the risk of being wrong shared"
	case study.RuleGuard:
		return fmt.Sprintf("with a guard band of %g U", r.Rule.Guard)
	}
	return fmt.Sprintf("at a risk of %s of being wrong", Percent(r.Rule.Risk))
}

// ProbabilityText prints the probability of conformity without claiming
// certainty: "99.2 %", "more than 99.99 %".
func (r *ClaimResult) ProbabilityText() string {
	switch p := r.Probability; {
	case p > 0.9999:
		return "more than 99.99 %"
	case p < 0.0001:
		return "less than 0.01 %"
	case p > 0.99 || p < 0.01:
		return fmt.Sprintf("%.2f %%", 100*p)
	default:
		return fmt.Sprintf("%.1f %%", 100*p)
	}
}

// Sentence is what may be published about the claim, with its tolerance.
func (r *ClaimResult) Sentence() string {
	says := r.Statement()
	if !r.Known {
		return fmt.Sprintf("Undecided: %s %s", quoted(says), r.Why)
	}
	proof := fmt.Sprintf("%s %s, claimed %s; probability that it is so %s", r.Found(), r.FigureText(), r.LimitText(), r.ProbabilityText())
	switch r.Judgement {
	case Holds:
		return fmt.Sprintf("%s (%s).", strings.TrimSuffix(says, "."), proof)
	case Fails:
		return fmt.Sprintf("Not so: %s (%s).", quoted(says), proof)
	}
	return fmt.Sprintf("Undecided: %s (%s).", quoted(says), proof)
}

func quoted(s string) string { return "“" + s + "”" }
