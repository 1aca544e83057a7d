package cooling

import (
	"fmt"
	"math"

	"railtally/gum"
	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Model is a described path of the heat, set by the measurement.
type Model struct {
	Ladder *heat.Ladder // as described, its factor 1
	// Calibrated tells that a measured point set the factor; At names it.
	Calibrated bool
	At         *Point
	Factor     tally.Figure // on the heat that leaves the sink; 1 where not calibrated
	Interface  tally.Figure // K/W, case to sink; 0 where nothing is known of it
	Measured   bool         // Interface is measured, and holds the spreading in the base

	args [4]gum.Value // ln factor, emissivity of the sink, air speed, interface
}

// The arguments of everything that the model computes.
const (
	argFactor = iota
	argEmissivity
	argSpeed
	argInterface
	argPower
	argRoom
	argChangedSpeed // of a trial only
	argCount
)

// model makes the model of what is described on a board.
func (c *Cooling) model(b *Board) error {
	h, under := b.How.Sink, b.How.Under
	if h == nil && under == nil {
		return nil
	}
	m := &Model{}
	var path heat.Path
	if h != nil && h.Kind != heat.Unknown {
		s := h.Shape()
		if !s.Predictable() {
			b.NoModel = fmt.Errorf("no formula for a sink of %s was found that is both simple and verified; what was measured is carried on by its power law alone", h.Kind)
			return nil
		}
		path.Sink = &s
	}
	chip := 0.0
	if b.How.Chip != nil {
		chip = b.How.Chip.Value()
		path.Source = chip
	}
	if under != nil {
		u := under.Shape(chip)
		path.Board = &u
	}
	if path.Sink == nil && path.Board == nil {
		return nil // an unknown sink
	}
	if path.Sink != nil && b.How.Air == study.Fan && b.How.Speed == nil {
		b.NoModel = fmt.Errorf("a fan ran and the speed of its air between the fins is not known, so its part cannot be told from the sink's: give air speed")
		return nil
	}
	ladder, err := heat.New(path)
	if err != nil {
		b.NoModel = err
		return nil
	}
	m.Ladder = ladder
	if path.Sink != nil {
		if err := c.calibrate(b, m); err != nil {
			b.NoModel = err
			return nil
		}
	}
	b.Model = m
	if m.Calibrated && (m.Factor.Hi() < oddFactor[0] || m.Factor.Lo() > oddFactor[1]) {
		b.note(sensing.Finding{Code: "factor", Severity: sensing.Doubtful, Board: b.Name,
			Text: phrase.New("The sink as described gives off %s times the heat that the formulas say.", phrase.Number(quantity.FormatU(m.Factor.Estimate, m.Factor.Expanded, quantity.None))),
			Do:   phrase.New("Look at its sizes, at a draught, and at what the board carries away; what is said of other sinks rests on this factor.")})
	}
	return nil
}

// oddFactor are the factors beyond which the description, and not the
// formulas, is to be doubted: theirs is 20 to 30 %, and a board that was not
// described carries away up to half of the heat.
var oddFactor = [2]float64{0.6, 1.7}

// with is the ladder and the surroundings for a set of arguments.
func (m *Model) with(l *heat.Ladder, x []float64, pressure float64) (*heat.Ladder, heat.Surroundings) {
	in := heat.Room(x[argRoom])
	in.Pressure, in.Speed = pressure, math.Max(0, x[argSpeed])
	return l.With(math.Exp(x[argFactor]), math.Min(1, x[argEmissivity]), math.Max(0, x[argInterface])), in
}

// calibrate records the arguments of the model and sets its factor.
func (c *Cooling) calibrate(b *Board, m *Model) error {
	g, h := c.Tally.Graph, b.How.Sink
	_, lo, hi := h.Surface()
	var dist gum.Distribution = gum.Rectangular{Lo: lo, Hi: hi}
	if h.Emissivity != nil {
		dist = sensing.Within(*h.Emissivity, h.Emissivity.Step)
	}
	m.args[argEmissivity] = g.Input(gum.Input{Name: b.Name + ": emissivity of the sink", Dist: dist, Tags: tagged(CauseEmissivity, sensing.TagBoard, b.Name)})
	m.args[argSpeed] = g.Const(0)
	if s := b.How.Speed; s != nil {
		m.args[argSpeed] = g.Input(gum.Input{Name: b.Name + ": air speed", Dist: sensing.Within(*s, s.Step), Tags: tagged(CauseModel, sensing.TagBoard, b.Name)})
	}
	if err := c.interfaceOf(b, m); err != nil {
		return err
	}
	where := heat.AtBase
	m.At = b.Kind(study.SinkPoint)
	if m.At == nil || m.At.Law == nil {
		where, m.At = heat.AtCase, b.Kind(study.CasePoint)
	}
	m.args[argFactor] = g.Const(0)
	if m.At != nil && m.At.Law != nil {
		v, err := c.lnFactor(m, where)
		if err != nil {
			return err
		}
		m.args[argFactor], m.Calibrated = v, true
	} else {
		m.At = nil
	}
	var err error
	if m.Factor, err = figure(g, m.args[argFactor].Exp(), c.Level); err != nil {
		return fmt.Errorf("the model cannot be set by %s: %w", m.At.Name, err)
	}
	m.Interface, err = figure(g, m.args[argInterface], c.Level)
	return err
}

// interfaceOf finds what lies between case and sink: as stated, or from the two
// temperatures where both were read.
func (c *Cooling) interfaceOf(b *Board, m *Model) error {
	g := c.Tally.Graph
	stated := b.How.Interface
	if stated != nil {
		m.args[argInterface] = g.Input(gum.Input{Name: b.Name + ": interface", Dist: sensing.Within(*stated, stated.Step), Tags: tagged("interface", sensing.TagBoard, b.Name)})
	} else {
		m.args[argInterface] = g.Const(0)
	}
	top, sink := b.Kind(study.CasePoint), b.Kind(study.SinkPoint)
	if top == nil || sink == nil || top.Law == nil || sink.Law == nil {
		return nil
	}
	var parts []gum.Value
	for _, rc := range top.Readings {
		for _, rs := range sink.Readings {
			if rc.On == rs.On && rc.Sitting == rs.Sitting && rc.scattered.Valid() && rs.scattered.Valid() {
				parts = append(parts, custom("interface", func(x []float64) float64 {
					up := x[2] - m.Ladder.BoardLoss(x[3]+x[0], heat.Room(x[3]))
					return (x[0] - x[1]) / up
				}, rc.scattered, rs.scattered, rc.Power.Value, rc.Room))
			}
		}
	}
	if len(parts) == 0 {
		return nil
	}
	r := gum.Mean(parts...)
	if stated != nil {
		return c.compareInterface(b, r, m.args[argInterface])
	}
	if !(r.Estimate() > 0) {
		return fmt.Errorf("the case reads no warmer than the sink (%.2f K/W between them): one of the two is not what it is called", r.Estimate())
	}
	m.args[argInterface], m.Measured = r, true
	m.Ladder = m.Ladder.WithoutSpreading()
	return nil
}

// compareInterface questions an interface that is stated and reads otherwise.
// What was read holds the spreading in the base too, so less is no contradiction.
func (c *Cooling) compareInterface(b *Board, read, stated gum.Value) error {
	g := c.Tally.Graph
	d, err := figure(g, stated.Sub(read), c.Level)
	if err != nil || d.Lo() <= 0 {
		return err
	}
	r, err := figure(g, read, c.Level)
	if err != nil {
		return err
	}
	b.note(sensing.Finding{Code: "interface", Severity: sensing.Doubtful, Board: b.Name,
		Text: phrase.New("Between case and sink %s are stated, and what was read of the two gives %s.", phrase.Number(quantity.Format(stated.Estimate(), quantity.KelvinPerWatt, 3)), phrase.Number(written(r, quantity.KelvinPerWatt))),
		Do:   phrase.New("Leave interface out, and what was read is used; or look at which of the two temperatures is what.")})
	return nil
}

// lnFactor is the mean of ln factor over the readings of the calibrating point,
// weighted by the square of their rise.
func (c *Cooling) lnFactor(m *Model, where heat.Where) (gum.Value, error) {
	var used []*Reading
	for _, r := range m.At.Readings {
		if r.scattered.Valid() {
			used = append(used, r)
		}
	}
	n := len(used)
	vs := []gum.Value{m.args[argEmissivity], m.args[argSpeed], m.args[argInterface]}
	w, sum := make([]float64, n), 0.0
	for i, r := range used {
		vs = append(vs, r.scattered, r.Power.Value, r.Room)
		w[i] = r.Rise.Estimate * r.Rise.Estimate
		sum += w[i]
	}
	var failure error
	mean := func(x []float64) (float64, error) {
		out := 0.0
		for i := range n {
			rise, power, room := x[3+3*i], x[4+3*i], x[5+3*i]
			l, in := m.with(m.Ladder, []float64{0, x[0], x[1], x[2], power, room}, heat.SeaLevel)
			f, err := l.Calibrate(where, room+rise, power, in)
			if err != nil {
				return 0, err
			}
			out += w[i] / sum * math.Log(f)
		}
		return out, nil
	}
	at := make([]float64, len(vs))
	for i, v := range vs {
		at[i] = v.Estimate()
	}
	if _, failure = mean(at); failure != nil {
		return gum.Value{}, failure
	}
	return custom("factor", func(x []float64) float64 {
		y, err := mean(x)
		if err != nil {
			return math.NaN()
		}
		return y
	}, vs...), nil
}
