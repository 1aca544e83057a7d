package cooling

import (
	"errors"
	"math"

	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Verdict is what may be said to a question of yes or no.
type Verdict string

// The words for a question, and only these.
const (
	Yes  Verdict = "yes"  // with the tally's level as probability, or more
	No   Verdict = "no"   // its contrary likewise
	Open Verdict = "open" // neither can be said
)

// Judge gives the verdict that goes with a probability.
func Judge(probability, level float64) Verdict {
	switch {
	case probability >= level:
		return Yes
	case probability <= 1-level:
		return No
	}
	return Open
}

// Answer is one question answered in a few sentences.
type Answer struct {
	Question    string // stable word: "passive", "board alone", "sink", "fan"
	Verdict     Verdict
	Text        phrase.Phrase
	Probability float64       // NaN where none was worked out
	Rests       phrase.Phrase // what the answer rests on
}

// Answers says in sentences what a board's cooling comes to.
func (c *Cooling) Answers(b *Board) ([]Answer, error) {
	if !b.Ask.Known() {
		return nil, nil
	}
	passive, trouble, err := c.passive(b)
	if err != nil {
		return nil, err
	}
	out := []Answer{passive}
	if more, err := c.limitsAnswer(b); err != nil {
		return nil, err
	} else if more != nil {
		out = append(out, *more)
	}
	for _, f := range []func(*Board, *Prediction) (*Answer, error){c.boardAlone, c.sinkAnswer, c.fanAnswer} {
		a, err := f(b, trouble)
		if errors.Is(err, heat.ErrNoBalance) {
			continue // that hot nothing is computed; the law still speaks
		}
		if err != nil {
			return nil, err
		}
		if a != nil {
			out = append(out, *a)
		}
	}
	return out, nil
}

// worst is the limited prediction that is least likely to be kept.
func worst(list []*Prediction) *Prediction {
	var w *Prediction
	for _, p := range list {
		if p.Limited && (w == nil || p.Probability < w.Probability) {
			w = p
		}
	}
	return w
}

// Worst is the prediction to speak of first: the limited one that is least likely
// to be kept, else the first; nil of none.
func Worst(list []*Prediction) *Prediction {
	if w := worst(list); w != nil || len(list) == 0 {
		return w
	}
	return list[0]
}

// passive answers whether the cooling as it is, without a fan, keeps the limits.
func (c *Cooling) passive(b *Board) (Answer, *Prediction, error) {
	a := Answer{Question: "passive", Verdict: Open, Probability: math.NaN()}
	var list []*Prediction
	var doubts phrase.Phrase
	if b.How.Air == study.Fan {
		still := 0.0
		t, err := c.Try(b, Change{Speed: &still})
		if err != nil {
			a.Text = phrase.New("Whether %s needs its fan cannot be said: the temperatures were read with it running, and %s.", b.Name, err.Error())
			return a, nil, nil
		}
		list, doubts = t.Points, phrase.New("The fan was running when temperatures were read, so still air is the model's word.")
	} else {
		for _, p := range b.Points {
			if p.Line == nil {
				continue
			}
			pr, err := c.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
			if err != nil {
				return a, nil, err
			}
			list = append(list, pr)
		}
		if len(list) == 0 && b.Model != nil {
			t, err := c.Try(b, Change{})
			if err != nil {
				return a, nil, err
			}
			list, doubts = t.Points, phrase.New("No temperature was measured; this is the model alone, ±20 %% of the rise at best.")
		}
	}
	w := worst(list)
	switch {
	case len(list) == 0:
		a.Text = phrase.New("Whether %s needs a fan cannot be said: no temperature was read beside a known power.", b.Name)
		return a, nil, nil
	case w == nil:
		var at []phrase.Phrase
		for _, p := range list {
			at = append(at, phrase.New("the %s reaches %s", p.Point.Name, said(p.Temperature, quantity.Celsius)))
		}
		a.Text = phrase.New("%s on %s %s, %s. No limit is stated, so nothing is judged: give one from the data sheet.", c.chip(b), b.Name, c.Conditions(b, list[0]), at)
		a.Rests = rests(list[0].Point)
		return a, nil, nil
	}
	a.Probability, a.Verdict = w.Probability, Judge(w.Probability, c.Level)
	switch a.Verdict {
	case Yes:
		a.Text = phrase.New("%s: no fan is needed.", b.Name)
	case No:
		a.Text = phrase.New("%s: this cooling is not enough without a fan.", b.Name)
	default:
		a.Text = phrase.New("%s: whether a fan is needed cannot be said yet.", b.Name)
	}
	a.Text = a.Text.Then(phrase.New("%s the %s reaches %s, %s.", c.Conditions(b, w).Capital(), w.Point.Name, said(w.Temperature, quantity.Celsius), Margin(w))).Then(doubts)
	if a.Verdict == Open {
		a.Text = a.Text.Then(c.openAdvice(b, w))
	}
	if w.Beyond {
		a.Text = a.Text.Then(phrase.New("That power lies outside the %.2g to %.2g W that were measured.", w.Point.Line.PMin, w.Point.Line.PMax))
	}
	a.Rests = rests(w.Point)
	if b.How.LimitsFrom != "" {
		a.Rests = phrase.New("%s; limit from %s", a.Rests, b.How.LimitsFrom)
	}
	return a, w, nil
}

// Margin says how far from its limit a prediction is, and how surely.
func Margin(p *Prediction) phrase.Phrase {
	limit := phrase.Number(quantity.Format(p.Limit, quantity.Celsius, 3))
	if p.Margin < 0 {
		return phrase.New("%.1f K over its limit of %s, which is kept with a probability of %s", -p.Margin, limit, Percent(p.Probability))
	}
	return phrase.New("%.1f K under its limit of %s, which is kept with a probability of %s", p.Margin, limit, Percent(p.Probability))
}

// Percent prints a probability so that it never claims certainty.
func Percent(p float64) phrase.Phrase {
	switch {
	case p > 0.999:
		return phrase.New("more than %s", phrase.Number("99.9 %"))
	case p < 0.001:
		return phrase.New("less than %s", phrase.Number("0.1 %"))
	case p > 0.99 || p < 0.01:
		return phrase.New("%.1f %%", 100*p)
	}
	return phrase.New("%.0f %%", 100*p)
}

// Conditions says for what a prediction holds.
func (c *Cooling) Conditions(b *Board, p *Prediction) phrase.Phrase {
	s := phrase.New("at %s in air of %s", said(p.Power, quantity.Watt), said(p.Room, quantity.Celsius))
	if b.Ask.Altitude != 0 {
		s = phrase.New("%s, %s above the sea,", s, phrase.Number(quantity.Format(b.Ask.Altitude, quantity.Metre, 3)))
	}
	if b.Ask.FromState != "" {
		s = phrase.New("%s (%s)", s, b.Ask.FromState)
	}
	return s
}

// openAdvice tells what limits an answer that could not be given.
func (c *Cooling) openAdvice(b *Board, p *Prediction) phrase.Phrase {
	shares, err := c.Tally.Graph.BudgetBy(p.Temperature.Value, "cause")
	if err != nil || len(shares) == 0 {
		return phrase.Phrase{}
	}
	return phrase.New("Most of the doubt (%.0f %% of the variance) is in the %s.", 100*shares[0].Fraction, phrase.Word(shares[0].Name))
}

// limitsAnswer tells the largest power and the warmest room that keep the limits.
func (c *Cooling) limitsAnswer(b *Board) (*Answer, error) {
	power, room := math.Inf(1), math.Inf(1)
	var byPower, byRoom *Point
	for _, p := range b.Points {
		if p.Line == nil || p.Limit == nil {
			continue
		}
		l := p.Limit.Max.Value()
		if x := p.Line.PowerFor(l, b.Ask.Room.Estimate(), b.Ask.Pressure, c.Level); x < power {
			power, byPower = x, p
		}
		if x := p.Line.RoomFor(l, b.Ask.Power.Estimate(), b.Ask.Pressure, c.Level); !(x >= room) {
			room, byRoom = x, p
		}
	}
	if byPower == nil || byRoom == nil {
		return nil, nil
	}
	a := &Answer{Question: "how far", Verdict: Yes, Probability: c.Level, Rests: rests(byPower)}
	how := phrase.New("As it is cooled")
	if b.How.Air == study.Fan {
		how = phrase.New("With the fan running as it did")
	}
	p := phrase.Number(tally.Percent(c.Level))
	inRoom := phrase.Number(celsius(b.Ask.Room.Estimate()))
	if power <= 0 {
		a.Verdict = No
		a.Text = phrase.New("%s, no power at all keeps the %s in air of %s under its limit with %s probability.", how, byPower.Name, inRoom, p)
		return a, nil
	}
	a.Text = phrase.New("%s, %s may draw up to %s in air of %s (the %s decides; %s probability).", how, b.Name, phrase.Number(quantity.Format(power, quantity.Watt, 3)), inRoom, byPower.Name, p)
	if !math.IsNaN(room) {
		a.Text = a.Text.Then(phrase.New("At %s the air may be as warm as %s.", phrase.Number(quantity.Format(b.Ask.Power.Estimate(), quantity.Watt, 3)), phrase.Number(celsius(room))))
	}
	if power > 2*byPower.Line.PMax {
		a.Text = a.Text.Then(phrase.New("That is more than twice the power measured, and so a guess."))
	}
	return a, nil
}

// rests says what a point's prediction stands on.
func rests(p *Point) phrase.Phrase {
	l := p.Law
	if l == nil {
		return phrase.New("the sink's description alone")
	}
	read := phrase.New("%d readings of %s at %.3g to %.3g W", l.N0, l.Of, l.PMin, l.PMax)
	if l.N0 == 1 || l.PMin == l.PMax {
		read = phrase.Count(l.N0, "one reading of %s at %.3g W", "%s readings of %s at %.3g W", l.Of, l.PMin)
	}
	exponent := phrase.Number(quantity.FormatU(l.Exponent.Estimate, l.Exponent.Expanded, quantity.None))
	fit := phrase.New("%s, rising as power to the %s (fitted)", read, exponent)
	switch {
	case l.Beforehand > 0.99:
		fit = phrase.New("%s, rising as power to the %s (known beforehand, not fitted)", read, exponent)
	case l.Beforehand > 0.05:
		fit = phrase.New("%s, rising as power to the %s (fitted; %.0f %% of it known beforehand)", read, exponent, 100*l.Beforehand)
	}
	if l.Of != p.Name {
		return phrase.New("%s; what the data sheet says of the %s above the %s", fit, p.Name, l.Of)
	}
	return fit
}

func (c *Cooling) chip(b *Board) phrase.Phrase {
	if b.Chip != "" {
		return phrase.New("The %s", b.Chip)
	}
	return phrase.New("The chip")
}

// said is a figure for a sentence.
func said(f tally.Figure, u quantity.Unit) phrase.Number { return phrase.Number(written(f, u)) }

// written is a figure as it is said.
func written(f tally.Figure, u quantity.Unit) string {
	if f.Expanded == 0 {
		return quantity.Format(f.Estimate, u, 3)
	}
	return quantity.FormatU(f.Estimate, f.Expanded, u)
}
