package quantity

import (
	_ "embed"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
)

//go:embed testdata/awg.csv
var awgTable string

// The gauge formula against a published column of resistances, which was computed by others from
// their own areas: 17.241 Ω·mm²/km divided by the area, in Ω per 304.8 m. The column has four
// digits and copper tables differ by a few hundredths of a percent: 0.05 % is allowed.
func TestGaugeAreaAgainstTable(t *testing.T) {
	rows := 0
	for _, line := range strings.Split(strings.TrimSpace(awgTable), "\n") {
		var gauge int
		var published float64
		if n, _ := fmt.Sscanf(line, "%d,%g", &gauge, &published); n != 2 {
			continue
		}
		rows++
		got := 17.241 / (GaugeArea(gauge) * 1e6) * 0.3048
		if math.Abs(got/published-1) > 5e-4 {
			t.Errorf("AWG %d: %.5g Ω per 1000 ft, published %g", gauge, got, published)
		}
	}
	if rows != 31 {
		t.Errorf("%d rows, want 31", rows)
	}
	// The two gauges that define the series: 0.46 in and 0.005 in (ASTM B258, from memory).
	for gauge, inch := range map[int]float64{-3: 0.46, 36: 0.005} {
		d := 2 * math.Sqrt(GaugeArea(gauge)/math.Pi)
		if math.Abs(d/(inch*0.0254)-1) > 1e-12 {
			t.Errorf("gauge %d: diameter %g m, want %g in", gauge, d, inch)
		}
	}
}

func TestParseWire(t *testing.T) {
	ohm := func(v, step float64, tol *Tolerance) *Entry {
		return &Entry{Values: []float64{v}, Unit: Ohm, Step: step, Tol: tol}
	}
	gauged := func(length float64, g int) Wire {
		return Wire{Length: length, HasGauge: true, Gauge: g, Area: GaugeArea(g)}
	}
	both := gauged(0.06, 18)
	both.Resistance = ohm(0.0013, 1e-4, nil)
	for _, c := range []struct {
		text string
		want Wire
	}{
		{"60 mm AWG 18", gauged(0.06, 18)},
		{"AWG 22, 120 mm", gauged(0.12, 22)},
		{"AWG22 120mm", gauged(0.12, 22)},
		{"120 mm of 22 AWG wire", gauged(0.12, 22)},
		{"12 cm awg 28 copper", gauged(0.12, 28)},
		{"2 in AWG 20", gauged(0.0508, 20)},
		{"60 mm AWG 0", gauged(0.06, 0)},
		{"60 mm AWG 0000", gauged(0.06, -3)},
		{"60 mm AWG 4/0", gauged(0.06, -3)},
		{"60 mm 1/0 AWG", gauged(0.06, 0)},
		{"00 AWG 60 mm", gauged(0.06, -1)},
		{"60 mm AWG 40", gauged(0.06, 40)},
		{"0.5 mm² 80 mm copper", Wire{Length: 0.08, Area: 5e-7}},
		{"80 mm, 0,5 mm2", Wire{Length: 0.08, Area: 5e-7}},
		{"12 mΩ", Wire{Resistance: ohm(0.012, 1e-3, nil)}},
		{"12 mΩ ±10 %", Wire{Resistance: ohm(0.012, 1e-3, &Tolerance{Minus: 0.0012, Plus: 0.0012})}},
		{"60 mm AWG 18, 1.3 mΩ", both},
		{"1.3 mohm 60 mm AWG 18", both},
	} {
		got, err := ParseWire(c.text)
		if err != nil || !sameWire(got, c.want) {
			t.Errorf("%q: %+v, %v, want %+v", c.text, got, err, c.want)
			continue
		}
		if again, err := ParseWire(got.String()); err != nil || !sameWire(again, got) {
			t.Errorf("%q prints as %q, read as %+v, %v", c.text, got, again, err)
		}
	}
}

// sameWire compares wires but for the text of the resistance.
func sameWire(a, b Wire) bool {
	ra, rb := a.Resistance, b.Resistance
	a.Resistance, b.Resistance = nil, nil
	return a == b && (ra == nil) == (rb == nil) && (ra == nil || same(*ra, *rb))
}

func TestParseWireRefuses(t *testing.T) {
	for text, msg := range map[string]string{
		"":                        "nothing is written",
		"60 mm":                   "the gauge or area is missing",
		"AWG 18":                  "length and section go together",
		"60 mm 12 mΩ":             "length and section go together",
		"0 mm AWG 18":             "a length above zero",
		"-60 mm AWG 18":           "negative",
		"60 mm AWG 41":            "outside 0000 to 40",
		"60 mm AWG 00000":         "outside 0000 to 40",
		"60 mm AWG 018":           "outside 0000 to 40",
		"60 mm AWG 0/0":           "outside 0000 to 40",
		"60 mm AWG 1.5":           "a whole number is wanted",
		"60 mm AWG 22,5":          "a whole number is wanted",
		"60 mm AWG":               "a whole number is wanted",
		"60 mm AWG -2":            "a whole number is wanted",
		"60 mm AWG 18 AWG 20":     "a second section",
		"60 mm AWG 18 0.5 mm²":    "a second area",
		"60 mm 70 mm AWG 18":      "a second length",
		"12 mΩ 13 mΩ":             "a second resistance",
		"0 mΩ":                    "a resistance above zero",
		"60 mm AWG 18 aluminium":  "a number is wanted",
		"60 AWG":                  "outside 0000 to 40",
		"60":                      "a unit or AWG is missing",
		"60 mm AWG 18, 5 V":       "is no property of a wire",
		"60 mv AWG 18":            "unknown unit",
		"copper":                  "a number is wanted",
		"12 mΩ ± x":               "a number is wanted",
		strings.Repeat("1", 5000): "longer than",
	} {
		_, err := ParseWire(text)
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(e.Msg, msg) || e.Accept == "" {
			t.Errorf("%.40q: error %v, want %q", text, err, msg)
		}
	}
}
