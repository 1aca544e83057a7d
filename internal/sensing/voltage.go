package sensing

import (
	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// assumedTolerance widens a nominal voltage that stands in for a reading and
// states no tolerance of its own: ±5 % (common practice, no source).
const assumedTolerance = 0.05

// Voltage is the model of a rail's voltage at the chip's side of the loop. rr
// may hold no voltage: the nominal one then stands in. currents are the
// rail's tap currents at the same place, used where the voltage was read before
// the loop.
func (b *Bench) Voltage(p Place, rr *study.RailReading, currents []Sensed) (Sensed, error) {
	if rr.Voltage == nil {
		return b.nominal(p), nil
	}
	rd := *rr.Voltage
	m, err := b.meterFor(p, rd, p.Sitting.VoltageMeter, "", quantity.Volt)
	if err != nil {
		return Sensed{}, err
	}
	b.checkRange(p, m, rd.Entry)
	errs := b.errorsOf(m.in, m.rng, p.Room())
	if !errs.known {
		b.noteNoSpec(p, m.in, m.rng)
	}
	b.checkCalibration(p, m.in, m.rng)
	v := errs.apply(b.display(rd.Entry, m, p.name("voltage"), p.tags), side(rd.Entry))
	if errs.residual > 0 {
		// A line that holds after zeroing, of a meter that reads a voltage.
		v = v.Add(b.once(sharedKey{what: "residual", instrument: m.in.Name, rng: m.rng.Name}, func() gum.Value {
			return b.Input(rangeName(m.in, m.rng)+": offset left after zeroing",
				gum.Rectangular{Lo: -errs.residual, Hi: errs.residual}, tags(TagInstrument, m.in.Name, TagCause, CauseMeterSpec))
		}))
	}
	if rr.FeedSide {
		v = b.takeOffDrop(p, v, currents)
	}
	b.checkVoltage(p, v.Estimate())
	return Sensed{Value: v, Reading: rd, Meter: m.in.Name, Range: m.rng.Name}, nil
}

// nominal lets the rail's nominal voltage stand in for one that was not read.
// What the rail really was may differ from state to state, so nothing is shared.
func (b *Bench) nominal(p Place) Sensed {
	d, stated := nominalWithin(p.Rail.Nominal)
	nominal := phrase.Number(quantity.Format(p.Rail.Nominal.Value(), quantity.Volt, 3))
	text := phrase.New("The voltage was not read; the nominal %s stands in and costs its stated tolerance.", nominal)
	if !stated {
		text = phrase.New("The voltage was not read; the nominal %s stands in and costs an assumed ±5 %%, since none is stated.", nominal)
	}
	b.note(p.finding("nominal-voltage", Doubtful, text,
		phrase.New("Read the voltage at the chip's side of the loop, at the time of the current.")))
	return Sensed{Value: b.Input(p.name("voltage, nominal"), d, p.tags(CauseNominal, "")), Stands: true}
}

// takeOffDrop corrects a voltage read before the loop by the loop's I·R. With
// several phases each loop drops the same voltage between the same two nodes;
// the mean of the computed drops is taken.
func (b *Bench) takeOffDrop(p Place, v gum.Value, currents []Sensed) gum.Value {
	var drops []gum.Value
	for _, c := range currents {
		if c.Tap == nil || c.Tap.Loop == nil {
			continue
		}
		tap := c.Tap
		r := b.once(p.mounting("loop", tap), func() gum.Value {
			return b.Input(p.mountingName(tap)+": resistance of the loop", loopDistribution(*tap.Loop), p.tags(CauseLoop, ""))
		})
		drops = append(drops, c.Value.Mul(r))
	}
	if len(drops) == 0 {
		b.note(p.finding("feed-side-voltage", Doubtful,
			phrase.New("The voltage was read before the loop, and the loop's size is not recorded, so its drop could not be taken off."),
			phrase.New("Record the loop's gauge and length, or read at the chip's side of it.")))
		return v
	}
	// The loop takes from the voltage's magnitude, whatever its sign.
	return v.Sub(gum.Mean(drops...).Scale(p.Rail.Polarity()))
}
