package plan

import (
	"context"
	"math"

	"railtally/internal/plan/insertion"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Class is a class of instruments that is not on the shelf, and what a target
// would come to with it in place of every sensor and meter.
type Class struct {
	Name    string
	After   float64 // half-width, watts
	Reaches bool
}

// classes are shunts with meters, from what a drawer holds to what a calibration
// laboratory does (common figures of their kind, no source).
var classes = [...]struct {
	name           string
	shunt, reading float64 // parts
	digits         float64
	steps          float64 // of a range
}{
	{"shunts good to 0.5 % and a 4½-digit meter (0.05 % + 3 digits)", 0.005, 0.0005, 3, 20000},
	{"shunts good to 0.1 % and a 5½-digit meter (0.015 % + 5 digits)", 0.001, 0.00015, 5, 200000},
	{"four-wire shunts good to 0.02 % and a 6½-digit meter (0.004 % + 20 digits)", 0.0002, 0.00004, 20, 2000000},
}

// beyond tries the classes in turn on top of the changes that helped, until one
// reaches the aim. Rails that are not to be opened stay so.
func (m *maker) beyond(ctx context.Context, v variant, p Prediction, tick func()) ([]Class, error) {
	var out []Class
	for i := range classes {
		if ctx.Err() != nil {
			return out, ctx.Err()
		}
		after, err := m.width(m.classed(v, i), p.Target)
		tick()
		if err != nil {
			return out, err
		}
		if math.IsInf(after, 1) {
			break
		}
		c := Class{Name: classes[i].name, After: after, Reaches: after <= p.Limit}
		out = append(out, c)
		if c.Reaches {
			break
		}
	}
	return out, nil
}

// classed puts the instruments of a class in place of those there are.
func (m *maker) classed(v variant, i int) variant {
	w, k := v.clone(), classes[i]
	const meter = "a better meter"
	in := &study.Instrument{Name: meter, Kind: study.Meter}
	for _, to := range []float64{0.02, 0.2, 2, 20, 200} {
		top, digit := entry(to, quantity.Volt), entry(2*to/k.steps, quantity.Volt)
		in.Ranges = append(in.Ranges, &study.Range{Name: quantity.Format(to, quantity.Volt, 3), Measures: quantity.Volt, To: &top, Digit: &digit,
			Spec: &quantity.Spec{Reading: k.reading, Digits: k.digits, Unit: quantity.Volt}})
	}
	w.study.Instruments = append(w.study.Instruments, in)
	for _, b := range w.study.Boards {
		for _, r := range b.Rails {
			most, known := m.expect.highest(b, r)
			if !known || r.Bound != nil {
				continue
			}
			band, _ := toleranceBand(r)
			for j, t := range r.Taps {
				ohm := niceBelow(insertion.SagShare * band / math.Max(most/float64(len(r.Taps)), 1e-9))
				v := entry(ohm, quantity.Ohm)
				v.Tol = &quantity.Tolerance{Minus: k.shunt * ohm, Plus: k.shunt * ohm}
				r.Taps[j] = &study.Tap{Name: t.Name, Kind: study.TapShunt, Turns: 1, Meter: meter, Resistor: &study.ShuntValue{Resistance: v}}
			}
		}
	}
	w.meter = meter
	return w
}

// niceBelow is the highest resistance of the series 1, 2, 5 that is not above x,
// between 0.1 mΩ and 100 Ω.
func niceBelow(x float64) float64 {
	x = math.Min(100, math.Max(1e-4, x))
	p := math.Pow(10, math.Floor(math.Log10(x)))
	switch f := x / p; {
	case f >= 5:
		return 5 * p
	case f >= 2:
		return 2 * p
	}
	return p
}

func entry(x float64, u quantity.Unit) quantity.Entry {
	return quantity.Entry{Kind: quantity.Single, Values: []float64{x}, Unit: u}
}
