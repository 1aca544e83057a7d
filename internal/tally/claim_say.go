package tally

import (
	"strings"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Statement is the claim as a sentence: as the study says it, or made from what
// it is about and its limits.
func (r *ClaimResult) Statement() phrase.Phrase {
	if s := strings.TrimSpace(r.Says); s != "" {
		return phrase.Name(s)
	}
	return phrase.New("%s.", r.unended())
}

// unended is the statement without the full stop at its end.
func (r *ClaimResult) unended() phrase.Phrase {
	if s := strings.TrimSpace(r.Says); s != "" {
		return phrase.Name(strings.TrimSuffix(s, "."))
	}
	return phrase.New("%s %s", r.Subject(), r.LimitText())
}

// Subject names the figure that the claim is about, with its verb.
func (r *ClaimResult) Subject() phrase.Phrase {
	e := r.Effect
	effect := phrase.Name(e.Factor + " " + e.Level)
	if e.From != "" {
		effect = phrase.New("%s %s instead of %s", e.Factor, e.Level, e.From)
	}
	if len(e.With) > 0 {
		effect = phrase.New("%s, with %s,", effect, levels(e.With))
	}
	switch r.Kind {
	case study.ClaimTotal:
		return phrase.New("The chip's power in %s is", r.First)
	case study.ClaimDifference:
		return phrase.New("What %s draws more than %s is", r.First, r.Against)
	case study.ClaimRatio:
		return phrase.New("The power of %s over that of %s is", r.First, r.Against)
	case study.ClaimEffect:
		return phrase.New("What %s adds on %s is", effect, e.Board)
	case study.ClaimShare:
		if e.Factor == "" {
			return phrase.New("The part of %s's highest power that being on takes is", e.Board)
		}
		return phrase.New("The part of %s's highest power that %s takes is", e.Board, effect)
	case study.ClaimThroughput:
		return phrase.New("The throughput in %s is", r.First)
	}
	if r.Kind == study.ClaimPredicted {
		return phrase.New("The %s temperature of %s%s is", r.Point, r.Predicted.Board, conditions(r.Predicted))
	}
	return phrase.New("The %s temperature in %s is", r.Point, r.First)
}

// conditions says for what a temperature is predicted.
func conditions(x study.PredictedAt) phrase.Phrase {
	text := phrase.Name("")
	if x.Power != nil {
		text = phrase.New("%s at %s", text, typed(x.Power))
	}
	if x.Room != nil {
		text = phrase.New("%s in air of %s", text, typed(x.Room))
	}
	if x.Altitude != nil {
		text = phrase.New("%s, %s above the sea,", text, typed(x.Altitude))
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
func (r *ClaimResult) FigureText() phrase.Number {
	f := r.Figure
	if r.Kind == study.ClaimShare {
		return phrase.Number(quantity.FormatU(100*f.Estimate, 100*f.Expanded, quantity.None) + " %")
	}
	return phrase.Number(quantity.FormatU(f.Estimate, f.Expanded, r.Kind.Unit()))
}

// LimitText says what the claim allows, as it was written: "below 6 W".
func (r *ClaimResult) LimitText() phrase.Phrase {
	switch {
	case r.Below != nil:
		return phrase.New("below %s", typed(r.Below))
	case r.Above != nil:
		return phrase.New("above %s", typed(r.Above))
	}
	return phrase.New("within %s", typed(r.Within))
}

func typed(e *quantity.Entry) phrase.Number {
	if e.Text != "" {
		return phrase.Number(e.Text)
	}
	return phrase.Number(e.String())
}

// RuleText says how the claim was decided.
func (r *ClaimResult) RuleText() phrase.Phrase {
	switch r.Rule.Kind {
	case study.RuleNone:
		return phrase.New("by the estimate alone, the risk of being wrong shared")
	case study.RuleGuard:
		return phrase.New("with a guard band of %g U", r.Rule.Guard)
	}
	return phrase.New("at a risk of %s of being wrong", phrase.Number(Percent(r.Rule.Risk)))
}

// ProbabilityText prints the probability of conformity without claiming
// certainty: "99.2 %", "more than 99.99 %".
func (r *ClaimResult) ProbabilityText() phrase.Phrase {
	switch p := r.Probability; {
	case p > 0.9999:
		return phrase.New("more than %s", phrase.Number("99.99 %"))
	case p < 0.0001:
		return phrase.New("less than %s", phrase.Number("0.01 %"))
	case p > 0.99 || p < 0.01:
		return phrase.New("%.2f %%", 100*p)
	default:
		return phrase.New("%.1f %%", 100*p)
	}
}

// Sentence is what may be published about the claim, with its tolerance.
func (r *ClaimResult) Sentence() phrase.Phrase {
	says := r.Statement()
	if !r.Known {
		return phrase.New("Undecided: “%s” %s", says, r.Why)
	}
	proof := phrase.New("measured %s, claimed %s; probability that it is so %s", r.FigureText(), r.LimitText(), r.ProbabilityText())
	if r.Kind == study.ClaimPredicted {
		proof = phrase.New("predicted %s, claimed %s; probability that it is so %s", r.FigureText(), r.LimitText(), r.ProbabilityText())
	}
	switch r.Judgement {
	case Holds:
		return phrase.New("%s (%s).", r.unended(), proof)
	case Fails:
		return phrase.New("Not so: “%s” (%s).", says, proof)
	}
	return phrase.New("Undecided: “%s” (%s).", says, proof)
}
