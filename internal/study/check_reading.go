package study

import (
	"strings"

	"railtally/internal/quantity"
)

// railReading checks what was read for one rail in one step.
func (c *checker) railReading(p path, x *Sitting, b *Board, r *RailReading) {
	if b == nil {
		return // the sitting's board is unknown, which was reported
	}
	rail := b.Rail(r.Rail)
	if rail == nil {
		var known []string
		for _, r := range append(append([]*Rail(nil), b.Rails...), b.Inputs...) {
			known = append(known, r.Name)
		}
		c.fault(p, Accepting(r.Rail, known), "%s has no rail called %q", b.Name, r.Rail)
		return
	}
	c.currents(p.with("i"), x, rail, r)
	if v := r.Voltage; v != nil {
		q := p.with("v")
		if r.FeedSide {
			q = p.with("v at feed")
			c.feedSide(q, rail)
		}
		c.voltage(q, x, v)
	}
}

// currents checks that each tap of a rail was read once.
func (c *checker) currents(p path, x *Sitting, rail *Rail, r *RailReading) {
	if len(rail.Taps) == 0 {
		if len(r.Current) > 0 {
			c.fault(p, "a tap at the rail, or no i", "%s was not opened, so it has no current reading", rail.Name)
		} else if r.Voltage == nil && r.Note == "" {
			c.fault(p[:len(p)-1], "v: 3.3 V", "nothing was read for %s", rail.Name)
		}
		return
	}
	var phases []string
	for _, t := range rail.Taps {
		phases = append(phases, t.Name)
	}
	read := make(map[*Tap]bool)
	for _, cr := range r.Current {
		q := p
		if cr.Tap != "" {
			q = p.with(cr.Tap)
		}
		t := rail.Tap(cr.Tap)
		switch {
		case t == nil && cr.Tap == "":
			c.fault(q, "{"+strings.Join(phases, ": …, ")+": …}", "%s has a tap for each phase, and one reading cannot be for all", rail.Name)
			return
		case t == nil && len(rail.Taps) == 1 && rail.Taps[0].Name == "":
			c.fault(q, "one reading", "%s has one tap, and no phase called %q", rail.Name, cr.Tap)
			continue
		case t == nil:
			c.fault(q, Accepting(cr.Tap, phases), "%s has no phase called %q", rail.Name, cr.Tap)
			continue
		case read[t]:
			c.fault(q, "repeats, as in 118.4 118.9 mV", "the tap is read twice")
		}
		read[t] = true
		if cr.Back == nil {
			c.current(q, x, t, &cr.Reading)
			continue
		}
		c.current(q.with("forward"), x, t, &cr.Reading)
		c.current(q.with("back"), x, t, cr.Back)
		if t.Kind != TapClamp {
			c.fault(q.with("back"), "one reading", "only a clamp's wire is threaded both ways, and this is no clamp")
		}
	}
	// A current not read yet is questioned by the tally: work in progress is
	// no fault.
}

// current checks a reading at a tap: its unit, its meter and that meter's range.
func (c *checker) current(p path, x *Sitting, t *Tap, rd *Reading) {
	if rd.Unit != t.Shows() && (rd.Unit == quantity.Volt || rd.Unit == quantity.Ampere) {
		c.wrongUnit(p, t, rd)
		return
	}
	if !c.entry(p, &rd.Entry, t.Shows()) {
		return
	}
	if t.Kind == TapSeries {
		c.seriesReading(p, t, rd)
		return
	}
	meter, rng := rd.Meter, rd.Range
	if meter == "" {
		meter = t.Meter
	}
	if rng == "" && meter == t.Meter {
		rng = t.MeterRange
	}
	if meter == "" {
		meter = x.CurrentMeter
	}
	c.onMeter(p, meter, rng, rd)
}

// wrongUnit explains a reading in amperes where volts are read, or the reverse.
func (c *checker) wrongUnit(p path, t *Tap, rd *Reading) {
	switch {
	case t.Kind == TapSeries:
		c.fault(p, "what the meter showed, as in 0.12 A", "%s is in series and shows amperes; %s is a voltage", t.Instrument, shown(&rd.Entry))
	case t.Kind == TapClamp:
		c.fault(p, "what the meter showed, as in 402.1 mV; scale and turns are applied later",
			"%s gives a voltage, which a meter reads; %s is a current", t.Instrument, shown(&rd.Entry))
	default:
		c.fault(p, "what the meter showed, as in 5.9 mV; the resistance is applied later",
			"across the %s a voltage is read; %s is a current", t.Kind, shown(&rd.Entry))
	}
}

// seriesReading checks a reading of a meter in series with the rail.
func (c *checker) seriesReading(p path, t *Tap, rd *Reading) {
	if rd.Meter != "" && rd.Meter != t.Instrument {
		c.fault(p, t.Instrument, "%s is in series, so it cannot be read on %s", t.Instrument, rd.Meter)
		return
	}
	in := c.study.Instrument(t.Instrument)
	if in == nil || in.Kind != Meter {
		return // reported at the tap
	}
	if rd.Range != "" {
		c.meter(p, t.Instrument, rd.Range, quantity.Ampere)
	}
}

// voltage checks the voltage of a rail.
func (c *checker) voltage(p path, x *Sitting, rd *Reading) {
	if !c.entry(p, &rd.Entry, quantity.Volt) {
		return
	}
	meter := rd.Meter
	if meter == "" {
		meter = x.VoltageMeter
	}
	c.onMeter(p, meter, rd.Range, rd)
}

// onMeter checks a reading in volts on the meter that it was read on.
func (c *checker) onMeter(p path, meter, rng string, rd *Reading) {
	if meter == "" {
		c.fault(p, "meter: at the sitting or at the bench, or read by: at the tap", "nothing says which meter showed %s", shown(&rd.Entry))
		return
	}
	// A reading beyond its range is questioned by the tally, not refused here.
	if rd.Meter != "" || rd.Range != "" {
		c.meter(p, meter, rng, quantity.Volt)
	}
}

// feedSide checks that the drop between feed and chip can be taken off.
func (c *checker) feedSide(p path, rail *Rail) {
	for _, t := range rail.Taps {
		if t.Loop == nil && (t.Kind == TapClamp || t.Kind == TapSeries) {
			c.fault(p, "v, read at the chip, or loop: 60 mm AWG 18 at the rail", "nothing says how large the loop is whose drop must be taken off")
			return
		}
	}
	if len(rail.Taps) == 0 {
		c.fault(p, "v", "%s was not opened, so it has one side only", rail.Name)
	}
}

// zero checks what a zero is for and that its reading fits.
func (c *checker) zero(p path, x *Sitting, b *Board, z *Zero) {
	switch {
	case z.Rail != "" && z.Instrument != "":
		c.fault(p, "one of the two", "the zero is for a rail and for an instrument")
	case z.Rail != "":
		if b == nil {
			return
		}
		rail := b.Rail(z.Rail)
		if rail == nil {
			c.fault(p, "an instrument with its range, or a rail", "%s has no rail called %q", b.Name, z.Rail)
			return
		}
		var phases []string
		for _, t := range rail.Taps {
			phases = append(phases, (&Zero{Rail: rail.Name, Tap: t.Name}).Key())
		}
		switch t := rail.Tap(z.Tap); {
		case len(rail.Taps) == 0:
			c.fault(p, "", "%s was not opened, so it has no zero", z.Rail)
		case t == nil && z.Tap == "":
			c.fault(p, strings.Join(phases, ", "), "which phase of %s?", z.Rail)
		case t == nil:
			c.fault(p, Accepting(z.Key(), phases), "%s has no phase called %q", z.Rail, z.Tap)
		default:
			c.current(p, x, t, &z.Reading)
		}
	default:
		in := c.study.Instrument(z.Instrument)
		if in == nil {
			c.fault(p, Accepting(z.Instrument, append(c.named(Clamp), c.named(Shunt)...)), "no instrument called %q", z.Instrument)
			return
		}
		t := &Tap{Instrument: z.Instrument, Range: z.Range, Turns: 1}
		switch in.Kind {
		case Clamp:
			t.Kind = TapClamp
		case Shunt:
			t.Kind = TapShunt
		case Meter:
			t.Kind = TapSeries
		default:
			c.fault(p, "a clamp, a shunt or a meter in series", "a %s has no zero of a current", in.Kind)
			return
		}
		known := len(c.faults)
		c.tapOn(p, t, in.Kind)
		if len(c.faults) == known {
			c.current(p, x, t, &z.Reading)
		}
	}
}
