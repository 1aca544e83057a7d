package report

import (
	"fmt"
	"strings"

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
			ID: a.anchors.part("claim", fmt.Sprint(c.Number)), Statement: prose(c.Statement()),
			Verdict: verdict{Text: string(c.Judgement), Kind: "open"}, Proof: prose(c.Why),
			Advice: prose(strings.Join(c.Advice, " ")),
		}
		for _, s := range c.Cautions {
			v.Cautions = append(v.Cautions, prose(s))
		}
		switch c.Judgement {
		case tally.Holds:
			v.Verdict.Kind = "resolved"
		case tally.Fails:
			v.Verdict.Kind = "refuted"
		}
		if c.Known {
			v.Proof = fmt.Sprintf("%s %s, claimed %s; the probability that it is so is %s.", strings.ToUpper(c.Found()[:1])+c.Found()[1:], firm(c.FigureText()), prose(c.LimitText()), firm(c.ProbabilityText()))
			v.Rule, v.Rests = "Decided "+prose(c.RuleText())+".", prose(strings.Join(c.Rests, "; "))
		}
		out = append(out, v)
	}
	return out
}
