package study

import (
	"math"
	"strings"

	"railtally/internal/quantity"
)

// maxTurns is more than a jaw holds of the thinnest wire a rail is closed with.
const maxTurns = 100

// taps checks how the current of a rail is sensed.
func (c *checker) taps(p path, r *Rail) {
	var phases []string
	for _, t := range r.Taps {
		q := p.with("tap")
		if t.Name != "" || len(r.Taps) > 1 {
			phases = append(phases, t.Name)
			q = p.with("taps", t.Name)
			c.reserved(q, "phase", t.Name, "read", "meter", "on", "forward", "back")
			if strings.Contains(t.Name, "/") {
				c.fault(q, "a name without /", "the stroke in %q stands between a rail and a phase elsewhere", t.Name)
			}
		}
		c.tap(q, t)
	}
	c.names(p.with("taps"), "phase", phases)
}

func (c *checker) tap(p path, t *Tap) {
	switch t.Kind {
	case TapClamp:
		c.tapOn(p, t, Clamp)
	case TapSeries:
		c.tapOn(p, t, Meter)
		if t.Meter != "" || t.MeterRange != "" {
			c.fault(p.with("read by"), "", "a meter in series reads itself")
		}
	case TapShunt:
		if t.Instrument != "" {
			c.tapOn(p, t, Shunt)
			break
		}
		c.tapResistor(p, t)
	case TapSense, TapInductor:
		if t.Instrument != "" {
			c.fault(p, "the resistance alone", "the %s is no named instrument", t.Kind)
		}
		c.tapResistor(p, t)
	default:
		c.fault(p, "clamp, shunt, sense resistor, inductor, series meter", "%q is no kind of tap", t.Kind)
		return
	}
	if t.Instrument != "" && t.Resistor != nil {
		c.fault(p, "one of the two", "the tap has a resistance beside its instrument %s", t.Instrument)
	}
	switch {
	case t.Turns < 1 || t.Turns > maxTurns:
		c.fault(p, "×1 to ×100", "%d turns through the jaw", t.Turns)
	case t.Turns > 1 && t.Kind != TapClamp:
		c.fault(p, "a clamp, or no turns", "only a clamp has a jaw to pass the wire through %d times", t.Turns)
	}
	if t.Winding != nil {
		if t.Kind != TapInductor {
			c.fault(p.with("winding"), "", "only an inductor has a winding")
		} else {
			c.celsius(p.with("winding"), t.Winding, -40, 200)
		}
	}
	if t.Kind == TapInductor && !(t.WindingRef >= -40 && t.WindingRef <= 200) {
		c.fault(p, "at 20 °C", "the inductor's resistance holds at no plausible temperature")
	}
	if t.Meter != "" || t.MeterRange != "" {
		c.tapMeter(p.with("read by"), t)
	}
	if w := t.Loop; w != nil && !(w.Length > 0 && !math.IsInf(w.Length, 0)) && w.Resistance == nil {
		c.fault(p.with("loop"), "60 mm AWG 18", "the loop has neither a length nor a resistance")
	}
}

// tapOn checks the instrument that senses the current, and its range.
func (c *checker) tapOn(p path, t *Tap, kind InstrumentKind) {
	in := c.study.Instrument(t.Instrument)
	switch {
	case in == nil:
		c.fault(p, Accepting(t.Instrument, c.named(kind)), "no instrument called %q", t.Instrument)
		return
	case in.Kind != kind:
		c.fault(p, Accepting("", c.named(kind)), "%s is a %s, and a %s is wanted here", in.Name, in.Kind, kind)
		return
	case kind == Shunt:
		if t.Range != "" {
			c.fault(p, in.Name, "a shunt has no range")
		}
		return
	}
	rg := in.Range(t.Range)
	switch {
	case rg == nil && t.Range == "":
		c.fault(p, strings.Join(rangesOf(in, quantity.Ampere), ", "), "which range of %s?", in.Name)
	case rg == nil:
		c.fault(p, Accepting(t.Range, rangesOf(in, quantity.Ampere)), "%s has no range called %q", in.Name, t.Range)
	case rg.Measures != quantity.Ampere:
		c.fault(p, Accepting("", rangesOf(in, quantity.Ampere)), "the range %s of %s does not show amperes", rg.Name, in.Name)
	}
}

// tapResistor checks a resistor that is no named instrument.
func (c *checker) tapResistor(p path, t *Tap) {
	if t.Resistor == nil {
		c.fault(p, string(t.Kind)+" 20 mΩ ±1 %", "the %s has no resistance", t.Kind)
		return
	}
	c.resistor(p, p, t.Resistor)
}

// tapMeter checks the meter that a tap is read by.
func (c *checker) tapMeter(p path, t *Tap) {
	if t.Meter == "" {
		c.fault(p, "the meter with its range", "the range %s is of no meter", t.MeterRange)
		return
	}
	c.meter(p, t.Meter, t.MeterRange, quantity.Volt)
}

// meter checks that a meter exists and shows a unit, on a range where one is
// named.
func (c *checker) meter(p path, name, rng string, unit quantity.Unit) (*Instrument, bool) {
	in := c.study.Instrument(name)
	switch {
	case in == nil:
		c.fault(p, Accepting(name, c.named(Meter)), "no instrument called %q", name)
	case in.Kind != Meter:
		c.fault(p, Accepting("", c.named(Meter)), "%s is a %s, not a meter", name, in.Kind)
	case len(rangesOf(in, unit)) == 0:
		c.fault(p, "a meter with such a range", "%s has no range that shows a %s", name, unit)
	case rng == "":
		return in, true
	default:
		rg := in.Range(rng)
		switch {
		case rg == nil:
			c.fault(p, Accepting(rng, rangesOf(in, unit)), "%s has no range called %q", name, rng)
		case rg.Measures != unit:
			c.fault(p, Accepting("", rangesOf(in, unit)), "the range %s of %s shows a %s, not a %s", rng, name, rg.Measures, unit)
		default:
			return in, true
		}
	}
	return nil, false
}

// named lists the instruments of a kind.
func (c *checker) named(kind InstrumentKind) []string {
	var out []string
	for _, in := range c.study.Instruments {
		if in.Kind == kind {
			out = append(out, in.Name)
		}
	}
	return out
}

// rangesOf lists the ranges of an instrument that show a unit.
func rangesOf(in *Instrument, unit quantity.Unit) []string {
	var out []string
	for _, rg := range in.Ranges {
		if rg.Measures == unit {
			out = append(out, rg.Name)
		}
	}
	return out
}
