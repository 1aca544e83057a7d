package plan

import (
	"fmt"
	"math"
	"slices"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// bench is what the plan takes for granted about the place of work.
type bench struct {
	day  time.Time
	room *quantity.Entry
}

// planned turns the planned work into a study with readings: what each display
// is expected to show. Only the wanted states have readings; nil wants all.
// Readings of rails of which nothing is expected are left out, and their states
// have no total.
func (m *maker) planned(v variant, want []study.StateOn) *study.Study {
	out := *v.study
	out.Sittings = nil
	for _, b := range v.study.Boards {
		if want != nil && !slices.ContainsFunc(want, func(s study.StateOn) bool { return s.Board == b.Name }) {
			continue
		}
		vs := visits(b, m.order[b.Name], v.scheme, m.expect.study.Proofs)
		for k := range max(1, v.scheme.Sittings) {
			sit := &study.Sitting{
				Name: fmt.Sprintf("planned %d of %s", k+1, b.Name), Named: true, Board: b.Name,
				On: m.bench.day.AddDate(0, 0, k), Room: m.bench.room, VoltageMeter: v.meter, CurrentMeter: v.meter,
			}
			for _, x := range vs {
				sit.Steps = append(sit.Steps, m.step(v, b, sit, x, want))
			}
			if want != nil {
				sit.Steps = needed(sit.Steps)
			}
			out.Sittings = append(out.Sittings, sit)
		}
	}
	return &out
}

// needed leaves out steps without readings, and zeros between which there are
// none: only the zeros next to a reading count for it.
func needed(steps []*study.Step) []*study.Step {
	steps = slices.DeleteFunc(steps, func(st *study.Step) bool { return len(st.Rails) == 0 && len(st.Zeros) == 0 })
	var out []*study.Step
	for i, st := range steps {
		if len(st.Rails) > 0 || i > 0 && len(steps[i-1].Rails) > 0 || i+1 < len(steps) && len(steps[i+1].Rails) > 0 {
			out = append(out, st)
		}
	}
	return out
}

// only keeps the wanted states, without what they are set to: nothing is asked
// about factors here.
func only(s *study.Study, want []study.StateOn) {
	var states []*study.State
	for _, st := range s.States {
		if slices.ContainsFunc(want, func(on study.StateOn) bool { return on.State == st.Name }) {
			states = append(states, &study.State{Name: st.Name})
		}
	}
	s.States, s.Factors, s.Claims, s.Proofs, s.Cooling = states, nil, nil, nil, nil
}

func (m *maker) step(v variant, b *study.Board, sit *study.Sitting, x visit, want []study.StateOn) *study.Step {
	st := &study.Step{At: sit.On.Add(x.At), State: x.State}
	for i, t := range x.Zeros {
		st.Zeros = append(st.Zeros, m.zero(v, x.ZeroOf[i], t, x.At))
	}
	if x.State == "" || want != nil && !slices.Contains(want, study.StateOn{Board: b.Name, State: x.State}) {
		return st
	}
	for _, r := range x.Rails {
		if rr := m.railReading(v, b, r, x.State, x.At); rr != nil {
			st.Rails = append(st.Rails, rr)
		}
	}
	return st
}

// wandered is how far a clamp's zero has wandered after some time, in volts at its
// output: evenly, as fast as its range says that it may.
func wandered(s *study.Study, t *study.Tap, at time.Duration) float64 {
	in := s.Instrument(t.Instrument)
	if t.Kind != study.TapClamp || in == nil {
		return 0
	}
	if rg := in.Range(t.Range); rg != nil && rg.Scale > 0 {
		return rg.ZeroDrift * at.Seconds() / rg.Scale
	}
	return 0
}

// zero is the zero of a tap's sensor after some time. It is taken without
// touching the range, so on that of each reading, and is not rounded to the
// display's digit: a rounded difference of two zeros would come out as none or
// one digit, where what is expected lies between.
func (m *maker) zero(v variant, r *study.Rail, t *study.Tap, at time.Duration) *study.Zero {
	z := &study.Zero{Rail: r.Name, Tap: t.Name}
	if t.Kind == study.TapClamp {
		z = &study.Zero{Instrument: t.Instrument, Range: t.Range}
	}
	z.Reading.Entry = quantity.Entry{Values: []float64{wandered(v.study, t, at)}, Unit: t.Shows()}
	return z
}

// shown is what the meter at a tap shows of a current through the rail, in volts
// (amperes for a meter in series). The phases of a rail share its current.
func (m *maker) shown(v variant, r *study.Rail, t *study.Tap, current float64) float64 {
	i := current / float64(len(r.Taps))
	if t.Reversed {
		i = -i
	}
	in := v.study.Instrument(t.Instrument)
	switch {
	case t.Kind == study.TapSeries:
		return i
	case t.Kind == study.TapClamp:
		rg := in.Range(t.Range)
		factor := 1.0
		if c := in.CalibrationOf(rg); c != nil {
			factor = c.Factor.Value()
		}
		return i * float64(max(1, t.Turns)) / rg.Scale / factor
	}
	return i * resistance(v.study, t)
}

// resistance is that of a tap that senses by a resistor.
func resistance(s *study.Study, t *study.Tap) float64 {
	value := t.Resistor
	if in := s.Instrument(t.Instrument); in != nil && in.Shunt != nil {
		value = in.Shunt
	}
	if value == nil {
		return 0
	}
	r := value.Resistance.Value()
	if t.Winding != nil {
		r *= 1 + sensing.CopperTempCo/(1+sensing.CopperTempCo*(t.WindingRef-20))*(t.Winding.Value()-t.WindingRef)
	}
	return r
}

// meterRange is the range on which a tap's meter shows a value; nil when there
// is no such meter.
func (m *maker) meterRange(v variant, t *study.Tap, shown float64) *study.Range {
	meter, rng := t.Meter, t.MeterRange
	if t.Kind == study.TapSeries {
		meter, rng = t.Instrument, t.Range
	} else if meter == "" {
		meter = v.meter
	}
	in := v.study.Instrument(meter)
	if in == nil {
		return nil
	}
	if rng != "" {
		return in.Range(rng)
	}
	return sensing.SmallestRange(in, t.Shows(), math.Abs(shown))
}

// railReading is what is expected to be read of a rail in a state; nil where
// nothing is expected of it.
func (m *maker) railReading(v variant, b *study.Board, r *study.Rail, state string, at time.Duration) *study.RailReading {
	e := m.expect.of(b, r, state)
	if !e.Known {
		return nil
	}
	rr := &study.RailReading{Rail: r.Name}
	for _, t := range r.Taps {
		x := m.shown(v, r, t, e.Amps)
		rg := m.meterRange(v, t, m.shown(v, r, t, e.Amps+2*e.Scatter))
		if rg == nil {
			return nil
		}
		tr := &study.TapReading{Tap: t.Name, Reading: study.Reading{Range: rg.Name}}
		digit := 0.0
		if rg.Digit != nil {
			digit = rg.Digit.Value()
		}
		zero := wandered(v.study, t, at)
		x += zero
		tr.Reading.Entry = single(x, digit, t.Shows())
		if sd := math.Abs(m.shown(v, r, t, e.Scatter)); sd > 0 && v.scheme.Repeats > 1 {
			tr.Reading.Entry = quantity.Entry{Kind: quantity.Repeats, Values: pattern(v.scheme.Repeats, x, sd), Unit: t.Shows(), Step: digit}
		} else if sd > 0 {
			// One reading of a display that wanders is a band as wide as it wanders.
			tr.Reading.Entry = quantity.Entry{Kind: quantity.Band, Values: []float64{x - 2*sd, x + 2*sd}, Unit: t.Shows(), Step: digit}
		}
		if v.scheme.BothWays[[2]string{b.Name + "/" + r.Name, t.Name}] {
			// The other way turns the sign of the current, not that of the zero.
			back := study.Reading{Range: rg.Name, Entry: shifted(negated(tr.Reading.Entry), 2*zero)}
			tr.Back = &back
		}
		rr.Current = append(rr.Current, tr)
	}
	if in := v.study.Instrument(v.meter); in != nil {
		if rg := sensing.SmallestRange(in, quantity.Volt, math.Abs(e.Volts)); rg != nil {
			digit := 0.0
			if rg.Digit != nil {
				digit = rg.Digit.Value()
			}
			rr.Voltage = &study.Reading{Entry: single(e.Volts, digit, quantity.Volt)}
		}
	}
	return rr
}

func negated(e quantity.Entry) quantity.Entry {
	e.Values = slices.Clone(e.Values)
	for i := range e.Values {
		e.Values[i] = -e.Values[i]
	}
	slices.Reverse(e.Values)
	return e
}

func shifted(e quantity.Entry, by float64) quantity.Entry {
	for i := range e.Values {
		e.Values[i] += by
	}
	return e
}
