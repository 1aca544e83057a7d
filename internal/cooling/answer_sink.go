package cooling

import (
	"math"

	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
)

// boardAlone answers whether the board would do without a sink.
func (c *Cooling) boardAlone(b *Board, _ *Prediction) (*Answer, error) {
	a := &Answer{Question: "board alone", Verdict: Open, Probability: math.NaN()}
	if b.How.Under == nil {
		a.Text = phrase.New("Whether the board alone would do cannot be computed, as it is not described (width, height, planes). In the trade one to two watts are left to a two-layer board and three to five to one with planes and air on both sides (common practice, no source).")
		return a, nil
	}
	if b.Model == nil {
		return nil, nil // its reason is told beside the sink
	}
	t, err := c.Try(b, Change{NoSink: true})
	if err != nil {
		return nil, err
	}
	w := worst(t.Points)
	if w == nil {
		if len(t.Points) > 0 {
			a.Text = phrase.New("On the board alone, without a sink, the %s would reach %s.", t.Points[0].Point.Name, said(t.Points[0].Temperature, quantity.Celsius))
		}
		return a, nil
	}
	a.Probability, a.Verdict = w.Probability, Judge(w.Probability, c.Level)
	say := map[Verdict]phrase.Phrase{Yes: phrase.New("The board alone is enough"), No: phrase.New("The board alone is not enough"), Open: phrase.New("Whether the board alone is enough cannot be said")}[a.Verdict]
	a.Text = phrase.New("%s: without a sink the %s would reach %s, %s.", say, w.Point.Name, said(w.Temperature, quantity.Celsius), Margin(w))
	a.Rests = phrase.New("the board's description alone, ±20 %% of the rise; other parts that warm it are not counted")
	return a, nil
}

// sinkAnswer tells which sink keeps the limits: how many fins, how far apart,
// how tall.
func (c *Cooling) sinkAnswer(b *Board, trouble *Prediction) (*Answer, error) {
	if b.Model == nil || b.Model.Ladder.Sink == nil || b.Model.Ladder.Sink.Kind != heat.PlateFins {
		return c.areaAnswer(b, trouble), nil
	}
	now := *b.Model.Ladder.Sink
	best, ratio, err := c.bestFins(b, now)
	if err != nil {
		return nil, err
	}
	a := &Answer{Question: "sink", Verdict: Open, Probability: math.NaN()}
	if best.Fins == now.Fins {
		a.Text = phrase.New("Its %d fins, %.2g mm apart, are the right count for this size in still air.", now.Fins, 1000*now.Gap())
	} else {
		why := phrase.New("fewer fins, as closer ones choke the rising air")
		if best.Fins > now.Fins {
			why = phrase.New("more fins, as there is room for them")
		}
		a.Text = phrase.New("In still air %d fins %.2g mm apart would serve best on this base (it has %d, %.2g mm apart): %s. The rise would fall by %.0f %%.",
			best.Fins, 1000*best.Gap(), now.Fins, 1000*now.Gap(), why, 100*(1-ratio))
	}
	if trouble == nil {
		return a, nil
	}
	tall, t, err := c.heightFor(b, best)
	if err != nil {
		return nil, err
	}
	a.Rests = c.modelRests(b)
	switch {
	case t == nil:
		a.Verdict = No
		a.Text = a.Text.Then(phrase.New("No fins up to %.0f mm tall keep the limit on this base: it takes a wider base, or moving air.", 1000*tallest(now)))
	default:
		a.Verdict, a.Probability = Yes, worst(t.Points).Probability
		w := worst(t.Points)
		a.Text = a.Text.Then(phrase.New("Fins %.0f mm tall (now %.0f mm), %.0f %% of the present fin area, keep the limit with a probability of %s: the %s then reaches %s.",
			1000*tall.Height, 1000*now.Height, 100*tall.FinArea()/now.FinArea(), Percent(w.Probability), w.Point.Name, said(w.Temperature, quantity.Celsius)))
	}
	return a, nil
}

// bestFins sweeps the count of fins on a base by the model's estimate.
func (c *Cooling) bestFins(b *Board, s heat.Sink) (heat.Sink, float64, error) {
	m := b.Model
	x := make([]float64, 0, 6)
	for _, v := range c.arguments(b, m) {
		x = append(x, v.Estimate())
	}
	x[argSpeed] = 0
	rise := func(s heat.Sink) (float64, error) {
		l, err := m.Ladder.Changed(heat.Path{Sink: &s, Interface: m.Ladder.Interface, Board: m.Ladder.Board})
		if err != nil {
			return 0, err
		}
		l, in := m.with(l, x, b.Ask.Pressure)
		r, err := l.At(x[argPower], in)
		return r.Base - r.Air, err
	}
	was, err := rise(s)
	if err != nil {
		return s, 1, err
	}
	best, least := s, was
	for n := 2; n <= 200; n++ {
		try := s
		try.Fins = n
		if try.Check() != nil {
			break
		}
		r, err := rise(try)
		if err != nil {
			return s, 1, err
		}
		if r < least {
			best, least = try, r
		}
	}
	return best, least / was, nil
}

// tallest is how tall fins are looked for: as tall as the base is long, or
// three times as tall as they are.
func tallest(s heat.Sink) float64 { return math.Min(0.2, math.Max(3*s.Height, s.Length)) }

// heightFor finds the lowest fins, in whole millimetres, that keep every limit
// with the level's probability; the trial is nil where none do.
func (c *Cooling) heightFor(b *Board, s heat.Sink) (heat.Sink, *Trial, error) {
	var kept *Trial
	var failure error
	ok := func(mm int) bool {
		try := s
		try.Height = float64(mm) / 1000
		t, err := c.Try(b, Change{Sink: &try, Speed: new(float64)})
		if err != nil {
			failure = err
			return false
		}
		if w := worst(t.Points); w == nil || w.Probability < c.Level {
			return false
		}
		kept = t
		s.Height = try.Height
		return true
	}
	lo, hi := 1, int(1000*tallest(s))
	if !ok(hi) {
		return s, nil, failure
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; ok(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return s, kept, failure
}

// areaAnswer says how much larger a sink must be of which no shape is known:
// from own computations of plate fins, whose rise goes with fin area to the
// power −0.5 to −0.65 (twice the area: 32 to 35 % less, half as much again: 20
// to 22 %).
func (c *Cooling) areaAnswer(b *Board, trouble *Prediction) *Answer {
	a := &Answer{Question: "sink", Verdict: Open, Probability: math.NaN()}
	if b.NoModel != nil {
		a.Text = phrase.New("Another sink cannot be computed: %s.", b.NoModel.Error())
	}
	if trouble == nil || trouble.Probability >= c.Level || trouble.Point.Line == nil {
		if a.Text.IsZero() {
			return nil
		}
		return a
	}
	room := trouble.Room.Estimate
	k := student(trouble.Temperature.DOF).Quantile(c.Level)
	allowed := trouble.Limit - k*trouble.Temperature.U - room
	rise := trouble.Temperature.Estimate - room
	if allowed <= 0.1*rise {
		a.Verdict, a.Text = No, a.Text.Then(phrase.New("No sink keeps that limit in such warm air: it is hardly below the limit itself."))
		return a
	}
	lo, hi := math.Pow(rise/allowed, 1/0.65), math.Pow(rise/allowed, 1/0.5)
	times := phrase.New("%.2f to %.2f", lo, hi)
	if hi-lo < 0.01 {
		times = phrase.New("%.2f", hi)
	}
	a.Text = a.Text.Then(phrase.New("To be sure of the limit the rise must fall by %.0f %%. A sink of the same kind would need %s times the fin area (by a rule for plate fins of good spacing, own computation).", 100*(1-allowed/rise), times))
	if hi > 2.2 {
		a.Text = a.Text.Then(phrase.New("That is beyond twice the area, where the rule was tried: take it as a hint that moving air is the easier way."))
	}
	a.Rests = rests(trouble.Point)
	return a
}
