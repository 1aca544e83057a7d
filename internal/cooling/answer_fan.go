package cooling

import (
	"math"

	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
)

// fanAnswer tells what moving air would buy.
func (c *Cooling) fanAnswer(b *Board, trouble *Prediction) (*Answer, error) {
	if b.Model == nil || b.Model.Ladder.Sink == nil {
		if trouble == nil || trouble.Probability >= c.Level {
			return nil, nil
		}
		return &Answer{Question: "fan", Verdict: Open, Probability: math.NaN(),
			Text: phrase.New("What a fan would buy needs the sink's description. Between open fins 0.25 m/s take about 30 %% off the rise and 1 m/s 58 %%, if it truly flows through them (own computation for one sink).")}, nil
	}
	at := func(speed float64) (*Trial, error) { return c.Try(b, Change{Speed: &speed}) }
	half, err := at(0.5)
	if err != nil {
		return nil, err
	}
	a := &Answer{Question: "fan", Verdict: Yes, Probability: math.NaN(), Rests: c.modelRests(b)}
	a.Text = phrase.New("Air of 0.5 m/s %s would bring the %s to %s.", through(b.Model.Ladder.Sink), half.Points[0].Point.Name, said(half.Points[0].Temperature, quantity.Celsius))
	if trouble == nil || trouble.Probability >= c.Level {
		a.Text = a.Text.Then(phrase.New("It is not needed for the limits stated."))
		return a, nil
	}
	var failure error
	ok := func(speed float64) bool {
		t, err := at(speed)
		if err != nil {
			failure = err
			return false
		}
		return worst(t.Points).Probability >= c.Level
	}
	const most = 5.0
	if !ok(most) {
		a.Verdict = No
		a.Text = a.Text.Then(phrase.New("Even %g m/s do not keep the limit with a probability of %.0f %%.", most, 100*c.Level))
		return a, failure
	}
	lo, hi := 0.0, most
	for hi-lo > 0.02*hi {
		if mid := (lo + hi) / 2; ok(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	a.Text = a.Text.Then(phrase.New("%.2g m/s %s keep the limit; without a shroud a fan must blow one and a half to three times that, as air goes round the sink (common practice, no source).", hi, through(b.Model.Ladder.Sink)))
	return a, failure
}

// through is where a sink's air goes.
func through(s *heat.Sink) phrase.Phrase {
	if s.Kind == heat.Plate {
		return phrase.New("along the plate")
	}
	return phrase.New("between the fins")
}

// modelRests says what a trial of another sink stands on.
func (c *Cooling) modelRests(b *Board) phrase.Phrase {
	m := b.Model
	if !m.Calibrated {
		return phrase.New("the sink's description alone, ±20 %% of the rise")
	}
	return phrase.New("the sink's description, set by the %s as measured (%s times the heat that the formulas give), ±10 %% for each factor of two in the rise",
		m.At.Name, phrase.Number(quantity.FormatU(m.Factor.Estimate, m.Factor.Expanded, quantity.None)))
}

// TrialSentences say what a trial comes to, one for each temperature.
func (c *Cooling) TrialSentences(b *Board, t *Trial) []phrase.Phrase {
	var out []phrase.Phrase
	if s := t.Sink; s != nil && s.Kind == heat.PlateFins && b.Model.Ladder.Sink != nil && s.Fins > b.Model.Ladder.Sink.Fins && t.Ratio > 1.005 {
		out = append(out, phrase.New("More fins make it hotter here: gaps of %.2g mm choke the rising air. The rise grows by %.0f %%.", 1000*t.Gap, 100*(t.Ratio-1)))
	}
	for _, p := range t.Points {
		s := phrase.New("%s the %s would reach %s", c.Conditions(b, p).Capital(), p.Point.Name, said(p.Temperature, quantity.Celsius))
		if p.Limited {
			s = phrase.New("%s, %s", s, Margin(p))
		}
		out = append(out, phrase.New("%s.", s))
	}
	return out
}
