package web

import (
	"fmt"
	"math"

	"railtally/internal/quantity"
	"railtally/internal/report"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// claimLine is one claim on the results page.
type claimLine struct {
	Verdict               any
	Statement, Href, Said string
}

func (o *resultsOf) claimLines() (out []claimLine) {
	for _, c := range o.Tally.Claims {
		x := claimLine{Verdict: o.parts.Judgement(c), Statement: report.Tell(c.Statement()), Href: o.to("claims", c.Number), Said: report.Tell(c.Why)}
		if c.Known {
			x.Said = report.Prose(fmt.Sprintf("Measured %s, claimed %s; the probability that it is so is %s. Decided %s.", c.FigureText(), c.LimitText(), c.ProbabilityText(), c.RuleText()))
		}
		out = append(out, x)
	}
	return out
}

// claim opens one claim.
func (o *resultsOf) claim() (*openedPage, error) {
	i, err := o.nth("claim", len(o.Tally.Claims))
	if err != nil {
		return nil, err
	}
	c := o.Tally.Claims[i]
	v := &openedPage{Title: fmt.Sprintf("Claim %d", c.Number), Verdict: o.parts.Judgement(c), Lead: []string{report.Tell(c.Statement())}}
	if c.Known {
		v.Figure = report.Prose(c.FigureText())
	}
	publish := section{Title: "To be published", Lead: []string{report.Tell(c.Sentence())}}
	for _, s := range c.Cautions {
		publish.After = append(publish.After, report.Tell(s))
	}
	v.Sections = append(v.Sections, publish)
	if c.Known {
		v.Sections = append(v.Sections, o.decided(c))
	}
	if c.Known && c.Judgement == tally.Undecided {
		v.Sections = append(v.Sections, o.settleLater(o.to("settle", "claims", c.Number)))
	}
	rests := section{Title: "What it rests on"}
	for _, s := range c.Rests {
		rests.After = append(rests.After, report.Tell(s)+".")
	}
	rests.Links = o.restsOf(c)
	if len(rests.After) > 0 || len(rests.Links) > 0 {
		v.Sections = append(v.Sections, rests)
	}
	if c.Known {
		limits := section{Title: "What limits it"}
		if limits.Budget, err = o.parts.Limits(c.Figure, c.Kind.Unit()); err != nil {
			return nil, err
		}
		v.Sections = append(v.Sections, limits)
	}
	return v, nil
}

// decided says how the claim was judged, step by step.
func (o *resultsOf) decided(c *tally.ClaimResult) section {
	s := section{Title: "How it was decided"}
	t := resultsTable{ID: "claim-decided", Caption: "By JCGM 106", Heads: []head{{"Step", false}, {"Value", false}}}
	add := func(name, value string) {
		t.Rows = append(t.Rows, []resultsCell{words(name, ""), words(value, "")})
	}
	add("Measured", string(c.FigureText()))
	add("Claimed", c.LimitText().String())
	add("Probability that it is so", c.ProbabilityText().String())
	add("Rule", c.RuleText().String())
	if w := c.GuardBand(); w > 0 {
		add("Limits drawn in, and pushed out, by", quantity.Format(w, c.Kind.Unit(), 2))
	}
	if cm := c.Capability(); !math.IsNaN(cm) {
		add("Width of the limits over that of the interval", fmt.Sprintf("%.2g", cm))
	}
	s.Tables = []resultsTable{t}
	s.After = []string{"The true value is taken to be spread about what was measured as its uncertainty says, by Student's t where it rests on few degrees of freedom; the probability is the part of it inside the limits."}
	return s
}

// restsOf are the addresses of the figures that a claim rests on.
func (o *resultsOf) restsOf(c *tally.ClaimResult) (out []resultsCell) {
	state := func(on study.StateOn) {
		if o.Tally.State(on) != nil {
			out = append(out, words(on.String(), o.to("results", on.Board, on.State)))
		}
	}
	switch c.Kind {
	case study.ClaimTotal, study.ClaimThroughput, study.ClaimTemperature:
		state(c.First)
	case study.ClaimDifference, study.ClaimRatio:
		a, b := o.Tally.State(c.First), o.Tally.State(c.Against)
		if a != nil && b != nil && a.Complete && b.Complete {
			out = append(out, words(c.First.String()+" less "+c.Against.String(), o.to("differences", c.First.Board, c.First.State, c.Against.Board, c.Against.State)))
		}
		state(c.First)
		state(c.Against)
	case study.ClaimEffect, study.ClaimShare:
		b := o.Tally.Board(c.Effect.Board)
		if b == nil || b.Effects == nil || !b.Effects.Problem.IsZero() {
			return out
		}
		for _, x := range allEffects(b.Effects) {
			if b.Effects.Bears(x, c.Effect) {
				out = append(out, words(effectName(b.Effects, x), o.to("effects", b.Name, effectKey(x))))
			}
		}
		if c.Kind == study.ClaimShare && b.Effects.Fullest != nil {
			state(b.Effects.Fullest.On())
		}
	}
	return out
}
