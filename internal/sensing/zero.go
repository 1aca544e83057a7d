package sensing

import (
	"math"
	"time"

	"railtally/internal/study"
)

// zeroes are the zeros that hold for one reading: the last one before it and
// the first one after it, each nil when there is none.
type zeroes struct {
	before, after         *study.Zero
	beforeStep, afterStep int
}

// any returns whichever zero there is, or nil.
func (z zeroes) any() *study.Zero {
	if z.before != nil {
		return z.before
	}
	return z.after
}

// findZeros looks for the zeros of a tap's reading at a step. Zeros taken at
// that very rail and tap are used where the sitting has any; else those of the
// instrument's range. Zeros of a step come before its readings.
func findZeros(s *study.Sitting, step int, rail *study.Rail, tap *study.Tap) zeroes {
	own := func(z *study.Zero) bool { return z.Rail == rail.Name && rail.Tap(z.Tap) == tap }
	shared := func(z *study.Zero) bool {
		return z.Rail == "" && tap.Instrument != "" && z.Instrument == tap.Instrument &&
			(z.Range == "" || z.Range == tap.Range)
	}
	if z := nearest(s, step, own); z.any() != nil {
		return z
	}
	return nearest(s, step, shared)
}

func nearest(s *study.Sitting, step int, holds func(*study.Zero) bool) zeroes {
	var z zeroes
	for i, st := range s.Steps {
		for _, c := range st.Zeros {
			switch {
			case !holds(c):
			case i <= step:
				z.before, z.beforeStep = c, i
			case z.after == nil:
				z.after, z.afterStep = c, i
			}
		}
	}
	return z
}

// weight is the share of the later zero in the zero at the time of the
// reading: by time where all three were timed, half where they were not.
func (z zeroes) weight(s *study.Sitting, step int) float64 {
	t0, t, t1 := s.Steps[z.beforeStep].At, s.Steps[step].At, s.Steps[z.afterStep].At
	if t0.IsZero() || t.IsZero() || t1.IsZero() || !t1.After(t0) {
		return 0.5
	}
	return math.Min(1, math.Max(0, t.Sub(t0).Seconds()/t1.Sub(t0).Seconds()))
}

// age is the time between a reading and the nearest of its zeros, in either
// direction; ok is false when the steps were not timed.
func (z zeroes) age(s *study.Sitting, step int) (age time.Duration, ok bool) {
	t := s.Steps[step].At
	if t.IsZero() {
		return 0, false
	}
	consider := func(zero *study.Zero, at time.Time) {
		if zero == nil || at.IsZero() {
			return
		}
		if d := t.Sub(at).Abs(); !ok || d < age {
			age, ok = d, true
		}
	}
	if z.before != nil {
		consider(z.before, s.Steps[z.beforeStep].At)
	}
	if z.after != nil {
		consider(z.after, s.Steps[z.afterStep].At)
	}
	return age, ok
}
