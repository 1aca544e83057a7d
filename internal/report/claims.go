package report

import (
	"fmt"
	"strings"

	"railtally/internal/study"
	"railtally/internal/tally"
)

// claimView is one claim with its proof.
type claimView struct {
	ID        string
	Verdict   verdict
	Statement string
	Proof     string // figure, limit and probability, or why there are none
	Rule      string
	Rests     string
	Cautions  []string
	Advice    string
}

func (a *assembler) claims() []claimView {
	var out []claimView
	for _, c := range a.t.Claims {
		v := claimView{
			ID: a.anchors.part("claim", fmt.Sprint(c.Number)), Statement: a.tell(c.Statement()),
			Verdict: verdict{Text: word(a.tongue, c.Judgement), Kind: "open"}, Proof: a.tell(c.Why),
			Advice: strings.Join(a.each(c.Advice), " "), Cautions: a.each(c.Cautions),
		}
		switch c.Judgement {
		case tally.Holds:
			v.Verdict.Kind = "resolved"
		case tally.Fails:
			v.Verdict.Kind = "refuted"
		}
		if c.Known {
			v.Proof = a.say("Measured %s, claimed %s; the probability that it is so is %s.", a.firm(string(c.FigureText())), c.LimitText(), c.ProbabilityText())
			if c.Kind == study.ClaimPredicted {
				v.Proof = a.say("Predicted %s, claimed %s; the probability that it is so is %s.", a.firm(string(c.FigureText())), c.LimitText(), c.ProbabilityText())
			}
			v.Rule, v.Rests = a.say("Decided %s.", c.RuleText()), strings.Join(a.each(c.Rests), "; ")
		}
		out = append(out, v)
	}
	return out
}
