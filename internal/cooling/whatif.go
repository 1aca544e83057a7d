package cooling

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"railtally/gum"
	"railtally/internal/cooling/heat"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// Change is another cooling. The zero Change is the cooling as it is.
type Change struct {
	Sink   *heat.Sink // nil: as it is
	NoSink bool       // the board alone
	Speed  *float64   // air between the fins, m/s; nil: as it is
	Flow   *float64   // of a fan at the sink's front, m³/s, instead of Speed
	// Interface between case and sink, K/W; nil: as it is.
	Interface *float64
}

// Trial is what a change would make of the temperatures asked about.
type Trial struct {
	Change Change
	Sink   *heat.Sink // nil: the board alone
	Gap    float64    // between fins, m
	Rungs  heat.Rungs // of the model at the estimates
	Points []*Prediction
	// Ratio is the modelled rise against that of the cooling as it is.
	Ratio float64
	// Discrepancy is the half-width, in parts of the rise, that the distance
	// from what was measured costs.
	Discrepancy float64
	Doubts      []string

	base *trialBase // nil where nothing was measured
}

// What a model may be wrong by: a tenth of the rise for each factor of two in
// it, from the measured point; a fifth without one (both common practice, no
// source).
const perFactorOfTwo, modelAlone = 0.10, 0.20

// Try works out what a change would do at what is asked of a board.
//
// With a calibrated model the new rise is the measured law's at that power and
// room, times what the model says that the change does to it. No change at all
// gives the law's prediction and its interval. Without a measured temperature
// the model stands alone.
func (c *Cooling) Try(b *Board, ch Change) (*Trial, error) {
	m := b.Model
	switch {
	case m == nil && b.NoModel != nil:
		return nil, b.NoModel
	case m == nil:
		return nil, errors.New("nothing is described that could be changed: describe the sink, or the board, under cooling")
	case !b.Ask.Known():
		return nil, errors.New("there is no power or no room to predict for")
	}
	l, err := m.changed(ch)
	if err != nil {
		return nil, err
	}
	g := c.Tally.Graph
	args := c.arguments(b, m)
	speed, doubt, err := c.changedSpeed(b, ch, l.Sink, args[argSpeed])
	if err != nil {
		return nil, err
	}
	args = append(args, speed)
	t := &Trial{Change: ch, Sink: l.Sink}
	if l.Sink != nil {
		t.Gap = l.Sink.Gap()
	}
	x := make([]float64, len(args))
	for i, v := range args {
		x[i] = v.Estimate()
	}
	balance := func(x []float64, l *heat.Ladder, ch Change) (heat.Rungs, heat.Surroundings, error) {
		x = append([]float64(nil), x...)
		if ch.Interface != nil {
			x[argInterface] = *ch.Interface
		}
		if ch.Sink != nil && (m.Ladder.Sink == nil || ch.Sink.Emissivity != m.Ladder.Sink.Emissivity) { // another surface
			x[argEmissivity] = ch.Sink.Emissivity
		}
		l, in := m.with(l, x, b.Ask.Pressure)
		r, err := l.At(x[argPower], in)
		return r, in, err
	}
	// Every point asks for the same balances; the last ones are kept.
	changed := func(x []float64) (heat.Rungs, heat.Surroundings, error) {
		y := append([]float64(nil), x...)
		y[argSpeed] = x[argChangedSpeed]
		return balance(y, l, ch)
	}
	after := remembered(func(x []float64) (heat.Rungs, error) {
		r, _, err := changed(x)
		return r, err
	})
	before := remembered(func(x []float64) (heat.Rungs, error) {
		r, _, err := balance(x, m.Ladder, Change{})
		return r, err
	})
	var in heat.Surroundings
	if t.Rungs, in, err = changed(x); err != nil {
		return nil, err
	}
	t.Doubts = l.Doubts(t.Rungs, in)
	if doubt != "" {
		t.Doubts = append(t.Doubts, doubt)
	}
	var was heat.Rungs
	if m.Calibrated {
		if was, _, err = balance(x, m.Ladder, Change{}); err != nil {
			return nil, err
		}
		t.Ratio = riseOf(t.Rungs, false) / riseOf(was, false)
		t.base = &trialBase{power: x[argPower], room: x[argRoom], pressure: b.Ask.Pressure, curves: map[*Point]*afterChange{}}
		if ch != (Change{}) {
			t.base.ratioOf = func(sink bool, power, room float64) (float64, error) {
				y := append([]float64(nil), x...)
				y[argPower], y[argRoom] = power, room
				a, _, err := changed(y)
				if err != nil {
					return 0, err
				}
				z, _, err := balance(y, m.Ladder, Change{})
				return riseOf(a, sink) / riseOf(z, sink), err
			}
		}
		t.Discrepancy = math.Min(modelAlone, perFactorOfTwo*math.Abs(math.Log2(t.Ratio)))
		if l.Sink == nil {
			t.Discrepancy = modelAlone // nothing of the board was measured
		}
	} else {
		t.Ratio, t.Discrepancy = math.NaN(), modelAlone
	}
	delta := g.Input(gum.Input{Name: b.Name + ": " + CauseModel, Dist: gum.Rectangular{Lo: 1 - t.Discrepancy, Hi: 1 + t.Discrepancy},
		Tags: tagged(CauseModel, sensing.TagBoard, b.Name)})
	for _, p := range c.tried(b, m) {
		rung := func(r heat.Rungs) float64 { return riseOf(r, p.Kind == study.SinkPoint) }
		if p.Kind == study.SinkPoint && l.Sink == nil {
			continue
		}
		var rise gum.Value
		if m.Calibrated && p.Line != nil {
			ratio := custom("change", func(x []float64) float64 {
				a, errA := after(x)
				z, errZ := before(x)
				if errA != nil || errZ != nil {
					return math.NaN()
				}
				return rung(a) / rung(z)
			}, args...)
			rise = p.Line.riseValue(b.Ask.Power, b.Ask.Room, b.Ask.Pressure).Mul(ratio)
		} else {
			rise = custom("model", func(x []float64) float64 {
				a, err := after(x)
				if err != nil {
					return math.NaN()
				}
				return rung(a)
			}, args...)
		}
		v := b.Ask.Room.Add(rise.Mul(delta))
		if p.Line != nil {
			v = v.Add(p.Line.vals[linePsi].Mul(b.Ask.Power)).Add(p.Line.vals[lineNext])
		}
		pr, err := c.predicted(p, v, b.Ask.Power, b.Ask.Room)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p.Name, err)
		}
		t.Points = append(t.Points, pr)
	}
	return t, nil
}

// arguments are those of the model at what is asked of a board.
func (c *Cooling) arguments(b *Board, m *Model) []gum.Value {
	out := make([]gum.Value, 0, 6)
	for i, v := range m.args {
		if !v.Valid() {
			v = c.Tally.Graph.Const([]float64{0, 1, 0, 0}[i])
		}
		out = append(out, v)
	}
	return append(out, b.Ask.Power, b.Ask.Room)
}

// tried are the points that the model speaks of: those measured of case, sink
// and junction; without one, the case.
func (c *Cooling) tried(b *Board, m *Model) []*Point {
	var out []*Point
	for _, p := range b.Points {
		if p.Line != nil && (p.Kind == study.CasePoint || p.Kind == study.SinkPoint || p.Kind == study.JunctionPoint) {
			out = append(out, p)
		}
	}
	if len(out) == 0 {
		p := &Point{Name: "case", Kind: study.CasePoint}
		for _, l := range b.How.Limits {
			if b.How.PointKind(l.Name) == study.CasePoint {
				p.Limit = l
			}
		}
		for _, l := range c.opt.Limits {
			if b.How.PointKind(l.Name) == study.CasePoint {
				p.Limit = l
			}
		}
		out = append(out, p)
	}
	return out
}

// mostInterface is the largest resistance between case and sink, in K/W, that is
// tried: a sink that touches in one point.
const mostInterface = 100

// changed is the ladder after a change.
func (m *Model) changed(ch Change) (*heat.Ladder, error) {
	p := m.Ladder.Path
	if x := ch.Interface; x != nil && !(*x >= 0 && *x <= mostInterface) {
		return nil, heat.Problems{{Field: "interface", Message: fmt.Sprintf("%.3g K/W cannot be computed", *x), Accept: fmt.Sprintf("0 to %d K/W", mostInterface)}}
	}
	switch {
	case ch.NoSink && ch.Sink != nil:
		return nil, heat.Problems{{Field: "sink", Message: "the sink is changed, and there is to be none", Accept: "one of the two"}}
	case ch.NoSink:
		if p.Board == nil {
			return nil, errors.New("whether the board alone would do needs the board: its size and planes under cooling")
		}
		p.Sink, p.Interface, p.Source = nil, 0, 0
	case ch.Sink != nil:
		p.Sink = ch.Sink
	default:
		return m.Ladder, nil
	}
	return m.Ladder.Changed(p)
}

// riseValue is the law's part of a prediction, in the graph.
func (l *Line) riseValue(power, room gum.Value, pressure float64) gum.Value {
	vs := append(append([]gum.Value(nil), l.vals[:linePsi]...), power, room)
	return custom("rise", func(x []float64) float64 {
		var v [lineParts]float64
		copy(v[:], x[:linePsi])
		return l.rise(&v, x[linePsi], x[linePsi+1], pressure)
	}, vs...)
}

// remembered keeps the latest results of f, which has argCount arguments. It may be
// called from several goroutines.
func remembered(f func([]float64) (heat.Rungs, error)) func([]float64) (heat.Rungs, error) {
	type result struct {
		r   heat.Rungs
		err error
	}
	const most = 64 // more than one gradient needs
	var mu sync.Mutex
	kept := map[[argCount]float64]result{}
	return func(x []float64) (heat.Rungs, error) {
		key := [argCount]float64(x)
		mu.Lock()
		v, ok := kept[key]
		mu.Unlock()
		if ok {
			return v.r, v.err
		}
		v.r, v.err = f(x)
		mu.Lock()
		defer mu.Unlock()
		if len(kept) >= most {
			clear(kept)
		}
		kept[key] = v
		return v.r, v.err
	}
}
