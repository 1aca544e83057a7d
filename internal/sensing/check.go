package sensing

import (
	"fmt"
	"math"
	"time"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// lowestPart is the part of a clamp's range below which its accuracy line says
// little about the reading (2 %; common practice, no source).
const lowestPart = 0.02

// checkCurrent questions a tap's current: its sign, and where it lies in the
// sensor's range.
func (b *Bench) checkCurrent(p Place, tap *study.Tap, se sensor, tr *study.TapReading, value gum.Value) {
	amps := value.Estimate()
	if amps < 0 && b.beyondError(value) {
		text := phrase.New("The current is negative (%s): the leads are the other way round, or the zero is wrong.", phrase.Number(quantity.Format(amps, quantity.Ampere, 3)))
		if tap.Kind == study.TapClamp {
			text = phrase.New("The current is negative (%s): the clamp is the other way round, or the zero is wrong.", phrase.Number(quantity.Format(amps, quantity.Ampere, 3)))
		}
		b.note(p.finding("current-negative", Wrong, text,
			phrase.New("Turn it round and read again, or mark the tap as reversed if the rail was wired so throughout.")))
	}
	if tap.Kind != study.TapClamp {
		return
	}
	jaw := math.Abs(largest(tr.Reading.Entry)) * se.perUnit
	where := se.name
	if tap.Range != "" {
		where += " " + tap.Range
	}
	switch {
	case jaw > se.limit:
		b.note(p.finding("over-range", Wrong,
			phrase.New("%s through the jaw of %s is beyond its limit of %s.",
				phrase.Number(quantity.Format(jaw, quantity.Ampere, 3)), where, phrase.Number(quantity.Format(se.limit, quantity.Ampere, 3))),
			phrase.New("Use a higher range or fewer turns and read again; this figure is not to be used.")))
	case jaw < lowestPart*se.limit && !math.IsInf(se.limit, 1):
		b.note(p.finding("low-in-range", Note,
			phrase.New("%s through the jaw uses less than %.0f %% of %s (%s).",
				phrase.Number(quantity.Format(jaw, quantity.Ampere, 2)), 100*lowestPart, where, phrase.Number(quantity.Format(se.limit, quantity.Ampere, 3))),
			phrase.New("Thread more turns, use a lower range, or use a shunt for this rail.")))
	}
}

// beyondError tells whether a value is further from zero than twice its
// standard uncertainty (our own choice): a rail that draws nothing reads a
// little below zero half of the time.
func (b *Bench) beyondError(v gum.Value) bool {
	r, err := b.G.Result(v)
	return err == nil && math.Abs(r.Estimate) > 2*r.U
}

// CheckFeed questions an inductor's current taken for the rail's, and a winding
// whose temperature nobody knows.
func (b *Bench) CheckFeed(p Place) {
	inductor := p.Rail.Feed == study.InductorLeg
	for _, t := range p.Rail.Taps {
		inductor = inductor || t.Kind == study.TapInductor
	}
	if !inductor {
		return
	}
	for _, t := range p.Rail.Taps {
		if t.Kind == study.TapInductor && t.Winding == nil {
			b.note(p.finding("winding-unknown", Doubtful,
				phrase.New("The temperature of the inductor's winding is not recorded, so its resistance is taken as at %.0f °C; copper gains 0.39 %% for each kelvin, and that is not in the uncertainty.", t.WindingRef),
				phrase.New("Record how warm the winding was while it was read, as in winding: 45 ± 10 °C.")))
		}
	}
	switch p.Rail.Converter {
	case study.Buck:
	case "":
		b.note(p.finding("converter-not-said", Note,
			phrase.New("The current was taken at the inductor, and the kind of converter is not recorded. Only a buck's inductor carries the output current."),
			phrase.New("Record converter: buck once you have made sure of it.")))
	default:
		b.note(p.finding("inductor-not-output", Wrong,
			phrase.New("The current was taken at the inductor of a %s converter, which does not carry the output current.", p.Rail.Converter),
			phrase.New("Open the rail after the output capacitor instead (a link or bead), and read there.")))
	}
}

func (b *Bench) checkNoZero(p Place, tap *study.Tap, se sensor) {
	if tap.Kind == study.TapSeries {
		return // a series meter's zero is part of its accuracy line
	}
	text := phrase.New("No zero was taken, so the offset of the sensor is known only from its accuracy line.")
	if se.residual > 0 {
		text = phrase.New("No zero was taken, but the accuracy line holds only after one; the offset before it is not in the uncertainty.")
	}
	b.note(p.finding("no-zero", Doubtful, text,
		phrase.New("Take a zero with no current before the readings, and another after them.")))
}

func (b *Bench) checkZeroAge(p Place, z zeroes) {
	limit := study.DefaultStaleZero
	if b.study.StaleZero != nil {
		limit = b.study.StaleZero.Value()
	}
	if age, ok := z.age(p.Sitting, p.Step); ok && age.Seconds() > limit {
		b.note(p.finding("zero-stale", Doubtful,
			phrase.New("The nearest zero is %s away; zeros are questioned beyond %s.",
				minutes(age), minutes(time.Duration(limit*float64(time.Second)))),
			phrase.New("Take a fresh zero and read again.")))
	}
}

// minutes prints a time as a bench clock is read: "33 min", "1 h 5 min".
func minutes(d time.Duration) string {
	m := int(d.Round(time.Minute).Minutes())
	switch h := m / 60; {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m%60 == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m%60)
	}
}

// checkDriftKnown notes a reading whose zero was taken on one side only, when
// nothing says how far the zero may have wandered.
func (b *Bench) checkDriftKnown(p Place, z zeroes, se sensor) {
	if _, timed := z.age(p.Sitting, p.Step); timed && se.drift > 0 {
		return
	}
	do := phrase.New("Take a zero after the last reading too.")
	if se.clamp {
		do = phrase.New("Take a zero after the last reading too, or record the clamp's zero drift and the times of the steps.")
	}
	b.note(p.finding("drift-unknown", Note,
		phrase.New("There is a zero on one side of the readings only, and nothing says how far it drifts; drift of the zero is not in the uncertainty."), do))
}

func (b *Bench) noteNoSpec(p Place, in *study.Instrument, r *study.Range) {
	b.note(p.finding("no-accuracy-line", Doubtful,
		phrase.New("%s has neither an accuracy line nor a calibration; its error is not in the uncertainty.", rangeName(in, r)),
		phrase.New("Copy the accuracy line from its data sheet, or calibrate it against something better.")))
}

// checkCalibration notes a calibration that was overdue on the day.
func (b *Bench) checkCalibration(p Place, in *study.Instrument, r *study.Range) {
	c := in.CalibrationOf(r)
	if c == nil || c.Due.IsZero() || !p.Sitting.On.After(c.Due.AddDate(0, 0, 1)) {
		return
	}
	b.note(p.finding("calibration-overdue", Doubtful,
		phrase.New("The calibration of %s was due on %s, before this sitting.", in.Name, c.Due.Format(time.DateOnly)),
		phrase.New("Calibrate again; if the factor still holds, say so with the new date.")))
}

// unstatedFactor is how far a voltage may lie from a nominal one without a
// tolerance before it is questioned, either way (our own choice): enough to
// find a wrong range, the wrong rail, or leads the wrong way round.
const unstatedFactor = 1.5

// checkVoltage questions a voltage outside its rail's tolerance.
func (b *Bench) checkVoltage(p Place, v float64) {
	n := p.Rail.Nominal
	lo, hi := n.Value()/unstatedFactor, n.Value()*unstatedFactor
	switch {
	case n.Tol != nil:
		lo, hi = n.Value()-n.Tol.Minus, n.Value()+n.Tol.Plus
	case n.Kind == quantity.Band:
		lo, hi = n.Values[0], n.Values[1]
	case lo > hi:
		lo, hi = hi, lo
	}
	if v >= lo && v <= hi {
		return
	}
	b.note(p.finding("voltage-outside", Doubtful,
		phrase.New("%s is outside the rail's %s to %s.", phrase.Number(quantity.Format(v, quantity.Volt, 4)),
			phrase.Number(quantity.Format(lo, quantity.Volt, 4)), phrase.Number(quantity.Format(hi, quantity.Volt, 4))),
		phrase.New("Check where the voltage was read and how far the loop makes the rail sag; the chip may behave differently at this voltage.")))
}
