package sensing

import (
	"math"
	"testing"
	"time"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// A thermometer of ±1.0 °C and 0.1 °C: each reading is uncertain by
// √(1²/3 + 0.1²/12), and a difference of two by their last digits alone (JCGM 100
// 4.3.7, 5.2.2; computed by hand).
func TestTemperature(t *testing.T) {
	celsius := func(text string) *quantity.Entry { return entry(t, text, quantity.Celsius) }
	s := &study.Study{Instruments: []*study.Instrument{{Name: "probe", Kind: study.Thermometer, Ranges: []*study.Range{
		{Measures: quantity.Celsius, Digit: celsius("0.1 °C"), To: celsius("200 °C"), Spec: spec(t, "±1.0 °C", quantity.Celsius)}}}}}
	sit := &study.Sitting{Name: "s", Board: "one", Thermometer: "probe", On: time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)}
	g := gum.New()
	b := New(g, s)
	read := func(text, meter string) (gum.Value, bool) {
		v, known, err := b.Temperature(sit, "busy", &study.Named{Name: "case", Reading: study.Reading{Entry: *celsius(text), Meter: meter}})
		if err != nil {
			t.Fatal(err)
		}
		return v, known
	}
	u := func(v gum.Value) float64 {
		r, err := g.Result(v)
		if err != nil {
			t.Fatal(err)
		}
		return r.U
	}
	x, known := read("61.2 °C", "")
	y, _ := read("58.0 °C", "")
	if want := math.Sqrt(1.0/3 + 0.01/12); !known || math.Abs(u(x)-want) > 1e-12 {
		t.Errorf("u = %g, want %g; known %v", u(x), want, known)
	}
	if want := math.Sqrt(0.02 / 12); math.Abs(u(x.Sub(y))-want) > 1e-12 {
		t.Errorf("u of a difference = %g, want %g", u(x.Sub(y)), want)
	}
	z, known := read("61.2 °C", "somebody's")
	if want := math.Sqrt(0.01 / 12); known || math.Abs(u(z)-want) > 1e-12 {
		t.Errorf("without a thermometer u = %g, want %g; known %v", u(z), want, known)
	}
	s.Instruments[0].Ranges[0].Measures = quantity.Volt
	if _, _, err := b.Temperature(sit, "busy", &study.Named{Name: "case", Reading: study.Reading{Entry: *celsius("61 °C")}}); err == nil {
		t.Error("a voltmeter was taken for a thermometer")
	}
}
