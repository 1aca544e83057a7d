package studyfile

import (
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// readInstrument reads one instrument. It always returns one, so that its name
// is known to the taps even where its specification cannot be read.
func (p place) readInstrument() *study.Instrument {
	in := &study.Instrument{Name: p.key()}
	f, ok := p.fields(instrumentSection)
	if !ok {
		return in
	}
	if k, ok := f.need("kind", "clamp, meter, shunt, thermometer"); ok {
		in.Kind, _ = choice(k, study.InstrumentKinds)
	}
	in.Ident, in.Note = f.note("ident"), f.note("note")
	in.Jaw = f.optional("jaw", quantity.Metre, "12 mm")
	if c, ok := f.get("calibrated"); ok {
		in.Calibration = c.readCalibration()
	}
	if in.Kind == study.Shunt {
		in.Shunt = f.readShunt()
		f.refuse("a shunt has a resistance and no ranges", "ranges", "scale", "digit", "to", "spec", "temperature", "zero drift", "position")
		return in
	}
	if in.Kind != "" {
		f.refuse("only a shunt has it", "resistance", "temperature coefficient", "heating", "thermal emf")
	}
	flat := []string{"scale", "digit", "to", "spec", "temperature", "zero drift", "position"}
	if ranges, ok := f.get("ranges"); ok {
		f.refuse("the instrument has ranges, and it belongs into each of them", flat...)
		for _, p := range ranges.named("ranges by name") {
			rf, _ := p.fields(rangeSection)
			rg := rf.readRange(in.Kind, p.key())
			if c, ok := rf.get("calibrated"); ok {
				rg.Calibration = c.readCalibration()
			}
			in.Ranges = append(in.Ranges, rg)
		}
		return in
	}
	for _, key := range flat {
		if _, ok := f.get(key); ok {
			in.Ranges = []*study.Range{f.readRange(in.Kind, "")}
			break
		}
	}
	return in
}

// refuse reports each of the keys that is present.
func (f fields) refuse(why string, keys ...string) {
	for _, k := range keys {
		if p, ok := f.get(k); ok {
			p.fail("", "%q has no place here: %s", k, why)
			delete(f.of, k)
		}
	}
}

// readRange reads what a range and an instrument written flat have in common.
func (f fields) readRange(kind study.InstrumentKind, name string) *study.Range {
	rg := &study.Range{Name: name}
	unit, ok := f.measures(kind, name)
	if !ok {
		return rg
	}
	rg.Measures = unit
	like := map[quantity.Unit]string{quantity.Volt: "5 V", quantity.Ampere: "20 A", quantity.Celsius: "200 °C"}[unit]
	if kind == study.Clamp {
		rg.Scale = f.ratio("scale", quantity.Ampere, quantity.Volt, "1 mV per 10 mA")
	} else {
		f.refuse("only a clamp has it", "scale", "zero drift", "position")
	}
	rg.To = f.optional("to", unit, like)
	if rg.To == nil && !f.written("to") {
		if e, err := quantity.Parse(name, unit, ""); err == nil {
			rg.To = &e
		}
	}
	rg.Digit = f.optional("digit", unit, like)
	if p, ok := f.get("spec"); ok {
		if text, ok := p.text("±(0.5 % + 2 digits)"); ok {
			if s, err := quantity.ParseSpec(text, unit); err != nil {
				p.failed(err, "±(0.5 % + 2 digits)")
			} else {
				rg.Spec = &s
			}
		}
	}
	if p, ok := f.get("temperature"); ok {
		const like = "±(0.05 % + 0.1 mV) per K outside 18..28 °C"
		if text, ok := p.text(like); ok {
			if t, err := quantity.ParseTempCo(text, unit); err != nil {
				p.failed(err, like)
			} else {
				rg.TempCo = &t
			}
		}
	}
	rg.ZeroDrift = f.ratio("zero drift", quantity.Ampere, quantity.Second, "5 mA per hour")
	rg.Position = f.half("position", quantity.None, "±0.5 %")
	rg.Averages = f.optional("averages", quantity.Second, "0.4 s")
	return rg
}

// measures tells what a range shows: amperes for a clamp, a temperature for a
// thermometer; a meter's range says it by the unit of its digit, of its end, or
// of its name.
func (f fields) measures(kind study.InstrumentKind, name string) (quantity.Unit, bool) {
	switch kind {
	case study.Clamp:
		return quantity.Ampere, true
	case study.Thermometer:
		return quantity.Celsius, true
	case study.Meter:
	default:
		return quantity.None, false // the kind is unknown, which was reported
	}
	texts := make([]string, 0, 3)
	for _, key := range []string{"digit", "to"} {
		if p, ok := f.get(key); ok && p.n.kind == scalar {
			texts = append(texts, p.n.text)
		}
	}
	for _, text := range append(texts, name) {
		for _, u := range []quantity.Unit{quantity.Volt, quantity.Ampere, quantity.Celsius} {
			if _, err := quantity.Parse(text, u, ""); err == nil {
				return u, true
			}
		}
	}
	// A field that cannot be read at all is the better place to point at.
	for _, key := range []string{"digit", "to"} {
		if p, ok := f.get(key); ok {
			p.entry(quantity.Volt, "1 mV")
			return quantity.None, false
		}
	}
	if f.n.kind != broken {
		f.fail("digit: 1 mV, or to: 5 V", "nothing says whether the range shows volts, amperes or a temperature")
	}
	return quantity.None, false
}

// readShunt reads the resistance of a shunt and what may change it.
func (f fields) readShunt() *study.ShuntValue {
	v := &study.ShuntValue{}
	if p, ok := f.need("resistance", "100 mΩ ±1 %"); ok {
		v.Resistance, _ = p.entry(quantity.Ohm, "100 mΩ ±1 %")
	}
	f.readStray(v)
	return v
}

// readStray reads what may change a resistor or add to its voltage.
func (f fields) readStray(v *study.ShuntValue) {
	v.TempCo = f.ratio("temperature coefficient", quantity.None, quantity.Kelvin, "75 ppm/K")
	v.Heating = f.half("heating", quantity.Kelvin, "15 K")
	v.EMF = f.half("thermal emf", quantity.Volt, "±2 µV")
}

// readCalibration reads the result of a calibration.
func (p place) readCalibration() *study.Calibration {
	f, ok := p.fields(calibrationSection)
	if !ok {
		return nil
	}
	c := &study.Calibration{By: f.note("by"), Drift: f.half("drift", quantity.None, "±0.2 %")}
	if d, ok := f.need("on", "2026-01-20"); ok {
		c.On = d.readDay()
	}
	if d, ok := f.get("due"); ok {
		c.Due = d.readDay()
	}
	const like = "1.004 ± 0.003 (k=2)"
	if q, ok := f.need("correction factor", like); ok {
		c.Factor, _ = q.entry(quantity.None, like)
	}
	return c
}

// readDay reads a date.
func (p place) readDay() time.Time {
	text, ok := p.text("2026-01-20")
	if !ok {
		return time.Time{}
	}
	t, err := time.Parse(dayForm, text)
	if err != nil {
		p.fail("year-month-day, as in 2026-01-20", "%q is not a date", text)
	}
	return t
}
