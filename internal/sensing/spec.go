package sensing

import (
	"math"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Limits are the two parts of an accuracy line at one room temperature: an
// error of Proportional·|reading| + Constant is just allowed.
type Limits struct {
	Proportional float64 // parts of the reading
	Constant     float64 // in the unit the range measures
	AfterZero    bool    // the constant part holds after zeroing
}

// HalfWidth is the largest error the line allows at a reading. The parts of
// one line add linearly; they are one limit.
func (l Limits) HalfWidth(reading float64) float64 {
	return l.Proportional*math.Abs(reading) + l.Constant
}

// LimitsOf works out a range's accuracy line. room is the temperature in °C
// (NaN when not recorded: taken to be inside the window). Digits count in
// steps of the range's last digit, parts of range in its To. ok is false when
// the range has no accuracy line.
func LimitsOf(r *study.Range, room float64) (l Limits, ok bool) {
	if r.Spec == nil {
		return Limits{}, false
	}
	l = plainLimits(*r.Spec, r)
	l.AfterZero = r.Spec.AfterZero
	if out := OutsideWindow(r.TempCo, room); out > 0 {
		// Manufacturers add the coefficient to the line before anything is
		// divided by √3 (common practice, no source).
		t := plainLimits(r.TempCo.Spec, r)
		l.Proportional += out * t.Proportional
		l.Constant += out * t.Constant
	}
	return l, true
}

func plainLimits(s quantity.Spec, r *study.Range) Limits {
	l := Limits{Proportional: s.Reading, Constant: s.Fixed}
	if r.To != nil {
		l.Constant += s.Range * r.To.Value()
	}
	if r.Digit != nil {
		l.Constant += s.Digits * r.Digit.Value()
	}
	return l
}

// OutsideWindow is how many kelvins room lies outside the window of a
// temperature coefficient; 0 inside it, without one, or without a room
// temperature (NaN).
func OutsideWindow(t *quantity.TempCo, room float64) float64 {
	if t == nil || math.IsNaN(room) {
		return 0
	}
	return math.Max(0, math.Max(t.Lo-room, room-t.Hi))
}

// specDistribution is the distribution of s, the place inside the accuracy
// line: a rectangle, unless the line states its coverage factor or level.
func specDistribution(s quantity.Spec) gum.Distribution {
	switch {
	case s.K > 0:
		return gum.Normal{U: 1 / s.K}
	case s.Level > 0:
		return gum.Normal{U: 1 / normalK(s.Level)}
	}
	return gum.Rectangular{Lo: -1, Hi: 1}
}

// gainAndOffset are the shared error terms of one instrument on one range: a
// reading x of it becomes c·x·(1 + gain) + offset. A term that is not Valid is
// not there.
type gainAndOffset struct {
	known    bool      // there is an accuracy line or a calibration
	gain     gum.Value // s·p, and the drift since calibration
	offset   gum.Value // s·a
	factor   gum.Value // correction factor
	residual float64   // half-width of a constant part that stays after zeroing
}

// errorsOf records, or finds again, the error terms of a range.
func (b *Bench) errorsOf(in *study.Instrument, r *study.Range, room float64) gainAndOffset {
	var e gainAndOffset
	cal := in.CalibrationOf(r)
	if lim, ok := LimitsOf(r, room); ok {
		e.known = true
		cause := CauseMeterSpec
		switch in.Kind {
		case study.Clamp:
			cause = CauseClampSpec
		case study.Thermometer:
			cause = CauseThermometer
		}
		s := b.once(sharedKey{what: "spec", instrument: in.Name, rng: r.Name}, func() gum.Value {
			return b.Input(rangeName(in, r)+": "+cause, specDistribution(*r.Spec),
				tags(TagInstrument, in.Name, TagCause, cause))
		})
		p := lim.Proportional
		if cal != nil {
			// The factor was found at the temperature of the calibration; what the
			// line adds outside its window is not in it.
			p -= plainLimits(*r.Spec, r).Proportional
		}
		if p > 0 {
			e.gain = s.Scale(p)
		}
		switch {
		case lim.AfterZero:
			e.residual = lim.Constant
		case lim.Constant > 0:
			e.offset = s.Scale(lim.Constant)
		}
	}
	if cal != nil {
		e.known = true
		var drift gum.Value
		e.factor, drift = b.calibrated(in, r, cal)
		switch {
		case !e.gain.Valid():
			e.gain = drift
		case drift.Valid():
			e.gain = e.gain.Add(drift)
		}
	}
	return e
}

// calibrated gives the correction factor, and its drift since where one is
// stated. A calibration of the whole instrument is one cause for all ranges.
func (b *Bench) calibrated(in *study.Instrument, r *study.Range, cal *study.Calibration) (factor, drift gum.Value) {
	key, name := sharedKey{instrument: in.Name}, in.Name
	if r.Calibration != nil {
		key.rng, name = r.Name, rangeName(in, r)
	}
	t := tags(TagInstrument, in.Name, TagCause, CauseCal)
	key.what = "factor"
	factor = b.once(key, func() gum.Value {
		return b.Input(name+": correction factor", Within(cal.Factor, 0), t)
	})
	if cal.Drift > 0 {
		key.what = "calibration drift"
		drift = b.once(key, func() gum.Value {
			return b.Input(name+": drift since calibration", gum.Rectangular{Lo: -cal.Drift, Hi: cal.Drift}, t)
		})
	}
	return factor, drift
}

// apply gives c·x·(1 + gain) + offset, the offset turned by side, the sign of
// the reading that is corrected: a line allows p|y| + a on either side of zero,
// so the two parts of one s must not cancel where y is negative. What is
// subtracted from a reading, its zero, is given the reading's side, so that the
// offset still leaves the difference.
func (e gainAndOffset) apply(x gum.Value, side float64) gum.Value {
	if e.factor.Valid() {
		x = x.Mul(e.factor)
	}
	if e.gain.Valid() {
		x = x.Mul(e.gain.AddConst(1))
	}
	if e.offset.Valid() {
		x = x.Add(e.offset.Scale(side))
	}
	return x
}
