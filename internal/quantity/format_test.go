package quantity

import (
	"math"
	"strings"
	"testing"
)

func TestFormat(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		x      float64
		u      Unit
		digits int
		want   string
	}{
		{0.00961, Volt, 3, "9.61 mV"},
		{0.0096149, Volt, 3, "9.61 mV"},
		{0.99949, Volt, 3, "999 mV"},
		{0.9996, Volt, 3, "1.00 V"}, // rounding crosses the prefix
		{-0.0431, Ampere, 2, "-43 mA"},
		{431.7e-3, Volt, 4, "431.7 mV"},
		{1000, Watt, 4, "1.000 kW"},
		{2.5e6, Volt, 3, "2500 kV"}, // no MV: it is the slip for mV
		{5e-6, Ampere, 1, "5 µA"},
		{5e-6, Ampere, 0, "5 µA"},
		{22e-12, Farad, 2, "22 pF"},
		{3e-15, Farad, 2, "0.0030 pF"},
		{4700, Ohm, 2, "4.7 kΩ"},
		{1.71e9, BytePerSecond, 3, "1.71 GB/s"},
		{41.23, Celsius, 3, "41.2 °C"},
		{0.05, Celsius, 2, "0.050 °C"},
		{0.0005, Kelvin, 1, "0.0005 K"},
		{12.54, KelvinPerWatt, 3, "12.5 K/W"},
		{0.1, VoltPerAmpere, 3, "100 mV/A"},
		{8.23e-7, SquareMetre, 3, "0.823 mm²"},
		{0, SquareMetre, 3, "0.00 mm²"},
		{0.06, Metre, 2, "60 mm"},
		{0.00393, PerKelvin, 3, "0.00393 /K"},
		{1.004, None, 4, "1.004"},
		{123456, None, 3, "123000"},
		{1.5e12, None, 2, "1.5e12"},
		{1.5e-12, None, 2, "1.5e-12"},
		{0, Volt, 3, "0.00 V"},
		{math.Copysign(0, -1), Volt, 3, "0.00 V"},
		{nan, Volt, 3, "no value"},
		{inf, Volt, 3, "infinite"},
		{5400, Second, 3, "5400 s"},
		{1, Unit(200), 2, "1.0"},
	} {
		if got := Format(c.x, c.u, c.digits); got != c.want {
			t.Errorf("Format(%v, %v, %d) = %q, want %q", c.x, c.u, c.digits, got, c.want)
		}
	}
	for want, x := range map[string]float64{"2.5 %": 0.025, "0.013 %": 1.3e-4, "120 %": 1.2, "no value": nan} {
		if got := FormatPercent(x, 2); got != want {
			t.Errorf("FormatPercent(%v) = %q, want %q", x, got, want)
		}
	}
}

// The rules are those of JCGM 100:2008, 7.2.6; 10.057 62 Ω with 27 mΩ is its example (from
// memory: "if y = 10.057 62 Ω with u_c(y) = 27 mΩ, y should be rounded to 10.058 Ω").
func TestFormatU(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		x, u float64
		unit Unit
		want string
	}{
		{10.05762, 0.027, Ohm, "10.058 ± 0.027 Ω"},
		{6.6812, 0.0996, Watt, "6.68 ± 0.10 W"},
		{6.6812, 0.0994, Watt, "6.681 ± 0.099 W"},
		{0.00961, 0.00012, Volt, "9.61 ± 0.12 mV"},
		{0.951, 0.152, Watt, "0.95 ± 0.15 W"},
		{0.99996, 0.001, Volt, "1.0000 ± 0.0010 V"},
		{-0.31, 0.09, Watt, "-310 ± 90 mW"},
		{23.1, 0.5, Celsius, "23.10 ± 0.50 °C"},
		{1.0042, 0.0031, None, "1.0042 ± 0.0031"},
		{0.0003, 0.1, Watt, "0.00 ± 0.10 W"}, // u > |x|
		{0, 0.1, Watt, "0.00 ± 0.10 W"},
		{0.02, 1.2, Watt, "0.0 ± 1.2 W"},
		{0, 0, Watt, "0 ± 0 W"},
		{6.68, 0, Watt, "6.68 ± 0 W"},
		{1.0 / 3, 0, Watt, "333.333 ± 0 mW"},
		{6.68, nan, Watt, "6.68 W (uncertainty not known)"},
		{6.68, inf, Watt, "6.68 W (uncertainty not known)"},
		{6.68, -1, Watt, "6.68 W (uncertainty not known)"},
		{nan, 0.1, Watt, "no value"},
		{inf, 0.1, Watt, "infinite"},
		{1.5e9, 2e7, None, "1.500e9 ± 2.0e7"},
		{0, 2e7, None, "0 ± 2.0e7"},
		{1, 1e-12, None, "1.0000000000000 ± 0.0000000000010"},
	} {
		if got := FormatU(c.x, c.u, c.unit); got != c.want {
			t.Errorf("FormatU(%v, %v, %v) = %q, want %q", c.x, c.u, c.unit, got, c.want)
		}
	}
}

func TestScale(t *testing.T) {
	p := Scale(Watt, 0.0431, -6.68, math.NaN(), math.Inf(1))
	if p.Symbol() != "W" || p.Unit() != Watt {
		t.Errorf("scale %q of %v", p.Symbol(), p.Unit())
	}
	if got := p.Format(0.0431, 3); got != "0.0431 W" {
		t.Errorf("Format %q", got)
	}
	if got := p.FormatU(0.0431, 0.0012); got != "0.0431 ± 0.0012 W" {
		t.Errorf("FormatU %q", got)
	}
	if a, b := p.Number(0.0431, 2), p.NumberU(6.684, 0.012); a != "0.043" || b != "6.684 ± 0.012" {
		t.Errorf("numbers %q, %q", a, b)
	}
	if got := p.FormatU(math.NaN(), 1) + p.NumberU(math.NaN(), 1) + p.Number(math.NaN(), 1) + p.Format(math.NaN(), 1); got != strings.Repeat("no value", 4) {
		t.Errorf("no value: %q", got)
	}
	if got := p.NumberU(6.684, math.NaN()); got != "6.684" {
		t.Errorf("unknown uncertainty: %q", got)
	}
	for want, q := range map[string]Prefix{
		"mV": Scale(Volt, 0.2), "V": Scale(Volt), "mm²": Scale(SquareMetre, 5e-7), "GB/s": Scale(BytePerSecond, 1.7e9), "": {},
	} {
		if q.Symbol() != want {
			t.Errorf("symbol %q, want %q", q.Symbol(), want)
		}
	}
	if a, b := Scale(Volt, 0.2).In(0.25), Scale(Hertz, 1e6).In(2.5e6); a != 250 || b != 2.5 {
		t.Errorf("In: %v, %v", a, b)
	}
}

func TestJoin(t *testing.T) {
	for want, items := range map[string][]string{
		"": nil, "core": {"core"}, "core and link": {"core", "link"}, "core, link and pll": {"core", "link", "pll"},
	} {
		if got := Join(items); got != want {
			t.Errorf("Join(%v) = %q", items, got)
		}
	}
}

// Every unit has its facts, and its symbol reads back as itself.
func TestUnits(t *testing.T) {
	symbols := map[string]Unit{}
	for u := None; u < numUnits; u++ {
		if u.String() == "" || u.Accept() == "" || len(dimensionOf(u).prefixes) == 0 {
			t.Errorf("unit %d has no facts", u)
		}
		if before, ok := symbols[u.Symbol()]; ok {
			t.Errorf("%v and %v have the symbol %q", before, u, u.Symbol())
		}
		symbols[u.Symbol()] = u
		for _, e := range dimensionOf(u).prefixes {
			text := withSymbol("3", Prefix{u, e}.Symbol())
			got, err := Value(text, u, "")
			if want, _ := power10(e).Float64(); err != nil || math.Abs(got/(3*want)-1) > 1e-15 {
				t.Errorf("%q: %v, %v", text, got, err)
			}
		}
		if accept := strings.Split(u.Accept(), ", "); u != None {
			for _, symbol := range accept {
				if _, err := Value("300 "+symbol, u, ""); err != nil {
					t.Errorf("%v says it accepts %q: %v", u, symbol, err)
				}
			}
		}
	}
	if Limits := (Tolerance{}).Limits(); !Limits || (Tolerance{K: 2}).Limits() || (Tolerance{Level: 0.95}).Limits() {
		t.Error("limits are a tolerance without k and probability")
	}
	if Single.String()+Repeats.String()+Band.String() != "singlerepeatsband" {
		t.Error("names of kinds")
	}
}
