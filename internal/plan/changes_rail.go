package plan

import (
	"fmt"
	"math"
	"slices"
	"time"

	"railtally/internal/plan/insertion"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// turnLength is the wire that one more turn through a jaw takes (common
// practice, no source).
const turnLength = 0.05

// someTurns are the numbers of turns that are tried.
var someTurns = [...]int{2, 3, 5, 10}

// railChanges are changes of how one rail is sensed.
func (m *maker) railChanges(v variant, b *study.Board, r *study.Rail) (out []change) {
	most, known := m.expect.highest(b, r)
	if !known {
		return nil
	}
	name := b.Name + " " + r.Name
	if r.Bound != nil {
		return m.openChanges(v, b, r, most)
	}
	for i, t := range r.Taps {
		where := name
		if t.Name != "" {
			where += " " + t.Name
		}
		group := "tap " + b.Name + "/" + r.Name + "/" + t.Name
		through := most / float64(len(r.Taps))
		put := func(k Kind, text, cost string, effort time.Duration, set func(*study.Tap)) {
			out = append(out, change{kind: k, text: text, cost: cost, effort: effort, group: group, apply: func(v *variant) {
				set(v.study.Board(b.Name).Rail(r.Name).Taps[i])
			}})
		}
		if t.Kind == study.TapClamp {
			in := v.study.Instrument(t.Instrument)
			for _, n := range someTurns {
				if n <= t.Turns {
					continue
				}
				loop, cost, ok := m.wound(r, t, n, through, in, in.Range(t.Range))
				if ok {
					put(MoreTurns, fmt.Sprintf("pass the wire of %s %d times through %s instead of %s", where, n, sensorName(in, t.Range), times(t.Turns)),
						cost, v.scheme.Times.Solder, func(t *study.Tap) { t.Turns, t.Loop = n, loop })
				}
			}
			key := [2]string{b.Name + "/" + r.Name, t.Name}
			if !v.scheme.BothWays[key] {
				out = append(out, change{kind: ThreadBoth, text: fmt.Sprintf("read %s with the wire threaded forward and back", where), group: "both " + group,
					effort: time.Duration(len(m.order[b.Name])) * v.scheme.Times.Mount, apply: func(v *variant) { v.scheme.BothWays[key] = true }})
			}
		}
		for _, in := range v.study.Instruments {
			switch in.Kind {
			case study.Clamp:
				for _, rg := range in.Ranges {
					if t.Kind == study.TapClamp && in.Name == t.Instrument && rg == in.Range(t.Range) {
						continue
					}
					n := t.Turns
					for n > 1 && !fits(n, through, rg) {
						n--
					}
					loop, cost, ok := m.wound(r, t, n, through, in, rg)
					if !ok {
						continue
					}
					put(OtherSensor, fmt.Sprintf("read %s with %s%s", where, sensorName(in, rg.Name), turnsText(n)), cost, v.scheme.Times.Mount, func(t *study.Tap) {
						*t = study.Tap{Name: t.Name, Kind: study.TapClamp, Instrument: in.Name, Range: rg.Name, Turns: n, Reversed: t.Reversed, Meter: t.Meter, MeterRange: "", Loop: loop}
					})
				}
			case study.Shunt:
				if t.Instrument == in.Name {
					continue
				}
				drop := through * in.Shunt.Resistance.Value()
				if band, _ := toleranceBand(r); drop > insertion.SagShare*band {
					continue // the sensing check says what it would cost
				}
				put(UseShunt, fmt.Sprintf("put %s into %s", in.Name, where), fmt.Sprintf("drops %s", volts(drop)), v.scheme.Times.Solder, func(t *study.Tap) {
					*t = study.Tap{Name: t.Name, Kind: study.TapShunt, Instrument: in.Name, Turns: 1, Reversed: t.Reversed, Meter: t.Meter}
				})
			}
		}
	}
	return out
}

// openChanges open a rail that was to be bounded only, with each clamp or shunt.
func (m *maker) openChanges(v variant, b *study.Board, r *study.Rail, most float64) (out []change) {
	put := func(with string, tap study.Tap) {
		out = append(out, change{kind: OpenRail, text: fmt.Sprintf("open %s %s after all and read it with %s", b.Name, r.Name, with),
			effort: 3 * v.scheme.Times.Solder, group: "tap " + b.Name + "/" + r.Name + "/",
			assume: fmt.Sprintf("it carries about %s", amps(r.Bound.Value())), apply: func(v *variant) {
				x := v.study.Board(b.Name).Rail(r.Name)
				// What is expected of it stays the middle of what it was bounded by.
				x.Bound, x.Taps = nil, []*study.Tap{&tap}
			}})
	}
	for _, in := range v.study.Instruments {
		switch in.Kind {
		case study.Clamp:
			for _, rg := range in.Ranges {
				n := 1
				for _, k := range someTurns {
					if k <= 5 && fits(k, most, rg) {
						n = k
					}
				}
				if fits(n, most, rg) {
					put(sensorName(in, rg.Name)+turnsText(n), study.Tap{Kind: study.TapClamp, Instrument: in.Name, Range: rg.Name, Turns: n})
				}
			}
		case study.Shunt:
			if band, _ := toleranceBand(r); most*in.Shunt.Resistance.Value() <= insertion.SagShare*band {
				put(in.Name, study.Tap{Kind: study.TapShunt, Instrument: in.Name, Turns: 1})
			}
		}
	}
	return out
}

// fits tells whether n turns of a current stay within nine tenths of a range.
func fits(n int, amps float64, rg *study.Range) bool {
	return float64(n)*amps <= 0.9*sensing.Limit(rg)
}

// wound is the loop with n turns through a clamp, what that costs, and whether
// it can be: within the clamp's range, its jaw, and what the rail may lose.
func (m *maker) wound(r *study.Rail, t *study.Tap, n int, through float64, in *study.Instrument, rg *study.Range) (loop *quantity.Wire, cost string, ok bool) {
	if rg == nil || !fits(n, through, rg) {
		return nil, "", false
	}
	if t.Loop == nil || t.Loop.Area == 0 {
		return t.Loop, "", true
	}
	w := *t.Loop
	w.Length += float64(n-max(1, t.Turns)) * turnLength
	w.Resistance = nil
	if w.Length <= 0 {
		w.Length = t.Loop.Length
	}
	if in.Jaw != nil && bundle(n, w.Area) > in.Jaw.Value() {
		return nil, "", false
	}
	drop := through * insertion.LoopResistance(w)
	if band, _ := toleranceBand(r); drop > insertion.SagShare*band && n > t.Turns {
		return nil, "", false
	}
	// Turns that lie together cool worse than the one wire that is computed: what
	// they warm by is said, and more than a hot wire is not advised.
	rise := insertion.LoopRise(through, w.Length, w.Area)
	if n > t.Turns && (math.IsNaN(rise) || rise > hotWire) {
		return nil, "", false
	}
	if more := w.Length - t.Loop.Length; more > 0 {
		cost = fmt.Sprintf("%s more wire, %s in the rail instead of %s", quantity.Format(more, quantity.Metre, 2),
			ohms(insertion.LoopResistance(w)), ohms(insertion.LoopResistance(*t.Loop)))
		if rise >= 1 {
			cost += fmt.Sprintf(", which warms by %.0f K and more where the turns lie together", rise)
		}
	}
	return &w, cost, true
}

// bundle is the width of n insulated wires passed through a jaw side by side:
// 0.8 mm of insulation on each, packed to six tenths (common practice, no
// source).
func bundle(n int, area float64) float64 {
	return (insertion.Diameter(area) + 0.8e-3) * math.Sqrt(float64(n)/0.6)
}

func turnsText(n int) string {
	if n <= 1 {
		return ""
	}
	return fmt.Sprintf(" ×%d", n)
}

func sensorName(in *study.Instrument, rng string) string {
	if rng == "" {
		return in.Name
	}
	return in.Name + " " + rng
}

// calibrationU is how well a known current lets a clamp be calibrated, as an
// expanded uncertainty (k = 2): ±0.4 % (common practice, no source).
const calibrationU = 0.004

// shelfChanges are changes of the instruments that the rails are read with.
func (m *maker) shelfChanges(v variant, rails []*study.Rail) (out []change) {
	used := func(name string) bool {
		return slices.ContainsFunc(rails, func(r *study.Rail) bool {
			return slices.ContainsFunc(r.Taps, func(t *study.Tap) bool { return t.Instrument == name })
		})
	}
	for _, in := range v.study.Instruments {
		switch {
		case in.Kind == study.Clamp && used(in.Name):
			if !calibratedWell(in) {
				out = append(out, change{kind: Calibrate, text: fmt.Sprintf("calibrate %s against a known current", in.Name), group: "calibrate " + in.Name, effort: 45 * time.Minute,
					assume: fmt.Sprintf("the current is known well enough for ±%s (k = 2)", pct(calibrationU)), apply: func(v *variant) {
						x := v.study.Instrument(in.Name)
						x.Calibration = &study.Calibration{On: m.bench.day, Factor: quantity.Entry{Values: []float64{1}, Tol: &quantity.Tolerance{Minus: calibrationU, Plus: calibrationU, K: 2}}}
						for _, r := range x.Ranges {
							r.Calibration = nil
						}
					}})
			}
			if slices.ContainsFunc(in.Ranges, func(r *study.Range) bool { return r.Position > 0 }) {
				out = append(out, change{kind: Spacer, text: fmt.Sprintf("hold the wire in the middle of the jaw of %s with a spacer", in.Name), group: "spacer " + in.Name, effort: 15 * time.Minute,
					assume: "that halves what the position in the jaw makes", apply: func(v *variant) {
						for _, r := range v.study.Instrument(in.Name).Ranges {
							r.Position /= 2
						}
					}})
			}
		case in.Kind == study.Meter && in.Name != v.meter:
			if !slices.ContainsFunc(in.Ranges, func(r *study.Range) bool { return r.Measures == quantity.Volt }) {
				continue
			}
			out = append(out, change{kind: OtherMeter, text: fmt.Sprintf("read everything with %s", in.Name), group: "meter", effort: 5 * time.Minute,
				apply: func(v *variant) {
					v.meter = in.Name
					for _, b := range v.study.Boards {
						for _, r := range b.Rails {
							for _, t := range r.Taps {
								t.Meter, t.MeterRange = "", ""
							}
						}
					}
				}})
		}
	}
	return out
}

// calibratedWell tells whether every range has a calibration at least as good as
// one that would be made now.
func calibratedWell(in *study.Instrument) bool {
	for _, r := range in.Ranges {
		c := in.CalibrationOf(r)
		if c == nil || c.Factor.Tol == nil || c.Factor.Tol.Plus/max(1, c.Factor.Tol.K) > 1.1*calibrationU/2 {
			return false
		}
	}
	return true
}
