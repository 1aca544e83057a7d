package studygen

import (
	"fmt"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"

	"pgregory.net/rapid"
)

// instruments puts a meter on the shelf, and perhaps clamps, a shunt and a
// thermometer.
func (g *gen) instruments(s *study.Study) {
	for i := range g.count("clamps", 0, 2) {
		s.Instruments = append(s.Instruments, g.withRanges(study.Clamp, i))
	}
	for i := range g.count("meters", 1, 2) {
		s.Instruments = append(s.Instruments, g.meter(10+i))
	}
	if g.yes("shunt") {
		v := g.resistor()
		s.Instruments = append(s.Instruments, &study.Instrument{Name: g.name("shunt", " 20"), Kind: study.Shunt,
			Note: g.maybeProse("note"), Calibration: g.calibration(), Shunt: &v})
	}
	if g.yes("thermometer") {
		s.Instruments = append(s.Instruments, g.withRanges(study.Thermometer, 30))
	}
}

// withRanges draws a clamp or thermometer: ranges by name, or a single one.
func (g *gen) withRanges(kind study.InstrumentKind, i int) *study.Instrument {
	in := &study.Instrument{Name: g.name("instrument", fmt.Sprintf(" %d", i)), Kind: kind,
		Ident: g.maybeProse("ident"), Note: g.maybeProse("note"), Calibration: g.calibration()}
	if g.yes("flat") {
		in.Ranges = []*study.Range{g.rangeOf(kind, "")}
		return in
	}
	for range g.count("ranges", 1, 3) {
		rg := g.rangeOf(kind, g.rangeName())
		rg.Calibration = g.calibration()
		in.Ranges = append(in.Ranges, rg)
	}
	return in
}

func (g *gen) rangeOf(kind study.InstrumentKind, name string) *study.Range {
	if kind == study.Thermometer {
		rg := &study.Range{Name: name, Measures: quantity.Celsius, To: g.entry("200 °C", "300 C"), Digit: g.entry("0.1 °C", "1 °C")}
		rg.Spec = g.spec(rg.Measures, "±1.0 °C", "±(0.5 % + 1 digit)", "±0.5 K (k=2)")
		return rg
	}
	rg := &study.Range{
		Name: name, Measures: quantity.Ampere, To: g.entry("20 A", "600 A"),
		Scale: rapid.OneOf(rapid.SampledFrom([]float64{1, 10, 100, 3, 1.0 / 3}), rapid.Float64Range(0.001, 1000)).Draw(g.T, "scale"),
	}
	rg.Spec = g.spec(rg.Measures, "±(1.5 % + 10 mA)", "±(2 % + 30 mA after zero)", "±1 % (95 %)")
	if g.yes("temperature") {
		t, err := quantity.ParseTempCo(pick(g, "coefficient", "±(0.1 %) per K outside 18..28 °C", "±(0.05 % + 1 mA) per K outside 23 ± 5 °C"), rg.Measures)
		if err != nil {
			panic(err)
		}
		rg.TempCo = &t
	}
	if g.yes("drift") {
		rg.ZeroDrift = rapid.Float64Range(1e-9, 1e-3).Draw(g.T, "zero drift")
	}
	if g.yes("position") {
		rg.Position = rapid.SampledFrom([]float64{0.005, 0.01, 0.0033}).Draw(g.T, "position")
	}
	return rg
}

// meter draws a meter that reads any rail's voltage, and currents in series.
func (g *gen) meter(i int) *study.Instrument {
	in := &study.Instrument{Name: g.name("meter", fmt.Sprintf(" %d", i)), Kind: study.Meter, Note: g.maybeProse("note"), Calibration: g.calibration()}
	for _, x := range []struct{ name, digit string }{{"500 mV", "0.1 mV"}, {"5 V", "1 mV"}, {"50 V", "10 mV"}, {"10 A", "10 mA"}} {
		d := g.parse(x.digit)
		to := g.parse(x.name)
		rg := &study.Range{Name: x.name, Measures: d.Unit, Digit: &d, To: &to}
		switch {
		case g.yes("named otherwise"):
			rg.Name = g.rangeName()
		case g.yes("reaches farther"):
			to = g.parse("60 " + rg.Measures.Symbol())
		}
		rg.Spec = g.spec(rg.Measures, "±(0.5 % + 2 digits)", "±(0.0035 % of reading + 0.0005 % of range)", "±2 digits")
		rg.Calibration = g.calibration()
		if g.yes("averages") {
			rg.Averages = g.entry("0.4 s", "20 ms")
		}
		in.Ranges = append(in.Ranges, rg)
	}
	return in
}

func (g *gen) spec(u quantity.Unit, forms ...string) *quantity.Spec {
	if !g.yes("spec") {
		return nil
	}
	s, err := quantity.ParseSpec(rapid.SampledFrom(forms).Draw(g.T, "spec"), u)
	if err != nil {
		panic(err)
	}
	return &s
}

func (g *gen) resistor() study.ShuntValue {
	v := study.ShuntValue{Resistance: *g.entry("100 mΩ ±1 %", "20 mOhm ±0.5 mOhm", "0,1 Ω ± 0,01 Ω", "95..105 mΩ")}
	if g.yes("coefficient") {
		v.TempCo = rapid.Float64Range(1e-6, 1e-2).Draw(g.T, "coefficient")
	}
	if g.yes("heating") {
		v.Heating = rapid.SampledFrom([]float64{1, 15, 0.25}).Draw(g.T, "heating")
	}
	if g.yes("emf") {
		v.EMF = rapid.Float64Range(1e-9, 1e-4).Draw(g.T, "emf")
	}
	return v
}

func (g *gen) calibration() *study.Calibration {
	if !g.yes("calibrated") {
		return nil
	}
	on := g.day()
	c := &study.Calibration{On: on, Factor: *g.entry("1.004 ± 0.003 (k=2)", "0.9991 ± 0.0004", "1 ±0.5 % (95 %)"), By: g.maybeProse("by")}
	if g.yes("due") {
		c.Due = on.AddDate(1, 0, 0)
	}
	if g.yes("drift") {
		c.Drift = rapid.Float64Range(1e-5, 0.5).Draw(g.T, "drift")
	}
	return c
}

func (g *gen) day() time.Time {
	return time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, g.count("day", 0, 3000))
}
