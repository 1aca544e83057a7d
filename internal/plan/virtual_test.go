package plan

import (
	"math"
	"math/rand/v2"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// virtual is a bench whose truth is known. It does the planned work forwards,
// from true currents to what displays show, by arithmetic of its own: it shares
// no code with the measurement model or with the plan.
type virtual struct {
	r      *rand.Rand
	study  *study.Study
	place  map[string]float64 // inside an accuracy line, by instrument and range
	factor map[string]float64 // of a calibrated clamp, what a reading has to be multiplied by
	ohm    map[string]float64 // of shunts
	wander map[string]float64 // direction in which a clamp's zero wanders
}

func newVirtual(seed uint64, s *study.Study) *virtual {
	return &virtual{r: rand.New(rand.NewPCG(seed, 11)), study: s, place: map[string]float64{}, factor: map[string]float64{}, ohm: map[string]float64{}, wander: map[string]float64{}}
}

func (v *virtual) within(half float64) float64 { return half * (2*v.r.Float64() - 1) }

func (v *virtual) once(m map[string]float64, key string, draw func() float64) float64 {
	if _, ok := m[key]; !ok {
		m[key] = draw()
	}
	return m[key]
}

// limits are the two parts of an accuracy line.
func limits(r *study.Range) (part, constant float64) {
	if r.Spec == nil {
		return 0, 0
	}
	constant = r.Spec.Fixed
	if r.Digit != nil {
		constant += r.Spec.Digits * r.Digit.Value()
	}
	return r.Spec.Reading, constant
}

// shows is what a meter's range shows of a true voltage, without rounding.
func (v *virtual) shows(meter string, r *study.Range, volts float64) float64 {
	s := v.once(v.place, meter+r.Name, func() float64 { return v.within(1) })
	part, constant := limits(r)
	return (volts - s*constant) / (1 + s*part)
}

// output is what comes out of a tap's sensor at a true current and a time.
func (v *virtual) output(b *study.Board, r *study.Rail, t *study.Tap, position, current, seconds float64) float64 {
	in := v.study.Instrument(t.Instrument)
	if t.Kind != study.TapClamp {
		return current * v.once(v.ohm, b.Name+r.Name, func() float64 {
			value := in.Shunt.Resistance
			return value.Value() + v.within(value.Tol.Plus)
		})
	}
	rg := in.Range(t.Range)
	part, constant := limits(rg)
	s := v.once(v.place, in.Name+rg.Name, func() float64 { return v.within(1) })
	jaw := current * float64(t.Turns) / (1 + position)
	drift := rg.ZeroDrift * seconds * v.once(v.wander, in.Name, func() float64 { return math.Copysign(1, v.r.Float64()-0.5) })
	// The clamp says too little by its error: true = said·(1 + s·part) + s·constant.
	factor := 1 + s*part
	if c := in.CalibrationOf(rg); c != nil {
		factor = v.once(v.factor, in.Name, func() float64 { return c.Factor.Value() + c.Factor.Tol.Plus/c.Factor.Tol.K*v.r.NormFloat64() })
	}
	return (jaw + drift - s*constant) / factor / rg.Scale
}

// take replaces every reading of a planned study by what a display shows. truth
// is what a rail carries in a state and what one reading scatters by.
func (v *virtual) take(planned *study.Study, meter string, truth func(b *study.Board, r *study.Rail, state string) (amps, scatter float64)) {
	round := func(x float64, r *study.Range) float64 { return math.Round(x/r.Digit.Value()) * r.Digit.Value() }
	smallest := func(m *study.Instrument, x float64) *study.Range {
		var best *study.Range
		for _, r := range m.Ranges {
			if r.Measures == quantity.Volt && r.To.Value() >= math.Abs(x) && (best == nil || r.To.Value() < best.To.Value()) {
				best = r
			}
		}
		return best
	}
	for _, sit := range planned.Sittings {
		b := planned.Board(sit.Board)
		position := map[string]float64{}
		for _, r := range b.Rails {
			for _, t := range r.Taps {
				if in := planned.Instrument(t.Instrument); t.Kind == study.TapClamp {
					position[r.Name] = v.within(in.Range(t.Range).Position)
				}
			}
		}
		for _, st := range sit.Steps {
			at := st.At.Sub(sit.On).Seconds()
			for _, z := range st.Zeros {
				// A zero is read on the range of the readings: one is drawn for the first
				// rail of the clamp, since a plan has each clamp on one range.
				for _, r := range b.Rails {
					for _, t := range r.Taps {
						if own := z.Rail == r.Name; !own && (z.Rail != "" || t.Instrument != z.Instrument || t.Range != z.Range) {
							continue
						}
						m := planned.Instrument(meter)
						amps, scatter := truth(b, r, planned.States[0].Name)
						out := v.output(b, r, t, position[r.Name], amps+2*scatter, 0)
						rg := smallest(m, out)
						z.Reading.Entry = single(round(v.shows(meter, rg, v.output(b, r, t, 0, 0, at)), rg), rg.Digit.Value(), quantity.Volt)
					}
				}
			}
			for _, rr := range st.Rails {
				r := b.Rail(rr.Rail)
				amps, scatter := truth(b, r, st.State)
				for i, t := range r.Taps {
					read := func(x *study.Reading, sign float64) {
						rg := planned.Instrument(meter).Range(x.Range)
						for k := range x.Values {
							x.Values[k] = round(v.shows(meter, rg, v.output(b, r, t, position[r.Name], sign*(amps+scatter*v.r.NormFloat64()), at)), rg)
						}
					}
					read(&rr.Current[i].Reading, 1)
					if back := rr.Current[i].Back; back != nil {
						read(back, -1)
					}
				}
				rg := smallest(planned.Instrument(meter), r.Nominal.Value())
				rr.Voltage.Values[0] = round(v.shows(meter, rg, r.Nominal.Value()), rg)
			}
		}
	}
}
