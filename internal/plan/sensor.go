package plan

import (
	"context"
	"fmt"
	"math"
	"slices"

	"railtally/internal/plan/insertion"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// Sensor is one way to read a rail with what is on the shelf, in the state in
// which the board draws most.
type Sensor struct {
	Name    string
	Planned bool
	Turns   int
	Burden  float64 // volts that it drops beyond the loop that is there
	Shown   float64 // what the meter shows, volts
	Range   string  // of the meter
	Share   float64 // of the clamp's range that is used; 0 for a resistor
	// Least is the least current step that the display tells, in amperes through
	// the rail; Offset the error of the clamp without a zero.
	Least, Offset float64
	Width         float64 // half-width of the rail's power, watts
	Why           string  // it cannot be used; empty: it can
}

// Bounding is what it would cost not to open a rail, in the state in which the
// board draws most.
type Bounding struct {
	Amps          float64 // 0 to this
	Before, After float64 // half-width of the total, watts
}

// sensors compares what could read a rail. Each is tallied on the rail alone.
func (m *maker) sensors(ctx context.Context, v variant, b *study.Board, r *study.Rail) ([]Sensor, error) {
	most, known := m.expect.highest(b, r)
	if !known || len(r.Taps) != 1 || r.Taps[0].Kind == study.TapSense || r.Taps[0].Kind == study.TapInductor {
		return nil, nil
	}
	state := m.expect.fullest(b)
	band, _ := toleranceBand(r)
	var out []Sensor
	try := func(tap study.Tap, planned bool) error {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		x := m.sensor(v, b, r, &tap, most)
		x.Planned = planned
		if drop := insertion.SagShare * band; x.Burden > drop {
			x.Why = fmt.Sprintf("it drops %s, and %s are to be spent", volts(x.Burden), volts(drop))
		}
		if x.Why == "" || planned {
			var err error
			if x.Width, err = m.railWidth(v, b, r, tap, state); err != nil {
				return err
			}
		}
		out = append(out, x)
		return nil
	}
	now := *r.Taps[0]
	if err := try(now, true); err != nil {
		return nil, err
	}
	if in := v.study.Instrument(now.Instrument); now.Kind == study.TapClamp {
		for _, n := range someTurns {
			if loop, _, ok := m.wound(r, &now, n, most, in, in.Range(now.Range)); ok && n > now.Turns {
				tap := now
				tap.Turns, tap.Loop = n, loop
				if err := try(tap, false); err != nil {
					return nil, err
				}
			}
		}
	}
	for _, in := range v.study.Instruments {
		switch in.Kind {
		case study.Clamp:
			for _, rg := range in.Ranges {
				tap := study.Tap{Kind: study.TapClamp, Instrument: in.Name, Range: rg.Name, Turns: max(1, now.Turns), Reversed: now.Reversed, Loop: now.Loop, Meter: now.Meter}
				if now.Kind == study.TapClamp && in.Name == now.Instrument && rg == in.Range(now.Range) {
					continue
				}
				if err := try(tap, false); err != nil {
					return nil, err
				}
			}
		case study.Shunt:
			if in.Name == now.Instrument {
				continue
			}
			if err := try(study.Tap{Kind: study.TapShunt, Instrument: in.Name, Turns: 1, Reversed: now.Reversed, Meter: now.Meter}, false); err != nil {
				return nil, err
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Sensor) int {
		switch {
		case (a.Why == "") != (b.Why == ""):
			if a.Why == "" {
				return -1
			}
			return 1
		case a.Width < b.Width:
			return -1
		case a.Width > b.Width:
			return 1
		}
		return 0
	})
	return out, nil
}

// sensor works out what a tap would show of a rail at its most.
func (m *maker) sensor(v variant, b *study.Board, r *study.Rail, t *study.Tap, most float64) Sensor {
	x := Sensor{Turns: max(1, t.Turns), Shown: m.shown(v, r, t, most)}
	in := v.study.Instrument(t.Instrument)
	switch {
	case t.Kind == study.TapClamp:
		rg := in.Range(t.Range)
		x.Name = sensorName(in, t.Range) + turnsText(t.Turns)
		x.Share = most * float64(x.Turns) / sensing.Limit(rg)
		if x.Share > 1 {
			x.Why = fmt.Sprintf("%s through the jaw is beyond its %s", amps(most*float64(x.Turns)), amps(sensing.Limit(rg)))
		}
		if l, ok := sensing.LimitsOf(rg, math.NaN()); ok {
			x.Offset = l.Constant / float64(x.Turns)
		}
		if in.Jaw != nil && t.Loop != nil && t.Loop.Area > 0 && bundle(x.Turns, t.Loop.Area) > in.Jaw.Value() {
			x.Why = fmt.Sprintf("%d turns make a bundle of %s, and its jaw has %s", x.Turns,
				quantity.Format(bundle(x.Turns, t.Loop.Area), quantity.Metre, 2), quantity.Format(in.Jaw.Value(), quantity.Metre, 2))
		}
	case t.Kind == study.TapSeries:
		x.Name = "series meter " + t.Instrument
	default:
		x.Name = t.Instrument
		if x.Name == "" {
			x.Name = string(t.Kind) + " " + ohms(resistance(v.study, t))
		}
		x.Burden = most * resistance(v.study, t)
	}
	rg := m.meterRange(v, t, x.Shown)
	if rg == nil {
		x.Why = "no meter shows it"
		return x
	}
	x.Range = rg.Name
	if math.Abs(x.Shown) > sensing.Limit(rg) {
		x.Why = fmt.Sprintf("%s is beyond the meter's %s", quantity.Format(math.Abs(x.Shown), t.Shows(), 3), quantity.Format(sensing.Limit(rg), t.Shows(), 3))
	}
	if rg.Digit != nil {
		if per := math.Abs(m.shown(v, r, t, 1)); per > 0 {
			x.Least = rg.Digit.Value() / per
		}
	}
	return x
}

// railWidth tallies one rail alone, read by a tap in one state.
func (m *maker) railWidth(v variant, b *study.Board, r *study.Rail, t study.Tap, state string) (float64, error) {
	w := v.clone()
	x := w.study.Board(b.Name)
	rail := *x.Rail(r.Name)
	rail.Taps, rail.From, rail.Others, rail.Aside, rail.Checks = []*study.Tap{&t}, nil, nil, false, ""
	x.Rails, x.Inputs = []*study.Rail{&rail}, nil
	return m.width(w, Target{Kind: study.ClaimTotal, First: study.StateOn{Board: b.Name, State: state}})
}

// bounding works out what the total would lose if a rail were not opened.
func (m *maker) bounding(v variant, b *study.Board, r *study.Rail) (*Bounding, error) {
	most, known := m.expect.highest(b, r)
	if !known || r.Aside || r.From != nil || len(r.Taps) == 0 || most <= 0 || len(b.Rails) < 2 {
		return nil, nil
	}
	for _, c := range b.Rails {
		if c.From != nil && c.From.Rail == r.Name {
			return nil, nil // what hangs on it is taken off what it is read to carry
		}
	}
	t := Target{Kind: study.ClaimTotal, First: study.StateOn{Board: b.Name, State: m.expect.fullest(b)}}
	before, err := m.width(v, t)
	if err != nil || math.IsInf(before, 1) {
		return nil, err
	}
	w := v.clone()
	x := w.study.Board(b.Name).Rail(r.Name)
	x.Taps, x.Bound = nil, &quantity.Entry{Kind: quantity.Band, Values: []float64{0, most}, Unit: quantity.Ampere}
	after, err := m.width(w, t)
	if err != nil || math.IsInf(after, 1) {
		return nil, err
	}
	return &Bounding{Amps: most, Before: before, After: after}, nil
}

// boards makes what the plan says of each board and rail.
func (m *maker) boards(ctx context.Context, p *Plan, v variant) error {
	for _, b := range p.Study.Boards {
		out := &Board{Board: b, Takes: lasts(visits(b, m.order[b.Name], v.scheme, m.expect.study.Proofs))}
		for _, st := range m.order[b.Name] {
			out.Order = append(out.Order, st.Name)
		}
		for _, r := range slices.Concat(b.Rails, b.Inputs) {
			x := &Rail{Rail: r, Expected: map[string]Expectation{}}
			for _, st := range p.Study.States {
				x.Expected[st.Name] = m.expect.of(b, r, st.Name)
			}
			x.Highest, x.Known = m.expect.highest(b, r)
			for _, t := range r.Taps {
				x.Openings = append(x.Openings, m.open(p.Study, b, r, t, x.Highest/float64(len(r.Taps))))
			}
			if m.compare != nil && !m.compare(b.Name, r.Name) {
				out.Rails = append(out.Rails, x)
				continue
			}
			var err error
			if x.Sensors, err = m.sensors(ctx, v, b, r); err != nil {
				return fmt.Errorf("%s %s: %w", b.Name, r.Name, err)
			}
			if !slices.Contains(b.Inputs, r) {
				if x.Bounding, err = m.bounding(v, b, r); err != nil {
					return fmt.Errorf("%s %s: %w", b.Name, r.Name, err)
				}
			}
			out.Rails = append(out.Rails, x)
		}
		p.Boards = append(p.Boards, out)
	}
	return nil
}

// questions gathers what must be known and is not said.
func (m *maker) questions(p *Plan) (out []Question) {
	for _, b := range p.Boards {
		for _, r := range b.Rails {
			if len(r.Taps) > 0 && !r.Known {
				out = append(out, Question{fmt.Sprintf("What will %s %s carry? A guess or a range will do", b.Name, r.Name), fmt.Sprintf("expected: {%s: {%s: 10..50 mA}}", b.Name, r.Name)})
			}
		}
	}
	return out
}
