package report

import (
	"errors"
	"fmt"

	"railtally/internal/chart"
	"railtally/internal/cooling"
	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// pageMapCells is how many powers and rooms a map on the page has.
const pageMapCells = 48

// coolingView is how one board's chip is cooled, and what it could stand.
type coolingView struct {
	ID, Name          string
	Answers           []coolingAnswer
	Ladder, Rise, Map *picture
	MapOf             string
	Settling          []coolingSettling
	Rows              []coolingRow
	Laws              []string
	Cautions          []string
	Findings          []string
	Trouble           string // why nothing is predicted
}

// coolingAnswer is one question answered.
type coolingAnswer struct {
	Title, Text, Rests string
	Verdict            *verdict
}

// coolingSettling is a series of readings and what it tends to.
type coolingSettling struct {
	Title   string
	Picture *picture
	Says    string
}

// coolingRow is one temperature that was read.
type coolingRow struct{ State, Point, Temperature, Rise, Power, Theta, Note, Sitting string }

// coolingTitle is an answer's question as it is asked.
func (t tongue) coolingTitle(question string) string {
	switch question {
	case "passive":
		return t.say("Without a fan?")
	case "how far":
		return t.say("How far could it go?")
	case "board alone":
		return t.say("On the board alone?")
	case "sink":
		return t.say("Which sink?")
	case "fan":
		return t.say("What would moving air buy?")
	}
	return question
}

// coolings works out the cooling of every board that has temperatures.
func (a *assembler) coolings() ([]*coolingView, error) {
	c, err := cooling.Run(a.t, cooling.Options{})
	var cannot heat.Problems
	if errors.As(err, &cannot) {
		return []*coolingView{{ID: a.anchors.part("cooling", "trouble"), Trouble: a.say("The cooling cannot be worked out: %s.", cannot.Error())}}, nil
	}
	if err != nil {
		return nil, err
	}
	var out []*coolingView
	for _, b := range c.Boards {
		if len(b.Points) == 0 {
			continue
		}
		v, err := a.coolingOf(c, b)
		if err != nil {
			return nil, fmt.Errorf("cooling of %s: %w", b.Name, err)
		}
		out = append(out, v)
	}
	return out, nil
}

func (a *assembler) coolingOf(c *cooling.Cooling, b *cooling.Board) (*coolingView, error) {
	v := &coolingView{ID: a.anchors.part("cooling", b.Name), Name: b.Name}
	answers, err := c.Answers(b)
	if err != nil {
		return nil, err
	}
	for _, x := range answers {
		w := coolingAnswer{Title: a.coolingTitle(x.Question), Text: a.tell(x.Text), Rests: a.tell(x.Rests)}
		if x.Question == "passive" || x.Question == "board alone" {
			w.Verdict = a.coolingVerdict(x.Verdict)
		}
		v.Answers = append(v.Answers, w)
	}
	if a.opt.Length == Short { // the answers, and what must not be left unsaid
		return v, a.coolingCautions(v, c, b)
	}
	if err := a.coolingPictures(v, c, b); err != nil {
		return nil, err
	}
	for _, p := range b.Points {
		if l := p.Law; l != nil && len(p.Readings) > 0 {
			v.Laws = append(v.Laws, a.say("The %s stands %s over the room at %s, and that rise goes with power to the %s, from %s at %.3g to %.3g W; %.0f %% of the exponent is known beforehand.",
				p.Name, a.stated(l.Rise, quantity.Kelvin), a.amount(l.P0, quantity.Watt, 3), a.stated(l.Exponent, quantity.None), phrase.Count(l.N0, "one reading", "%s readings"), l.PMin, l.PMax, 100*l.Beforehand))
		}
		for i, r := range p.Readings {
			v.Rows = append(v.Rows, coolingRow{r.On.State, p.Name, a.exact(r.Temperature, quantity.Celsius), a.exact(r.Rise, quantity.Kelvin), a.exact(r.Power, quantity.Watt),
				a.exact(r.Resistance, quantity.KelvinPerWatt), a.settled(r), r.Sitting.Name})
			if len(r.Seconds) == 0 {
				continue
			}
			s := coolingSettling{Title: a.say("%s in %s: was it settled?", p.Name, r.On.State), Says: a.settles(r)}
			if s.Picture, err = a.draw(a.anchors.part("settling chart", b.Name, p.Name, fmt.Sprint(i+1)), func(o chart.Options) (*chart.Drawing, error) { return chart.Settle(r, c.Level, o) }); err != nil {
				return nil, err
			}
			v.Settling = append(v.Settling, s)
		}
	}
	for _, f := range b.Findings {
		v.Findings = append(v.Findings, a.tell(f.Text)+" "+a.tell(f.Do))
	}
	return v, a.coolingCautions(v, c, b)
}

func (a *assembler) coolingCautions(v *coolingView, c *cooling.Cooling, b *cooling.Board) error {
	cautions, err := c.Cautions(b)
	for _, s := range cautions {
		v.Cautions = append(v.Cautions, a.tell(s))
	}
	return err
}

func (a *assembler) coolingPictures(v *coolingView, c *cooling.Cooling, b *cooling.Board) error {
	h, err := c.Path(b)
	if err != nil {
		return err
	}
	if h != nil {
		if v.Ladder, err = a.draw(a.anchors.part("heat chart", b.Name), func(o chart.Options) (*chart.Drawing, error) { return chart.Ladder(h, c.Level, o) }); err != nil {
			return err
		}
	}
	if v.Rise, err = a.draw(a.anchors.part("rise chart", b.Name), func(o chart.Options) (*chart.Drawing, error) { return chart.Rise(c, b, o) }); err != nil {
		return err
	}
	if p := c.Deciding(b); p != nil {
		v.MapOf = p.Name
		m := c.MapOf(b, p, pageMapCells)
		v.Map, err = a.draw(a.anchors.part("map chart", b.Name), func(o chart.Options) (*chart.Drawing, error) { return chart.ThermalMap(m, o) })
	}
	return err
}

// coolingVerdict is a verdict with the mark that the page's others have.
func (t tongue) coolingVerdict(v cooling.Verdict) *verdict {
	switch v {
	case cooling.Yes:
		return &verdict{Text: t.say("yes"), Kind: "resolved"}
	case cooling.No:
		return &verdict{Text: t.say("no"), Kind: "refuted"}
	}
	return &verdict{Text: t.say("cannot be said yet"), Kind: "open"}
}

// exact states a figure, also one that has no interval.
func (t tongue) exact(f tally.Figure, u quantity.Unit) string {
	if f.Expanded == 0 {
		return t.amount(f.Estimate, u, 3)
	}
	return t.stated(f, u)
}

// settled says in a word whether a reading had settled.
func (t tongue) settled(r *cooling.Reading) string {
	switch {
	case r.Unsettled != nil:
		return t.say("not settled: takes no part")
	case r.Settling != nil && !r.Settling.Settled:
		return t.say("extrapolated by %.1f K", r.Settling.Remaining)
	case r.Settling != nil:
		return t.say("settled")
	}
	return ""
}

// settles says what a series tends to.
func (t tongue) settles(r *cooling.Reading) string {
	if r.Unsettled != nil {
		return t.say("Nothing is claimed: %s.", r.Unsettled.Error())
	}
	x := r.Settling
	return t.say("It ends at %s; %.0f %% of the change was seen in %.0f min.", t.stated(r.Temperature, quantity.Celsius), 100*min(1, x.Seen), x.Minutes)
}
