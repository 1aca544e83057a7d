package cooling

import (
	"fmt"
	"math"

	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
)

// fanAnswer tells what moving air would buy.
func (c *Cooling) fanAnswer(b *Board, trouble *Prediction) (*Answer, error) {
	if b.Model == nil || b.Model.Ladder.Sink == nil {
		if trouble == nil || trouble.Probability >= c.Level {
			return nil, nil
		}
		return &Answer{Question: "fan", Verdict: Open, Probability: math.NaN(),
			Text: "What a fan would buy needs the sink's description. Between open fins 0.25 m/s take about 30 % off the rise and 1 m/s 58 %, if it truly flows through them (own computation for one sink)."}, nil
	}
	at := func(speed float64) (*Trial, error) { return c.Try(b, Change{Speed: &speed}) }
	half, err := at(0.5)
	if err != nil {
		return nil, err
	}
	a := &Answer{Question: "fan", Verdict: Yes, Probability: math.NaN(), Rests: c.modelRests(b)}
	a.Text = fmt.Sprintf("Air of 0.5 m/s %s would bring the %s to %s.", through(b.Model.Ladder.Sink), half.Points[0].Point.Name, written(half.Points[0].Temperature, quantity.Celsius))
	if trouble == nil || trouble.Probability >= c.Level {
		a.Text += " It is not needed for the limits stated."
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
		a.Text += fmt.Sprintf(" Even %g m/s do not keep the limit with a probability of %.0f %%.", most, 100*c.Level)
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
	a.Text += fmt.Sprintf(" %.2g m/s %s keep the limit; without a shroud a fan must blow one and a half to three times that, as air goes round the sink (common practice, no source).", hi, through(b.Model.Ladder.Sink))
	return a, failure
}

// through is where a sink's air goes.
func through(s *heat.Sink) string {
	if s.Kind == heat.Plate {
		return "along the plate"
	}
	return "between the fins"
}

// modelRests says what a trial of another sink stands on.
func (c *Cooling) modelRests(b *Board) string {
	m := b.Model
	if !m.Calibrated {
		return "the sink's description alone, ±20 % of the rise"
	}
	return fmt.Sprintf("the sink's description, set by the %s as measured (%s times the heat that the formulas give), ±10 %% for each factor of two in the rise",
		m.At.Name, quantity.FormatU(m.Factor.Estimate, m.Factor.Expanded, quantity.None))
}

// TrialSentences say what a trial comes to, one for each temperature.
func (c *Cooling) TrialSentences(b *Board, t *Trial) []string {
	var out []string
	if s := t.Sink; s != nil && s.Kind == heat.PlateFins && b.Model.Ladder.Sink != nil && s.Fins > b.Model.Ladder.Sink.Fins && t.Ratio > 1.005 {
		out = append(out, fmt.Sprintf("More fins make it hotter here: gaps of %.2g mm choke the rising air. The rise grows by %.0f %%.", 1000*t.Gap, 100*(t.Ratio-1)))
	}
	for _, p := range t.Points {
		s := upper(c.Conditions(b, p)) + " the " + p.Point.Name + " would reach " + written(p.Temperature, quantity.Celsius)
		if p.Limited {
			s += ", " + Margin(p)
		}
		out = append(out, s+".")
	}
	return out
}
