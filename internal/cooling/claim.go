package cooling

import (
	"errors"

	"railtally/gum"
	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Claimed is what [tally.Options] asks about a claim of a temperature: one that is
// predicted, or one that was read in a state, where a series of readings counts as
// what it tends to and not as their mean. Its answer is nil where the tally's own
// reading says all.
func Claimed(t *tally.Tally, c *study.Claim) (*tally.TemperatureClaim, error) {
	board, opt := c.First.Board, Options{}
	if c.Kind == study.ClaimPredicted {
		board = c.Predicted.Board
		opt = Options{Power: c.Predicted.Power, Room: c.Predicted.Room, Altitude: c.Predicted.Altitude}
	}
	if opt.Board = board; t.Study.Board(board) == nil {
		return nil, nil // the study's own check names it
	}
	x, err := Run(t, opt)
	var list heat.Problems
	switch {
	case errors.As(err, &list):
		return &tally.TemperatureClaim{Why: phrase.New("It cannot be predicted: %s.", list.Error())}, nil
	case err != nil:
		return nil, err
	case c.Kind == study.ClaimTemperature:
		return x.claimedReading(c)
	}
	return x.claimedPrediction(c)
}

func (c *Cooling) claimedPrediction(cl *study.Claim) (*tally.TemperatureClaim, error) {
	out := &tally.TemperatureClaim{Remedies: remedies()}
	var b *Board
	if len(c.Boards) > 0 {
		b = c.Boards[0]
	}
	var p *Point
	if b != nil {
		if p = b.Named(cl.Point); p == nil && cl.Point == string(study.JunctionPoint) {
			p = b.Kind(study.JunctionPoint)
		}
	}
	switch {
	case p == nil || p.Line == nil:
		out.Why = phrase.New("No temperature called %s was read on %s beside a known power and room.", cl.Point, cl.Predicted.Board)
		out.Advice = []phrase.Phrase{phrase.New("Read it beside all rails, in several states of different power, when it has settled.")}
		if cl.Point == string(study.JunctionPoint) {
			out.Advice = append(out.Advice, phrase.New("For the junction give junction above case from the data sheet."))
		}
		return out, nil
	case !b.Ask.Known():
		out.Why = phrase.New("Nothing says for which power and room it is predicted.")
		return out, nil
	}
	pr, err := c.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
	if err != nil {
		return nil, err
	}
	out.Figure = pr.Temperature
	power := phrase.New("power %s", phrase.Number(written(pr.Power, quantity.Watt)))
	if b.Ask.FromState != "" {
		power = phrase.New("power %s, the total of %s", phrase.Number(written(pr.Power, quantity.Watt)), b.Ask.FromState)
	}
	out.Rests = []phrase.Phrase{rests(p), power, phrase.New("room %s", phrase.Number(written(pr.Room, quantity.Celsius)))}
	out.Cautions = []phrase.Phrase{phrase.New("This is predicted for the cooling that was measured; other parts that warm the same air count only as far as they did then.")}
	if b.How.Air == study.Fan {
		out.Cautions = append(out.Cautions, phrase.New("It was read with a fan running, and holds with that fan."))
	}
	if pr.Beyond {
		out.Cautions = append(out.Cautions, phrase.New("That power lies outside the %.2g to %.2g W that were measured.", p.Line.PMin, p.Line.PMax))
	}
	return out, nil
}

// claimedReading is the mean of what a point settled at in a state, over the
// sittings; nil where a reading was not taken up here.
func (c *Cooling) claimedReading(cl *study.Claim) (*tally.TemperatureClaim, error) {
	if len(c.Boards) == 0 {
		return nil, nil
	}
	p := c.Boards[0].Named(cl.Point)
	if p == nil {
		return nil, nil
	}
	var vs []gum.Value
	series := false
	out := &tally.TemperatureClaim{Remedies: remedies()}
	for _, r := range p.Readings {
		if r.On != cl.First {
			continue
		}
		if r.Unsettled != nil {
			out.Why = phrase.New("Where %s settles in %s cannot be said: %v.", cl.Point, cl.First, r.Unsettled)
			out.Advice = []phrase.Phrase{phrase.New("Read on until it has settled.")}
			return out, nil
		}
		series = series || r.Settling != nil
		vs = append(vs, r.Temperature.Value)
		text := phrase.New("%s temperature in %s, %s", cl.Point, cl.First, r.Sitting.Name)
		if s := r.Settling; s != nil {
			text = phrase.New("%s, where %d readings over %.0f min tend to", text, s.N, s.Minutes)
		}
		out.Rests = append(out.Rests, text)
	}
	infrared := false
	for _, x := range c.Boards[0].How.Infrared {
		infrared = infrared || x.Name == cl.Point
	}
	if len(vs) == 0 || !series && !infrared {
		return nil, nil
	}
	var err error
	if out.Figure, err = figure(c.Tally.Graph, gum.Mean(vs...), c.Level); err != nil {
		return nil, err
	}
	out.Cautions = []phrase.Phrase{phrase.New("This is the temperature in the room as it was; a warmer room or a closed case adds to it.")}
	return out, nil
}

// remedies are what lessens the causes of uncertainty that temperatures add.
func remedies() map[string]phrase.Phrase {
	return map[string]phrase.Phrase{
		CauseThermometer: phrase.New("calibrate the thermometer against a better one, or use the better one"), CauseRoom: phrase.New("read the air that the sink draws with a better thermometer"),
		CauseEmissivity: phrase.New("put a dot of paint or tape of known emissivity on it"), CausePlacing: phrase.New("read it in more states, the probe left where it is"),
		CauseExponent: phrase.New("read it at powers further apart"), CauseModel: phrase.New("measure in such a room, at such an altitude, or with such a cooling"),
		CauseSettling: phrase.New("read on until it has settled"), CauseAsked: phrase.New("state more closely what it must stand"),
		sensing.CauseResolution: phrase.New("a thermometer with a finer display"), sensing.CauseBand: phrase.New("write down ten single readings instead of a band"),
	}
}
