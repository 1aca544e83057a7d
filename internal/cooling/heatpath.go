package cooling

import (
	"math"
	"slices"

	"railtally/internal/cooling/heat"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// HeatPath is the way of the heat at what is asked of a board, from the room up
// to the warmest point: a ladder with temperatures at its rungs.
type HeatPath struct {
	Power tally.Figure // W
	Rungs []Rung       // the room first
	// Steps are the resistances between neighbouring rungs, in K for each watt
	// of the whole chip, whatever way it takes.
	Steps []tally.Figure
	// Split tells that the model tells the two ways apart: Up watts leave by the
	// sink, of which Radiated as radiation, and Down watts by the board.
	Split              bool
	Up, Down, Radiated float64
}

// Rung is one temperature of a heat path.
type Rung struct {
	Name        string
	Kind        study.PointKind // "" for the room
	Temperature tally.Figure
	Limited     bool
	Limit       float64
}

// Path works out the ladder of a board; nil where there is nothing to show.
func (c *Cooling) Path(b *Board) (*HeatPath, error) {
	if !b.Ask.Known() {
		return nil, nil
	}
	var list []*Prediction
	for _, p := range b.Points {
		if p.Line == nil {
			continue
		}
		pr, err := c.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
		if err != nil {
			return nil, err
		}
		list = append(list, pr)
	}
	out, err := c.path(b, list)
	if out == nil || err != nil || b.Model == nil || b.Model.Ladder.Sink == nil {
		return out, err
	}
	if t, err := c.Try(b, Change{}); err == nil { // a path without its two ways is a path
		out.split(t.Rungs)
	}
	return out, nil
}

// PathAfter is the ladder that a trial makes; nil where there is nothing to show.
func (c *Cooling) PathAfter(b *Board, t *Trial) (*HeatPath, error) {
	out, err := c.path(b, t.Points)
	if out != nil && t.Sink != nil {
		out.split(t.Rungs)
	}
	return out, err
}

// path makes a ladder of predictions.
func (c *Cooling) path(b *Board, list []*Prediction) (*HeatPath, error) {
	g := c.Tally.Graph
	out := &HeatPath{Radiated: math.NaN(), Up: math.NaN(), Down: math.NaN()}
	var err error
	if out.Power, err = figure(g, b.Ask.Power, c.Level); err != nil {
		return nil, err
	}
	room, err := figure(g, b.Ask.Room, c.Level)
	if err != nil {
		return nil, err
	}
	out.Rungs = []Rung{{Name: "room", Temperature: room}}
	below := b.Ask.Room
	for _, kind := range []study.PointKind{study.SinkPoint, study.CasePoint, study.JunctionPoint} {
		i := slices.IndexFunc(list, func(pr *Prediction) bool { return pr.Point.Kind == kind })
		if i < 0 {
			continue
		}
		pr := list[i]
		step, err := figure(g, pr.Temperature.Value.Sub(below).Div(b.Ask.Power), c.Level)
		if err != nil {
			return nil, err
		}
		below = pr.Temperature.Value
		out.Rungs = append(out.Rungs, Rung{Name: pr.Point.Name, Kind: kind, Temperature: pr.Temperature, Limited: pr.Limited, Limit: pr.Limit})
		out.Steps = append(out.Steps, step)
	}
	if len(out.Rungs) == 1 {
		return nil, nil
	}
	return out, nil
}

// split takes from the model which way the heat goes.
func (h *HeatPath) split(r heat.Rungs) {
	h.Split, h.Up, h.Down = true, r.Up, r.Down
	h.Radiated = r.Up * r.Loss.Radiation / r.Loss.Total()
}
