package cooling

import (
	"math"

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
		p := b.Kind(kind)
		if p == nil || p.Line == nil {
			continue
		}
		pr, err := c.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
		if err != nil {
			return nil, err
		}
		step, err := figure(g, pr.Temperature.Value.Sub(below).Div(b.Ask.Power), c.Level)
		if err != nil {
			return nil, err
		}
		below = pr.Temperature.Value
		out.Rungs = append(out.Rungs, Rung{Name: p.Name, Kind: kind, Temperature: pr.Temperature, Limited: pr.Limited, Limit: pr.Limit})
		out.Steps = append(out.Steps, step)
	}
	if len(out.Rungs) == 1 {
		return nil, nil
	}
	c.split(b, out)
	return out, nil
}

// split asks the model which way the heat goes.
func (c *Cooling) split(b *Board, out *HeatPath) {
	if b.Model == nil || b.Model.Ladder.Sink == nil {
		return
	}
	t, err := c.Try(b, Change{})
	if err != nil {
		return
	}
	out.Split, out.Up, out.Down = true, t.Rungs.Up, t.Rungs.Down
	out.Radiated = t.Rungs.Up * t.Rungs.Loss.Radiation / t.Rungs.Loss.Total()
}
