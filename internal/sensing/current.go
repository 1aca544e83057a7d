package sensing

import (
	"fmt"
	"math"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Sensed is an uncertain current or voltage with where it came from.
type Sensed struct {
	Value gum.Value
	// Reading as it was written, the meter and range that showed it.
	Reading      study.Reading
	Meter, Range string
	// Zeros that were taken off, nil where there was none.
	ZeroBefore, ZeroAfter *study.Zero
	Tap                   *study.Tap // nil for a voltage
	// Stands tells that nothing was read and the nominal value stands in.
	Stands bool
	// Together is what must be added to the current so that its product with the voltage is the mean of the
	// product, where both were logged together; not Valid where they were not.
	Together gum.Value
}

// sensor is what lies between the rail's current and the meter: how many
// amperes a volt on the meter means, and the sensor's own errors.
type sensor struct {
	toAmps   func(v gum.Value, side float64) gum.Value // scale and correction, errors in proportion and offset
	perUnit  float64                                   // amperes per unit on the meter, nominal
	name     string                                    // of the instrument, for tags
	residual float64                                   // amperes left after zeroing, half-width
	drift    float64                                   // amperes per second
	position float64                                   // parts of the reading, half-width
	limit    float64                                   // amperes through the jaw
	clamp    bool
	unit     quantity.Unit // what the meter shows: volt or ampere
}

// Current is the model of one tap's current; see the package comment for the
// formula. tr is what was read at the tap at this place.
func (b *Bench) Current(p Place, tap *study.Tap, tr *study.TapReading) (Sensed, error) {
	se, err := b.sensorOf(p, tap)
	if err != nil {
		return Sensed{}, err
	}
	meter, rng := tap.Meter, tap.MeterRange
	switch {
	case tap.Kind == study.TapSeries:
		meter, rng = tap.Instrument, tap.Range
	case meter == "":
		meter = p.Sitting.CurrentMeter
	}
	m, err := b.meterFor(p, tr.Reading, meter, rng, se.unit)
	if err != nil {
		return Sensed{}, err
	}
	b.checkRange(p, m, tr.Reading.Entry)
	errs := b.errorsOf(m.in, m.rng, p.Room())
	if !errs.known {
		b.noteNoSpec(p, m.in, m.rng)
	}
	b.checkCalibration(p, m.in, m.rng)
	out := Sensed{Reading: tr.Reading, Meter: m.in.Name, Range: m.rng.Name, Tap: tap}

	what := "current"
	if tap.Name != "" {
		what = "current of " + tap.Name
	}
	at := side(tr.Reading.Entry)
	read := func(e quantity.Entry, name string) gum.Value {
		return se.toAmps(errs.apply(b.display(e, m, p.name(name), p.tags), at), at)
	}
	amps := read(tr.Reading.Entry, what)

	if tr.Back != nil {
		// The wire threaded the other way turns the sign of the current and of
		// nothing else: half the difference is free of every constant part.
		amps = amps.Sub(read(tr.Back.Entry, what+", threaded back")).Scale(0.5)
	} else {
		amps = b.takeOffZero(p, tap, m, se, amps, &out)
	}
	if tr.Back == nil {
		amps = b.leaveOffset(p, tap, amps, se.residual, CauseClampSpec, se.name)
		amps = b.leaveOffset(p, tap, amps, errs.residual*se.perUnit, CauseMeterSpec, m.in.Name)
	}
	if tap.Turns > 1 {
		amps = amps.Scale(1 / float64(tap.Turns))
	}
	if se.position > 0 {
		pos := b.once(p.mounting("position", tap), func() gum.Value {
			return b.Input(p.mountingName(tap)+": wire in the jaw",
				gum.Rectangular{Lo: -se.position, Hi: se.position}, p.tags(CausePosition, se.name))
		})
		amps = amps.Mul(pos.AddConst(1))
	}
	if tap.Reversed {
		amps = amps.Neg()
	}
	if w := tr.WithVoltage; w != nil {
		out.Together = amps.Mul(b.Input(p.name(what+", with the voltage"), Within(*w, w.Step), p.tags(CauseScatter, "")))
	}
	b.checkCurrent(p, tap, se, tr, amps)
	out.Value = amps
	return out, nil
}

// leaveOffset adds what a line such as ±(1 % + 5 mA after zero) says is left of
// the offset after zeroing, in amperes, either way: an offset of the mounting.
func (b *Bench) leaveOffset(p Place, tap *study.Tap, amps gum.Value, half float64, cause, instrument string) gum.Value {
	if half == 0 {
		return amps
	}
	return amps.Add(b.once(p.mounting("residual, "+cause, tap), func() gum.Value {
		return b.Input(p.mountingName(tap)+": offset left after zeroing",
			gum.Rectangular{Lo: -half, Hi: half}, p.tags(cause, instrument))
	}))
}

// takeOffZero subtracts the zero that held at the time of the reading, and
// lets it have drifted since.
func (b *Bench) takeOffZero(p Place, tap *study.Tap, m meterOn, se sensor, amps gum.Value, out *Sensed) gum.Value {
	z := findZeros(p.Sitting, p.Step, p.Rail, tap)
	out.ZeroBefore, out.ZeroAfter = z.before, z.after
	if z.any() == nil {
		b.checkNoZero(p, tap, se)
		return amps
	}
	b.checkZeroAge(p, z)
	at := side(out.Reading.Entry)
	var drift float64
	if z.before != nil && z.after != nil {
		// Zero, read, zero: the zero lies between the two, and may be as far
		// from the line between them as either end is from the middle.
		z0, z1 := b.zeroAmps(p, z.before, m, se, at), b.zeroAmps(p, z.after, m, se, at)
		w := z.weight(p.Sitting, p.Step)
		amps = amps.Sub(gum.WeightedSum([]float64{1 - w, w}, []gum.Value{z0, z1}))
		drift = math.Abs(z1.Estimate()-z0.Estimate()) / 2
	} else {
		amps = amps.Sub(b.zeroAmps(p, z.any(), m, se, at))
		if age, ok := z.age(p.Sitting, p.Step); ok {
			drift = se.drift * age.Seconds()
		}
		b.checkDriftKnown(p, z, se)
	}
	if drift > 0 {
		d := b.Input(p.name("zero drift"), gum.Rectangular{Lo: -drift, Hi: drift}, p.tags(CauseDrift, se.name))
		amps = amps.Sub(d)
	}
	return amps
}

// zeroAmps is a zero reading turned into amperes the way the reading was. It
// is shared by all readings that used the same zero on the same range. at is
// the side of the reading, see apply.
func (b *Bench) zeroAmps(p Place, z *study.Zero, m meterOn, se sensor, at float64) gum.Value {
	// A zero is read without touching the range (a meter's offset belongs to
	// its range), unless it says otherwise.
	if z.Reading.Range != "" || z.Reading.Meter != "" {
		meter := z.Reading.Meter
		if meter == "" {
			meter = m.in.Name
		}
		if own, err := b.meterFor(p, z.Reading, meter, "", se.unit); err == nil {
			m = own
		}
	}
	errs := b.errorsOf(m.in, m.rng, p.Room())
	t := func(cause, instrument string) []gum.Tag {
		if cause == CauseResolution || cause == CauseScatter || cause == CauseBand {
			cause = CauseZero
		}
		return tags(TagInstrument, se.name, TagCause, cause, TagBoard, p.Board.Name,
			TagSitting, p.Sitting.Name, TagRail, z.Rail)
	}
	shown := b.once(sharedKey{what: "zero", zero: z, instrument: m.in.Name, rng: m.rng.Name}, func() gum.Value {
		return b.display(z.Reading.Entry, m, zeroName(p.Sitting, z), t)
	})
	return se.toAmps(errs.apply(shown, at), at)
}

// zeroName tells zeros apart by what they belong to and when they were taken.
func zeroName(s *study.Sitting, z *study.Zero) string {
	what := z.Instrument
	if z.Rail != "" {
		what = z.Rail
	}
	n := 0
	for _, st := range s.Steps {
		for _, c := range st.Zeros {
			if c.Rail == z.Rail && c.Tap == z.Tap && c.Instrument == z.Instrument && c.Range == z.Range {
				n++
			}
			if c == z {
				return fmt.Sprintf("%s, zero %d of %s", s.Name, n, what)
			}
		}
	}
	return s.Name + ", zero of " + what
}

// mounting is the cause shared by all readings of one tap in one sitting.
func (p Place) mounting(what string, tap *study.Tap) sharedKey {
	return sharedKey{what: what, board: p.Board.Name, rail: p.Rail.Name, tap: tap.Name, sitting: p.Sitting.Name}
}

func (p Place) mountingName(tap *study.Tap) string {
	n := p.Sitting.Name + ", " + p.Rail.Name
	if tap.Name != "" {
		n += " " + tap.Name
	}
	return n
}
