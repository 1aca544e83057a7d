package quantity

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

// Expected values are Go constants, so that the compiler's own decimal conversion is the check of
// the parser's: 0.1 mV must be the float64 nearest to 1e-4.
func TestParse(t *testing.T) {
	tol := func(minus, plus, k, level float64) *Tolerance {
		return &Tolerance{Minus: minus, Plus: plus, K: k, Level: level}
	}
	for _, c := range []struct {
		text   string
		want   Unit
		bare   string
		kind   Kind
		values []float64
		step   float64
		tol    *Tolerance
	}{
		// single values
		{"9.6 mV", Volt, "", Single, []float64{9.6e-3}, 1e-4, nil},
		{"9.6mV", Volt, "", Single, []float64{9.6e-3}, 1e-4, nil},
		{" 9.6\tmV\n", Volt, "", Single, []float64{9.6e-3}, 1e-4, nil},
		{"0.1 mV", Volt, "", Single, []float64{1e-4}, 1e-4, nil},
		{"0,511 V", Volt, "", Single, []float64{0.511}, 1e-3, nil},
		{"511", Volt, "mV", Single, []float64{0.511}, 1e-3, nil},
		{"511 V", Volt, "mV", Single, []float64{511}, 1, nil},
		{"0.5110 V", Volt, "", Single, []float64{0.511}, 1e-4, nil},
		{"500 mV", Volt, "", Single, []float64{0.5}, 1e-3, nil},
		{".5 V", Volt, "", Single, []float64{0.5}, 0.1, nil},
		{"5. V", Volt, "", Single, []float64{5}, 1, nil},
		{"1.2e-3 A", Ampere, "", Single, []float64{1.2e-3}, 1e-4, nil},
		{"1.2E+3 mA", Ampere, "", Single, []float64{1.2}, 0.1, nil},
		{"1,2e−3 A", Ampere, "", Single, []float64{1.2e-3}, 1e-4, nil},
		{"-0.3 mV", Volt, "", Single, []float64{-3e-4}, 1e-4, nil},
		{"−0.3 mV", Volt, "", Single, []float64{-3e-4}, 1e-4, nil},
		{"–0.3 mV", Volt, "", Single, []float64{-3e-4}, 1e-4, nil},
		{"- 0.3 mV", Volt, "", Single, []float64{-3e-4}, 1e-4, nil},
		{"+0.3 mV", Volt, "", Single, []float64{3e-4}, 1e-4, nil},
		{"-0 mV", Volt, "", Single, []float64{0}, 1e-3, nil},
		{"1,234 V", Volt, "", Single, []float64{1.234}, 1e-3, nil}, // a comma is a decimal mark
		{"1\u2009234.5 mV", Volt, "", Single, []float64{1.2345}, 1e-4, nil},
		{"1\u202f234,5 mV", Volt, "", Single, []float64{1.2345}, 1e-4, nil},
		{"1'234.5 mV", Volt, "", Single, []float64{1.2345}, 1e-4, nil},
		{"12’345’678 µV", Volt, "", Single, []float64{12.345678}, 1e-6, nil},
		{"5 µA", Ampere, "", Single, []float64{5e-6}, 1e-6, nil},
		{"5 μA", Ampere, "", Single, []float64{5e-6}, 1e-6, nil},
		{"5 uA", Ampere, "", Single, []float64{5e-6}, 1e-6, nil},
		{"5 microamps", Ampere, "", Single, []float64{5e-6}, 1e-6, nil},
		{"5 Amps", Ampere, "", Single, []float64{5}, 1, nil},
		{"2 kV", Volt, "", Single, []float64{2000}, 1000, nil},
		{"511 mV DC", Volt, "", Single, []float64{0.511}, 1e-3, nil},
		{"0.511 VDC", Volt, "", Single, []float64{0.511}, 1e-3, nil},
		{"511 512 mVdc", Volt, "", Repeats, []float64{0.511, 0.512}, 1e-3, nil},
		{"3 nV", Volt, "", Single, []float64{3e-9}, 1e-9, nil},
		{"100 mOhm", Ohm, "", Single, []float64{0.1}, 1e-3, nil},
		{"100 mΩ", Ohm, "", Single, []float64{0.1}, 1e-3, nil},
		{"100 m\u2126", Ohm, "", Single, []float64{0.1}, 1e-3, nil},
		{"100 milliohm", Ohm, "", Single, []float64{0.1}, 1e-3, nil},
		{"100 Milliohms", Ohm, "", Single, []float64{0.1}, 1e-3, nil},
		{"4.7 kΩ", Ohm, "", Single, []float64{4700}, 100, nil},
		{"1 Mohm", Ohm, "", Single, []float64{1e6}, 1e6, nil},
		{"41.2 °C", Celsius, "", Single, []float64{41.2}, 0.1, nil},
		{"41.2°C", Celsius, "", Single, []float64{41.2}, 0.1, nil},
		{"41.2 C", Celsius, "", Single, []float64{41.2}, 0.1, nil},
		{"41.2 degC", Celsius, "", Single, []float64{41.2}, 0.1, nil},
		{"41.2 deg C", Celsius, "", Single, []float64{41.2}, 0.1, nil},
		{"41.2 ° C", Celsius, "", Single, []float64{41.2}, 0.1, nil},
		{"41.2 ℃", Celsius, "", Single, []float64{41.2}, 0.1, nil},
		{"41.2 ºC", Celsius, "", Single, []float64{41.2}, 0.1, nil},
		{"296.15 K", Celsius, "", Single, []float64{23}, 0.01, nil},
		{"5 °C", Kelvin, "", Single, []float64{5}, 1, nil},
		{"5 \u212a", Kelvin, "", Single, []float64{5}, 1, nil},
		{"1.71 GB/s", BytePerSecond, "", Single, []float64{1.71e9}, 1e7, nil},
		{"850 MB/s", BytePerSecond, "", Single, []float64{850e6}, 1e6, nil},
		{"850 MB per second", BytePerSecond, "", Single, []float64{850e6}, 1e6, nil},
		{"8 Gbit/s", BytePerSecond, "", Single, []float64{1e9}, 125e6, nil},
		{"8 Gbps", BitPerSecond, "", Single, []float64{8e9}, 1e9, nil},
		{"1 GB/s", BitPerSecond, "", Single, []float64{8e9}, 8e9, nil},
		{"2 MiB/s", BytePerSecond, "", Single, []float64{2097152}, 1048576, nil},
		{"1.5 h", Second, "", Single, []float64{5400}, 360, nil},
		{"2 min", Second, "", Single, []float64{120}, 60, nil},
		{"20 ms", Second, "", Single, []float64{0.02}, 1e-3, nil},
		{"1 d", Second, "", Single, []float64{86400}, 86400, nil},
		{"6 cm", Metre, "", Single, []float64{0.06}, 0.01, nil},
		{"2 in", Metre, "", Single, []float64{0.0508}, 0.0254, nil},
		{"0.5 mm²", SquareMetre, "", Single, []float64{5e-7}, 1e-7, nil},
		{"0.5 mm2", SquareMetre, "", Single, []float64{5e-7}, 1e-7, nil},
		{"0.5mm^2", SquareMetre, "", Single, []float64{5e-7}, 1e-7, nil},
		{"3 cm²", SquareMetre, "", Single, []float64{3e-4}, 1e-4, nil},
		{"10 MHz", Hertz, "", Single, []float64{1e7}, 1e6, nil},
		{"470 nH", Henry, "", Single, []float64{470e-9}, 1e-9, nil},
		{"22 pF", Farad, "", Single, []float64{22e-12}, 1e-12, nil},
		{"6.68 W", Watt, "", Single, []float64{6.68}, 0.01, nil},
		{"100 mV/A", VoltPerAmpere, "", Single, []float64{0.1}, 1e-3, nil},
		{"100 mΩ", VoltPerAmpere, "", Single, []float64{0.1}, 1e-3, nil},
		{"10 mA/mV", AmperePerVolt, "", Single, []float64{10}, 1, nil},
		{"3.6 mA/h", AmperePerSecond, "", Single, []float64{1e-6}, 1e-4 / 3600, nil},
		{"75 ppm/K", PerKelvin, "", Single, []float64{75e-6}, 1e-6, nil},
		{"0.1 %/°C", PerKelvin, "", Single, []float64{1e-3}, 1e-3, nil},
		{"0.00393 1/K", PerKelvin, "", Single, []float64{0.00393}, 1e-5, nil},
		{"0.00393 /K", PerKelvin, "", Single, []float64{0.00393}, 1e-5, nil},
		{"0.00393 K⁻¹", PerKelvin, "", Single, []float64{0.00393}, 1e-5, nil},
		{"12.5 K/W", KelvinPerWatt, "", Single, []float64{12.5}, 0.1, nil},
		{"12.5 °C/W", KelvinPerWatt, "", Single, []float64{12.5}, 0.1, nil},
		{"2.5 m/s", MetrePerSecond, "", Single, []float64{2.5}, 0.1, nil},
		{"1.004", None, "", Single, []float64{1.004}, 1e-3, nil},
		{"2.5 %", None, "", Single, []float64{0.025}, 1e-3, nil},
		{"2.5", None, "%", Single, []float64{0.025}, 1e-3, nil},
		{"50 ppm", None, "", Single, []float64{50e-6}, 1e-6, nil},
		// tolerances
		{"1.8 V ±2 %", Volt, "", Single, []float64{1.8}, 0.1, tol(0.036, 0.036, 0, 0)},
		{"1.8 V ±2%", Volt, "", Single, []float64{1.8}, 0.1, tol(0.036, 0.036, 0, 0)},
		{"1.8V+/-2%", Volt, "", Single, []float64{1.8}, 0.1, tol(0.036, 0.036, 0, 0)},
		{"1.8 ± 2 %", Volt, "V", Single, []float64{1.8}, 0.1, tol(0.036, 0.036, 0, 0)},
		{"-1.8 V ±2 %", Volt, "", Single, []float64{-1.8}, 0.1, tol(0.036, 0.036, 0, 0)},
		{"1.8 V +5/-3 %", Volt, "", Single, []float64{1.8}, 0.1, tol(0.054, 0.09, 0, 0)},
		{"1.8 V -3/+5 %", Volt, "", Single, []float64{1.8}, 0.1, tol(0.054, 0.09, 0, 0)},
		{"1.8 V +5 % / −3 %", Volt, "", Single, []float64{1.8}, 0.1, tol(0.054, 0.09, 0, 0)},
		{"1.8 V +5 % -3 %", Volt, "", Single, []float64{1.8}, 0.1, tol(0.054, 0.09, 0, 0)},
		{"1.8 V +0/-50 mV", Volt, "", Single, []float64{1.8}, 0.1, tol(0.05, 0, 0, 0)},
		{"1.8 +0.1/-0.2 V", Volt, "", Single, []float64{1.8}, 0.1, tol(0.2, 0.1, 0, 0)},
		{"23.1 ± 0.5 °C", Celsius, "", Single, []float64{23.1}, 0.1, tol(0.5, 0.5, 0, 0)},
		{"23.1 °C ± 0.5 K", Celsius, "", Single, []float64{23.1}, 0.1, tol(0.5, 0.5, 0, 0)},
		{"296.15 ± 0.5 K", Celsius, "", Single, []float64{23}, 0.01, tol(0.5, 0.5, 0, 0)},
		{"23.1 ± 0.5", Celsius, "°C", Single, []float64{23.1}, 0.1, tol(0.5, 0.5, 0, 0)},
		{"(23.1 ± 0.5) °C", Celsius, "", Single, []float64{23.1}, 0.1, tol(0.5, 0.5, 0, 0)},
		{"1.004 ± 0.003 (k=2)", None, "", Single, []float64{1.004}, 1e-3, tol(0.003, 0.003, 2, 0)},
		{"1.004 ± 0.003, k = 2", None, "", Single, []float64{1.004}, 1e-3, tol(0.003, 0.003, 2, 0)},
		{"1.004 ± 0.003 (95 %)", None, "", Single, []float64{1.004}, 1e-3, tol(0.003, 0.003, 0, 0.95)},
		{"412.051 ± 0.012 mV (k=1, 85.5 dof)", Volt, "", Single, []float64{0.412051}, 1e-6, &Tolerance{Minus: 1.2e-5, Plus: 1.2e-5, K: 1, DOF: 85.5}},
		{"1.004±0.003 (k=2; 95.45%)", None, "", Single, []float64{1.004}, 1e-3, tol(0.003, 0.003, 2, 0.9545)},
		{"1.25 ± 4 %", None, "", Single, []float64{1.25}, 0.01, tol(0.05, 0.05, 0, 0)},
		{"(50 ± 2) %", None, "", Single, []float64{0.5}, 0.01, tol(0.02, 0.02, 0, 0)},
		{"100 mΩ ±1 %", Ohm, "", Single, []float64{0.1}, 1e-3, tol(1e-3, 1e-3, 0, 0)},
		{"100 mΩ ± 500 µΩ", Ohm, "", Single, []float64{0.1}, 1e-3, tol(5e-4, 5e-4, 0, 0)},
		{"100 mΩ ± 50 ppm", Ohm, "", Single, []float64{0.1}, 1e-3, tol(5e-6, 5e-6, 0, 0)},
		{"0,951 V ± 0,3 %", Volt, "", Single, []float64{0.951}, 1e-3, tol(0.002853, 0.002853, 0, 0)},
		// repeats
		{"509 511 512 mV", Volt, "", Repeats, []float64{0.509, 0.511, 0.512}, 1e-3, nil},
		{"509 511 512", Volt, "mV", Repeats, []float64{0.509, 0.511, 0.512}, 1e-3, nil},
		{"509, 511, 512 mV", Volt, "", Repeats, []float64{0.509, 0.511, 0.512}, 1e-3, nil},
		{"509; 511;512 mV", Volt, "", Repeats, []float64{0.509, 0.511, 0.512}, 1e-3, nil},
		{"509\n511\n512 mV", Volt, "", Repeats, []float64{0.509, 0.511, 0.512}, 1e-3, nil},
		{"509\u00a0511 mV", Volt, "", Repeats, []float64{0.509, 0.511}, 1e-3, nil},
		{"509 mV 511 mV 0.5120 V", Volt, "", Repeats, []float64{0.509, 0.511, 0.512}, 1e-3, nil},
		{"509 mV 511 512", Volt, "", Repeats, []float64{0.509, 0.511, 0.512}, 1e-3, nil},
		{"0,509 0,511 0,512 V", Volt, "", Repeats, []float64{0.509, 0.511, 0.512}, 1e-3, nil},
		{"0,509, 0,511, 0,512 V", Volt, "", Repeats, []float64{0.509, 0.511, 0.512}, 1e-3, nil},
		{"118.4 118.9 118.6 mV", Volt, "", Repeats, []float64{0.1184, 0.1189, 0.1186}, 1e-4, nil},
		{"0.5 0.511 V", Volt, "", Repeats, []float64{0.5, 0.511}, 0.1, nil},
		{"-3 -2 +1 mV", Volt, "", Repeats, []float64{-3e-3, -2e-3, 1e-3}, 1e-3, nil},
		{"10 -50 mA", Ampere, "", Repeats, []float64{0.01, -0.05}, 1e-3, nil},
		{"99 101 mV", Volt, "", Repeats, []float64{0.099, 0.101}, 1e-3, nil},
		{"1, 234.5 mV", Volt, "", Repeats, []float64{1e-3, 0.2345}, 1e-3, nil},
		// bands
		{"10..50 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10..50", Ampere, "mA", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10 .. 50 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10...50 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10…50 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10–50 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10-50 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10 – 50 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10 to 50 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10 mA to 50 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"10 mA..50", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"36 mV..0.043 V", Volt, "", Band, []float64{0.036, 0.043}, 1e-3, nil},
		{"36..43 mV", Volt, "", Band, []float64{0.036, 0.043}, 1e-3, nil},
		{"50..10 mA", Ampere, "", Band, []float64{0.01, 0.05}, 1e-3, nil},
		{"-10..-50 mA", Ampere, "", Band, []float64{-0.05, -0.01}, 1e-3, nil},
		{"-3–2 mV", Volt, "", Band, []float64{-3e-3, 2e-3}, 1e-3, nil},
		{"1.5..2.25 V", Volt, "", Band, []float64{1.5, 2.25}, 0.1, nil},
		{".5...6 V", Volt, "", Band, []float64{0.5, 6}, 1, nil},
		{"0..25 mA", Ampere, "", Band, []float64{0, 0.025}, 1e-3, nil},
		{"<25 mA", Ampere, "", Band, []float64{0, 0.025}, 1e-3, nil},
		{"< 25 mA", Ampere, "", Band, []float64{0, 0.025}, 1e-3, nil},
		{"≤ 25 mA", Ampere, "", Band, []float64{0, 0.025}, 1e-3, nil},
		{"<=25", Ampere, "mA", Band, []float64{0, 0.025}, 1e-3, nil},
		{"up to 25 mA", Ampere, "", Band, []float64{0, 0.025}, 1e-3, nil},
		{"Up  To 25 mA", Ampere, "", Band, []float64{0, 0.025}, 1e-3, nil},
		{"at most 25 mA", Ampere, "", Band, []float64{0, 0.025}, 1e-3, nil},
		{"max. 25 mA", Ampere, "", Band, []float64{0, 0.025}, 1e-3, nil},
		{"max 25 mA", Ampere, "", Band, []float64{0, 0.025}, 1e-3, nil},
	} {
		e, err := Parse(c.text, c.want, c.bare)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if e.Kind != c.kind || !slices.Equal(e.Values, c.values) || e.Step != c.step || e.Unit != c.want || e.Text != c.text {
			t.Errorf("%q: got %+v", c.text, e)
		}
		if (e.Tol == nil) != (c.tol == nil) || e.Tol != nil && *e.Tol != *c.tol {
			t.Errorf("%q: tolerance %+v, want %+v", c.text, e.Tol, c.tol)
		}
		again, err := Parse(e.String(), c.want, "")
		if err != nil || !same(e, again) {
			t.Errorf("%q prints as %q, read as %+v, %v", c.text, e, again, err)
		}
	}
}

// same compares two entries but for their text.
func same(a, b Entry) bool {
	if (a.Tol == nil) != (b.Tol == nil) || a.Tol != nil && *a.Tol != *b.Tol {
		return false
	}
	return a.Kind == b.Kind && a.Unit == b.Unit && a.Step == b.Step && slices.Equal(a.Values, b.Values)
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		want Unit
		bare string
		msg  string // part of the message
		at   int    // byte
	}{
		{"", Volt, "mV", "nothing is written", 0},
		{"  \t", Volt, "mV", "nothing is written", 0},
		{"511", Volt, "", "a unit is missing; a voltage is wanted here", 3},
		{"9.6 mV", Ampere, "", "9.6 mV is a voltage; a current is wanted here", 0},
		{"9.6 mV", SquareMetre, "", "an area is wanted here", 0},
		{"5 m", Volt, "", "5 m is a length", 0},
		{"12 mA/h", Ampere, "", "12 mA/h is a current drift", 0},
		{"5 %", Volt, "", "is a ratio", 0},
		{"OL", Volt, "mV", "overload", 0},
		{"O.L", Volt, "mV", "overload", 0},
		{"0L", Volt, "mV", "overload", 0},
		{"0.L V", Volt, "mV", "overload", 0},
		{"overload", Volt, "mV", "overload", 0},
		{"-OL mV", Volt, "mV", "overload", 0},
		{"509 OL 512 mV", Volt, "mV", "overload", 4},
		{"---", Volt, "mV", "dashes are no reading", 0},
		{"----", Volt, "mV", "dashes are no reading", 0},
		{"NaN", Volt, "mV", "not a finite number", 0},
		{"-inf V", Volt, "mV", "not a finite number", 0},
		{"∞", Volt, "mV", "not a finite number", 0},
		{"5 ma", Ampere, "", "write mA", 2},
		{"5 mv", Volt, "", "write mV", 2},
		{"5 MV", Volt, "", "write mV", 2},
		{"5 MA", Ampere, "", "write mA", 2},
		{"5 v", Volt, "", "write V", 2},
		{"5 mhz", Hertz, "", "write mHz or MHz", 2},
		{"5 KHz", Hertz, "", "write kHz", 2},
		{"5 gb/s", BytePerSecond, "", "write GB", 2},
		{"5 kw", Watt, "", "write kW", 2},
		{"5 V AC", Volt, "", "unexpected", 4},
		{"5 parsec", Volt, "", `unknown unit "parsec"`, 2},
		{"75 °F", Celsius, "", "fahrenheit", 3},
		{"4k7", Ohm, "", "unknown unit", 1},
		{"R100", Ohm, "", "a number is wanted", 0},
		{"509,511,512 mV", Volt, "", "more than one comma", 3},
		{"1,234.5 mV", Volt, "", "a comma and a point", 1},
		{"1.234,5 mV", Volt, "", "a comma and a point", 1},
		{"1.2.3 V", Volt, "", "more than one point", 1},
		{"0,509 0.511 V", Volt, "", "both comma and point", 7},
		{"1.8 V ± 2,5 %", Volt, "", "both comma and point", 10},
		{"1 234.5 mV", Volt, "", "one number with its thousands", 0},
		{"1 001 mV", Volt, "", "one number with its thousands", 0},
		{"12 345 678 µV", Volt, "", "one number with its thousands", 0},
		{"12\u200934 mV", Volt, "", "groups of three", 2},
		{"0.123\u2009456 V", Volt, "", "thin space", 5},
		{",5 V", Volt, "", "does not start with a comma", 0},
		{"509, 511,", Volt, "mV", "ends too early", 9},
		{"509 511 mV 512", Volt, "", "some values have a unit", 0},
		{"509 511 mV 512 mV", Volt, "", "some values have a unit", 0},
		{"5mA6", Ampere, "mA", "unexpected", 3},
		{"10..50..60 mA", Ampere, "", "a band has two ends", 6},
		{"10 20..50 mA", Ampere, "", "a band has two ends", 5},
		{"10..", Ampere, "mA", "a number is wanted", 4},
		{"..5", Ampere, "mA", "a number is wanted", 0},
		{"10..50 mA ± 2 %", Ampere, "", "not to a band", 10},
		{"509 511 mV ± 2 %", Volt, "", "not to several", 11},
		{"±2 %", Volt, "", "the value before ± is missing", 0},
		{"1.8 V ± -2 %", Volt, "", "no sign of its own", 9},
		{"1.8 V ± 2", Volt, "V", "a unit or % is missing", 10},
		{"1.8 V +5/-3", Volt, "", "a unit or % is missing", 11},
		{"50 % ± 2", None, "", "a unit or % is missing", 9},
		{"1.8 V ±", Volt, "", "a number is wanted", 8},
		{"1.8 V +5 %", Volt, "", "is a ratio", 6},
		{"0 V ± 2 %", Volt, "", "a percentage of zero", 7},
		{"23 °C ± 2 %", Celsius, "", "a percentage of a temperature", 10},
		{"50 % ± 2 %", None, "", "could mean two things", 8},
		{"50 ± 2 %", None, "%", "could mean two things", 6},
		{"1.8 V ± 2 % (k=0)", Volt, "", "above zero", 16},
		{"1.8 V ± 2 % (k=101)", Volt, "", "above 100", 14},
		{"1.8 V ± 2 % (k=2", Volt, "", "ends too early", 17},
		{"1.8 V ± 2 % (95)", Volt, "", "written in %", 14},
		{"1.8 V ± 2 % (100 %)", Volt, "", "between 0 and 100", 14},
		{"1.8 V ± 2 % (85 dof)", Volt, "", "coverage factor before", 14},
		{"1.8 V ± 2 % (k=1, 0.5 dof)", Volt, "", "at least one degree", 19},
		{"1.8 V ± 2 % (k=1, 5 dof, 5 dof)", Volt, "", "dof", 28},
		{"1.8 V ± 2 % (k=2, k=2)", Volt, "", "twice", 19},
		{"1.8 V (k=2)", Volt, "", "a bracket without ±", 6},
		{"(1.8) V", Volt, "", "unexpected", 4},
		{"(1.8 ± 0.1 V)", Volt, "", "unexpected", 12},
		{"<-3 mA", Ampere, "", "not above zero", 1},
		{"<0 mA", Ampere, "", "not above zero", 1},
		{"<40 °C", Celsius, "", "no band from zero", 0},
		{">5 mA", Ampere, "", "a lower limit alone", 0},
		{"5 mA extra", Ampere, "", "unexpected", 5},
		{"1e100 V", Volt, "", "exponent", 1},
		{"1e31 V", Volt, "", "not met on a bench", 0},
		{"1e-31 V", Volt, "", "not met on a bench", 0},
		{strings.Repeat("1", 41) + " V", Volt, "", "more than 40 digits", 0},
		{"5 \xff", Volt, "", "UTF-8", 0},
		{"5", Volt, "mA", "for bare numbers", 0},
		{"5", Volt, "zorkmid", "unknown unit", 0},
		{strings.Repeat("1 ", 10_001), Volt, "mV", "more than 10000 values", 20_000},
		{strings.Repeat(" ", 1<<17) + "1", Volt, "mV", "longer than", 0},
	} {
		_, err := Parse(c.text, c.want, c.bare)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%.40q: error %v, want one with %q", c.text, err, c.msg)
			continue
		}
		if !strings.Contains(e.Msg, c.msg) || e.Offset != c.at || e.Accept == "" {
			t.Errorf("%.40q: %q at %d (accept %q), want %q at %d", c.text, e.Msg, e.Offset, e.Accept, c.msg, c.at)
		}
		if first := e.Error()[0]; 'A' <= first && first <= 'Z' {
			t.Errorf("%.40q: message %q starts with a capital", c.text, e.Error())
		}
	}
}

func TestErrorText(t *testing.T) {
	_, err := Parse("9,6 µV and", Ampere, "")
	if want := `unexpected "and", at character 8 of "9,6 µV and"`; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	long := &Error{Text: strings.Repeat("x", 100), Offset: 60, Msg: "no"}
	if got := long.Error(); len(got) > 100 {
		t.Errorf("long text is not clipped: %s", got)
	}
	if far := (&Error{Text: "ab", Offset: 9, Msg: "no"}).Error(); far != `no, at character 3 of "ab"` {
		t.Errorf("offset beyond the text: %s", far)
	}
}

func TestValueAndBand(t *testing.T) {
	if v, err := Value("9.6 mV", Volt, ""); v != 9.6e-3 || err != nil {
		t.Errorf("Value: %v, %v", v, err)
	}
	for _, text := range []string{"1 2 mV", "1..2 mV", "1 mV ± 2 %", "x"} {
		if _, err := Value(text, Volt, ""); err == nil {
			t.Errorf("Value accepts %q", text)
		}
	}
	if lo, hi, err := ParseBand("up to 25 mA", Ampere, ""); lo != 0 || hi != 0.025 || err != nil {
		t.Errorf("ParseBand: %v %v %v", lo, hi, err)
	}
	for _, text := range []string{"1 2 mA", "1 mA", "x"} {
		if _, _, err := ParseBand(text, Ampere, ""); err == nil {
			t.Errorf("ParseBand accepts %q", text)
		}
	}
}

func TestEntryValue(t *testing.T) {
	for _, c := range []struct {
		e    Entry
		want float64
	}{
		{Entry{}, 0},
		{Entry{Values: []float64{3}}, 3},
		{Entry{Kind: Repeats, Values: []float64{1, 2, 6}}, 3},
		{Entry{Kind: Repeats, Values: []float64{0.1, 0.1, 0.1}}, 0.1},
		{Entry{Kind: Band, Values: []float64{1, 4}}, 2.5},
	} {
		if got := c.e.Value(); got != c.want {
			t.Errorf("%+v: %v, want %v", c.e, got, c.want)
		}
	}
}
