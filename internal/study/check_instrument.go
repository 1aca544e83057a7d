package study

import (
	"math"
	"regexp"
	"slices"
	"strings"

	"railtally/internal/quantity"
)

// turnsAtEnd matches what a tap's text ends in after its range.
var turnsAtEnd = regexp.MustCompile(`(^|\s)([×xX]\s?[0-9]+|[0-9]+ turns?|reversed)$`)

// instruments checks the shelf, and that "red clamp low" can mean one thing.
func (c *checker) instruments() {
	root := path{"instruments"}
	var names []string
	full := make(map[string]string) // what a text means, by what it says
	for _, in := range c.study.Instruments {
		names = append(names, in.Name)
		p := root.with(in.Name)
		c.reserved(p, "instrument", in.Name, "sense resistor", "inductor", "shunt", "series meter")
		for _, w := range []string{"sense resistor ", "inductor ", "shunt "} {
			if rest, ok := strings.CutPrefix(in.Name, w); ok && rest != "" && rest[0] >= '0' && rest[0] <= '9' {
				c.fault(p, "another name", "%q reads like a resistor with its value", in.Name)
			}
		}
		if strings.HasPrefix(in.Name, "series meter ") || turnsAtEnd.MatchString(in.Name) {
			c.fault(p, "another name", "%q reads like part of a tap", in.Name)
		}
		c.meaning(p, full, in.Name, in.Name)
		for _, rg := range in.Ranges {
			if rg.Name != "" {
				c.meaning(p.with("ranges", rg.Name), full, in.Name+" "+rg.Name, in.Name)
			}
		}
		c.instrument(p, in)
	}
	c.names(root, "instrument", names)
}

// meaning remembers what a text means, and reports a second meaning.
func (c *checker) meaning(p path, full map[string]string, text, in string) {
	if other, ok := full[text]; ok && other != in {
		c.fault(p, "another name", "%q could be %s or %s", text, other, in)
	}
	full[text] = in
}

func (c *checker) instrument(p path, in *Instrument) {
	if !slices.Contains(InstrumentKinds, in.Kind) {
		c.fault(p.with("kind"), "clamp, meter, shunt, thermometer", "%q is no kind of instrument", in.Kind)
		return
	}
	if in.Calibration != nil {
		c.calibration(p.with("calibrated"), in.Calibration)
	}
	if in.Kind == Shunt {
		if len(in.Ranges) > 0 {
			c.fault(p.with("ranges"), "resistance: 100 mΩ ±1 %", "a shunt has no ranges")
		}
		if in.Shunt == nil {
			c.fault(p.with("resistance"), "100 mΩ ±1 %", "the shunt has no resistance")
			return
		}
		c.resistor(p, p.with("resistance"), in.Shunt)
		return
	}
	if in.Shunt != nil {
		c.fault(p.with("resistance"), "", "only a shunt has a resistance")
	}
	if len(in.Ranges) == 0 {
		c.fault(p, "ranges by name, or digit, to and spec of its only one", "the %s has no range", in.Kind)
		return
	}
	if len(in.Ranges) == 1 && in.Ranges[0].Name == "" {
		if in.Ranges[0].Calibration != nil {
			c.fault(p.with("calibrated"), "the calibration of the instrument", "an only range without a name has a calibration of its own")
		}
		c.rangeOf(p, in, in.Ranges[0])
		return
	}
	var names []string
	for _, rg := range in.Ranges {
		names = append(names, rg.Name)
		q := p.with("ranges", rg.Name)
		if turnsAtEnd.MatchString(rg.Name) && (strings.Contains(rg.Name, " ") || rg.Name == "reversed") {
			c.fault(q, "another name", "%q reads like part of a tap", rg.Name)
		}
		c.rangeOf(q, in, rg)
		if rg.Calibration != nil {
			c.calibration(q.with("calibrated"), rg.Calibration)
		}
	}
	c.names(p.with("ranges"), "range", names)
}

// rangeOf checks one range of an instrument that is no shunt.
func (c *checker) rangeOf(p path, in *Instrument, rg *Range) {
	fits := map[InstrumentKind][]quantity.Unit{
		Clamp: {quantity.Ampere}, Meter: {quantity.Volt, quantity.Ampere, quantity.Celsius}, Thermometer: {quantity.Celsius},
	}
	if !slices.Contains(fits[in.Kind], rg.Measures) {
		c.fault(p, "digit or to in volts, amperes or °C", "a %s cannot show a %s", in.Kind, rg.Measures)
		return
	}
	if in.Kind == Clamp && !(rg.Scale > 0 && !math.IsInf(rg.Scale, 0)) {
		c.fault(p.with("scale"), "1 mV per 10 mA", "the clamp's scale is missing or not above zero")
	}
	if in.Kind != Clamp && (rg.Scale != 0 || rg.ZeroDrift != 0 || rg.Position != 0) {
		c.fault(p, "", "only a clamp has a scale, a zero drift and a position error")
	}
	if a := rg.Averages; a != nil && c.entry(p.with("averages"), a, quantity.Second) && c.single(p.with("averages"), a) && c.positive(p.with("averages"), a) && in.Kind == Clamp {
		c.fault(p.with("averages"), "with the meter that reads the clamp", "a clamp averages nothing")
	}
	to := rg.To
	switch {
	case to == nil:
		c.fault(p.with("to"), "the largest value it shows, as in 20 A", "nothing says how far the range reaches")
	case !c.entry(p.with("to"), to, rg.Measures) || !c.single(p.with("to"), to) || !c.positive(p.with("to"), to):
		to = nil
	}
	if d := rg.Digit; d != nil && c.entry(p.with("digit"), d, rg.Measures) && c.single(p.with("digit"), d) && c.positive(p.with("digit"), d) {
		if to != nil && d.Value() >= to.Value() {
			c.fault(p.with("digit"), "one step of the last digit", "a digit of %s is not below the end of the range, %s", shown(d), shown(to))
		}
	}
	if rg.Spec != nil {
		c.spec(p.with("spec"), rg.Spec, rg)
	}
	if t := rg.TempCo; t != nil {
		c.spec(p.with("temperature"), &t.Spec, rg)
		if t.Lo > t.Hi {
			c.fault(p.with("temperature"), "18..28 °C", "the window of temperature has no order")
		}
	}
	if !(rg.ZeroDrift >= 0) {
		c.fault(p.with("zero drift"), "5 mA per hour", "the zero drift is negative")
	}
	if !(rg.Position >= 0 && rg.Position < 1) {
		c.fault(p.with("position"), "±0.5 %", "a position error of %s", percent(rg.Position))
	}
}

// spec checks a line of a specification.
func (c *checker) spec(p path, s *quantity.Spec, rg *Range) {
	if s.Unit != rg.Measures {
		c.fault(p, rg.Measures.Accept(), "the specification is for a %s, the range shows a %s", s.Unit, rg.Measures)
	}
	for _, x := range []float64{s.Reading, s.Range, s.Digits, s.Fixed} {
		if !(x >= 0) || math.IsInf(x, 0) {
			c.fault(p, "parts of zero or more", "a part of the specification is negative")
			return
		}
	}
	if s.Digits > 0 && rg.Digit == nil {
		c.fault(p, "digit: 1 mV beside it", "the specification counts digits, and nothing says what a digit is")
	}
}

// resistor checks what senses a current by its voltage. p is where the minor
// terms stand, r where the resistance does.
func (c *checker) resistor(p, r path, v *ShuntValue) {
	e := &v.Resistance
	if c.entry(r, e, quantity.Ohm) && c.positive(r, e) && e.Tol == nil && e.Kind != quantity.Band {
		c.fault(r, shown(e)+" ±1 %", "the resistance has no tolerance")
	}
	for _, x := range []struct {
		key   string
		value float64
	}{{"temperature coefficient", v.TempCo}, {"heating", v.Heating}, {"thermal emf", v.EMF}} {
		if !(x.value >= 0) || math.IsInf(x.value, 0) {
			c.fault(p.with(x.key), "a half-width of zero or more", "the %s is negative", x.key)
		}
	}
}

// The factor of a calibration lies near 1; what is far off is a percentage, or
// the reciprocal of a scale, written in its place.
const minFactor, maxFactor = 0.5, 2.0

func (c *checker) calibration(p path, k *Calibration) {
	if k.On.IsZero() {
		c.fault(p.with("on"), "2026-01-20", "the day of the calibration is missing")
	}
	if !k.Due.IsZero() && !k.Due.After(k.On) {
		c.fault(p.with("due"), "a day after the calibration", "the calibration is due before or on the day it was made")
	}
	f := p.with("correction factor")
	if e := &k.Factor; c.entry(f, e, quantity.None) && c.single(f, e) {
		if x := e.Value(); x < minFactor || x > maxFactor {
			c.fault(f, "the number by which a reading is multiplied, near 1", "%s is no plausible correction factor", shown(e))
		}
		if e.Tol == nil {
			c.fault(f, shown(e)+" ± 0.003 (k=2)", "the correction factor has no uncertainty")
		}
	}
	if !(k.Drift >= 0 && k.Drift < 1) {
		c.fault(p.with("drift"), "±0.2 %", "a drift of %s", percent(k.Drift))
	}
}
