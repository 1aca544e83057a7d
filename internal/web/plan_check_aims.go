package web

import (
	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// aimsView is what is expected of each aim.
type aimsView struct {
	Study  int64
	Level  string
	Lines  []aimLine
	Faults []fieldFault
	Wrong  string
	Wait   bool // the plan is not sound yet
}

// aimLine is one aim with its prediction.
type aimLine struct {
	Name, Expected, Aim, Verdict, Was, Limit, From string
	Sentence                                       string
	Good, Bad                                      bool
	Causes, Rails                                  []shareLine
}

// leastPart is the least part of a variance that is shown.
const leastPart = 0.005

type shareLine struct{ Name, Part string }

// aimsOf sets out the targets of a plan; was is the plan as it is kept, to compare
// with; may be nil.
func aimsOf(id int64, x *foreseen, was *plan.Plan) aimsView {
	v := aimsView{Study: id, Wrong: x.wrong, Wait: len(x.faults) > 0}
	if x.plan == nil {
		return v
	}
	v.Level = tally.Percent(x.study.Level)
	for i, c := range x.plan.Counsels {
		l := aimLine{Name: c.Target.Name(), Aim: c.Target.LimitText(c.Figure.Estimate), Sentence: c.Sentence(), From: c.Target.From, Verdict: c.Verdict()}
		l.Good, l.Bad = c.Reached() && c.Limit > 0, !c.Reached()
		if c.Possible() {
			l.Expected = figureText(c.Figure, quantity.Watt)
			if len(c.Causes) > 0 {
				l.Limit = c.Causes[0].Name
			}
		}
		if was != nil && i < len(was.Counsels) && was.Counsels[i].Possible() {
			if text := figureText(was.Counsels[i].Figure, quantity.Watt); text != l.Expected {
				l.Was = text
			}
		}
		for _, k := range c.Causes {
			if k.Fraction < leastPart {
				break
			}
			l.Causes = append(l.Causes, shareLine{k.Name, quantity.FormatPercent(k.Fraction, 2)})
		}
		for _, k := range c.Rails {
			if k.Fraction < leastPart {
				break
			}
			l.Rails = append(l.Rails, shareLine{k.Board + " " + k.Rail, quantity.FormatPercent(k.Fraction, 2)})
		}
		v.Lines = append(v.Lines, l)
	}
	return v
}
