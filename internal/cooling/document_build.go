package cooling

import (
	"math"

	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
	"railtally/internal/sensing"
	"railtally/internal/tally"
)

// Document gives the JSON form. trials are changes that were tried, by board.
func (c *Cooling) Document(trials map[string]*Trial) (*Document, error) {
	out := &Document{Format: DocumentFormat, Study: c.Tally.Study.Question, Level: c.Level, Boards: []DocBoard{}}
	for _, b := range c.Boards {
		d, err := c.docBoard(b, trials[b.Name])
		if err != nil {
			return nil, err
		}
		out.Boards = append(out.Boards, *d)
	}
	return out, nil
}

func docFigure(f tally.Figure) tally.DocFigure {
	out := tally.DocFigure{Value: f.Estimate, U: f.U, K: f.K, Expanded: f.Expanded, Low: f.Lo(), High: f.Hi()}
	if !math.IsInf(f.DOF, 0) && !math.IsNaN(f.DOF) {
		out.DOF = &f.DOF
	}
	return out
}

// number is a pointer to a number that there is.
func number(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func (c *Cooling) docBoard(b *Board, trial *Trial) (*DocBoard, error) {
	d := &DocBoard{Name: b.Name, Chip: b.Chip, Answers: []DocAnswer{}, Points: []DocPoint{}, Cautions: []string{}, Findings: []sensing.Finding{}}
	d.Findings = append(d.Findings, b.Findings...)
	if b.NoModel != nil {
		d.NoModel = b.NoModel.Error()
	}
	if b.Ask.Known() {
		power, err := figure(c.Tally.Graph, b.Ask.Power, c.Level)
		if err != nil {
			return nil, err
		}
		room, err := figure(c.Tally.Graph, b.Ask.Room, c.Level)
		if err != nil {
			return nil, err
		}
		d.Asked = &DocAsk{docFigure(power), b.Ask.FromState, docFigure(room), b.Ask.Altitude}
	}
	answers, err := c.Answers(b)
	if err != nil {
		return nil, err
	}
	for _, a := range answers {
		d.Answers = append(d.Answers, DocAnswer{a.Question, a.Verdict, number(a.Probability), a.Text.String(), a.Rests.String()})
	}
	for _, p := range b.Points {
		dp, err := c.docPoint(b, p)
		if err != nil {
			return nil, err
		}
		d.Points = append(d.Points, *dp)
	}
	if d.Path, err = c.docPath(b); err != nil {
		return nil, err
	}
	if m := b.Model; m != nil {
		d.Model = &DocModel{Calibrated: m.Calibrated, Sink: docSink(m.Ladder.Sink)}
		if m.Ladder.Sink != nil {
			f, i := docFigure(m.Factor), docFigure(m.Interface)
			d.Model.Factor, d.Model.Interface = &f, &i
		}
		if m.At != nil {
			d.Model.At = m.At.Name
		}
	}
	if trial != nil {
		d.Trial = docTrial(trial)
	}
	if d.Others, err = c.docCandidates(b); err != nil {
		return nil, err
	}
	cautions, err := c.Cautions(b)
	d.Cautions = append(d.Cautions, phrase.Strings(cautions)...)
	return d, err
}

func (c *Cooling) docPoint(b *Board, p *Point) (*DocPoint, error) {
	d := &DocPoint{Name: p.Name, Kind: string(p.Kind), Readings: []DocReading{}}
	if p.Limit != nil {
		d.Limit = number(p.Limit.Max.Value())
	}
	if l := p.Law; l != nil {
		d.Law = &DocLaw{P0: l.P0, Rise: docFigure(l.Rise), Exponent: docFigure(l.Exponent), Beforehand: l.Beforehand, Alone: number(l.Alone),
			UAlone: number(l.UAlone), Scatter: l.Scatter, ScatterAssessed: l.Assessed, Readings: l.N0, LowestPower: l.PMin, HighestPower: l.PMax}
	}
	if p.Line != nil && b.Ask.Known() {
		pr, err := c.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
		if err != nil {
			return nil, err
		}
		dp := docPrediction(pr)
		if pr.Limited {
			dp.MostPower = number(p.Line.PowerFor(pr.Limit, b.Ask.Room.Estimate(), b.Ask.Pressure, c.Level))
			dp.WarmestRoom = number(p.Line.RoomFor(pr.Limit, b.Ask.Power.Estimate(), b.Ask.Pressure, c.Level))
		}
		d.Prediction = &dp
	}
	for _, r := range p.Readings {
		dr := DocReading{State: r.On.State, Sitting: r.Sitting.Name, Power: docFigure(r.Power), Temperature: docFigure(r.Temperature),
			Rise: docFigure(r.Rise), Resistance: docFigure(r.Resistance)}
		if s := r.Settling; s != nil {
			dr.Settling = &DocSettling{s.N, s.Final, s.U, s.Remaining, s.Seen, s.Tau, s.Exponential, s.Settled, s.Warnings}
		}
		if r.Unsettled != nil {
			dr.Unsettled = r.Unsettled.Error()
		}
		d.Readings = append(d.Readings, dr)
	}
	return d, nil
}

func docPrediction(pr *Prediction) DocPrediction {
	d := DocPrediction{Temperature: docFigure(pr.Temperature), Beyond: pr.Beyond}
	if pr.Limited {
		d.Probability, d.Margin = number(pr.Probability), number(pr.Margin)
	}
	return d
}

func (c *Cooling) docPath(b *Board) (*DocPath, error) {
	h, err := c.Path(b)
	if h == nil || err != nil {
		return nil, err
	}
	d := &DocPath{Power: docFigure(h.Power), Up: number(h.Up), Radiated: number(h.Radiated), Down: number(h.Down)}
	for i, r := range h.Rungs {
		dr := DocRung{Name: r.Name, Temperature: docFigure(r.Temperature)}
		if r.Limited {
			dr.Limit = number(r.Limit)
		}
		if i > 0 {
			f := docFigure(h.Steps[i-1])
			dr.Step = &f
		}
		d.Rungs = append(d.Rungs, dr)
	}
	return d, nil
}

func docSink(s *heat.Sink) *DocSink {
	if s == nil {
		return nil
	}
	return &DocSink{string(s.Kind), s.Width, s.Length, s.Base, s.Fins, s.Height, s.Thickness, s.Gap(), string(s.Stand), s.Emissivity}
}

func (c *Cooling) docCandidates(b *Board) ([]DocCandidate, error) {
	list, err := c.Candidates(b)
	if err != nil {
		return nil, err
	}
	out := []DocCandidate{}
	for _, x := range list {
		d := DocCandidate{Name: x.Name, What: x.What, Settings: map[string]string{}}
		for _, s := range x.Settings {
			d.Settings[s.Key] = s.Text
		}
		if x.Err != nil {
			d.Error = x.Err.Error()
		}
		if x.Worst != nil {
			p := docPrediction(x.Worst)
			d.Point, d.Prediction = x.Worst.Point.Name, &p
		}
		out = append(out, d)
	}
	return out, nil
}

func docTrial(t *Trial) *DocTrial {
	d := &DocTrial{Sink: docSink(t.Sink), AirSpeed: t.Change.Speed, Ratio: number(t.Ratio), Discrepancy: t.Discrepancy,
		Points: []DocTried{}, Doubts: append([]string{}, t.Doubts...)}
	for _, p := range t.Points {
		d.Points = append(d.Points, DocTried{p.Point.Name, docPrediction(p)})
	}
	return d
}
