package sensing

import (
	"fmt"
	"math"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// meterOn is a meter set to a range.
type meterOn struct {
	in  *study.Instrument
	rng *study.Range
}

// display records what the display showed: y with its own scatter, plus the
// resolution q. The name says which reading it is.
func (b *Bench) display(e quantity.Entry, m meterOn, name string, tag func(cause, instrument string) []gum.Tag) gum.Value {
	var y gum.Value
	switch {
	case e.Tol != nil && e.Tol.DOF > 0: // the mean of a logged window: no flicker, but what scatter leaves of it
		y = b.G.Const(e.Value())
		if d := Within(e, 0); d.StdDev() > 0 {
			y = b.Input(name+", mean of a window", d, tag(CauseScatter, ""))
		}
	case e.Tol != nil || e.Kind == quantity.Band:
		y = b.Input(name+", flicker", Within(e, 0), tag(CauseBand, ""))
	case e.Kind == quantity.Repeats:
		if d := Within(e, 0); d.StdDev() > 0 {
			y = b.Input(name+", repeats", d, tag(CauseScatter, ""))
		} else {
			y = b.G.Const(d.Expectation())
		}
	default:
		y = b.G.Const(e.Value())
	}
	if step := resolution(e, m.rng); step > 0 {
		q := b.Input(name+", last digit", gum.Rectangular{Lo: -step / 2, Hi: step / 2},
			tag(CauseResolution, m.in.Name))
		y = y.Add(q)
	}
	return y
}

// resolution is the step of a reading: the meter's last digit, or the last
// digit written down where that is coarser (what was not written is not known).
func resolution(e quantity.Entry, r *study.Range) float64 {
	step := e.Step
	if r.Digit != nil {
		step = math.Max(step, r.Digit.Value())
	}
	return step
}

// largest returns the reading's value of largest magnitude, with its sign.
func largest(e quantity.Entry) float64 {
	var m float64
	for _, x := range e.Values {
		if math.Abs(x) > math.Abs(m) {
			m = x
		}
	}
	return m
}

// side is the sign of a reading, 1 for none.
func side(e quantity.Entry) float64 {
	if largest(e) < 0 {
		return -1
	}
	return 1
}

// meterFor finds the meter and range that a reading of unit u was taken with:
// as the reading says, else as the tap says, else the sitting's meter on the
// smallest of its ranges that holds the reading.
func (b *Bench) meterFor(p Place, rd study.Reading, meter, rng string, u quantity.Unit) (meterOn, error) {
	if rd.Meter != "" {
		meter, rng = rd.Meter, ""
	}
	if rd.Range != "" {
		rng = rd.Range
	}
	in := b.study.Instrument(meter)
	if in == nil {
		return meterOn{}, fmt.Errorf("%s, %s, %s: no meter is named for this reading (give the sitting, the tap or the reading a meter)",
			p.Sitting.Name, p.State, p.Rail.Name)
	}
	if rng != "" {
		r := in.Range(rng)
		if r == nil || r.Measures != u {
			return meterOn{}, fmt.Errorf("%s, %s, %s: %s has no range %q that shows %s",
				p.Sitting.Name, p.State, p.Rail.Name, in.Name, rng, u)
		}
		return meterOn{in, r}, nil
	}
	r := SmallestRange(in, u, math.Abs(largest(rd.Entry)))
	if r == nil {
		return meterOn{}, fmt.Errorf("%s, %s, %s: %s has no range that shows %s",
			p.Sitting.Name, p.State, p.Rail.Name, in.Name, u)
	}
	return meterOn{in, r}, nil
}

// SmallestRange is the smallest range of an instrument for unit u that holds
// magnitude x, or its largest when none does; nil when it has none for u.
func SmallestRange(in *study.Instrument, u quantity.Unit, x float64) *study.Range {
	var best, top *study.Range
	for _, r := range in.Ranges {
		if r.Measures != u {
			continue
		}
		to := Limit(r)
		if top == nil || to > Limit(top) {
			top = r
		}
		if to >= x && (best == nil || to < Limit(best)) {
			best = r
		}
	}
	if best == nil {
		return top
	}
	return best
}

// Limit is the largest magnitude a range can show; +Inf when not stated.
func Limit(r *study.Range) float64 {
	if r.To == nil {
		return math.Inf(1)
	}
	return r.To.Value()
}

// checkRange notes readings beyond a range's limit or lost in its lowest part.
func (b *Bench) checkRange(p Place, m meterOn, e quantity.Entry) {
	x, to := math.Abs(largest(e)), Limit(m.rng)
	if x > to {
		b.note(p.finding("over-range", Wrong,
			phrase.New("%s on %s is beyond the range's limit of %s.",
				phrase.Number(quantity.Format(largest(e), e.Unit, 4)), rangeName(m.in, m.rng), phrase.Number(quantity.Format(to, e.Unit, 3))),
			phrase.New("Read again on a higher range; this figure is not to be used.")))
	}
}
