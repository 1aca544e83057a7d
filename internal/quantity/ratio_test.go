package quantity

import (
	"errors"
	"strings"
	"testing"
)

func TestParseRatio(t *testing.T) {
	for _, c := range []struct {
		text     string
		num, den Unit
		want     float64
		print    string
	}{
		{"1 mV per 10 mA", Volt, Ampere, 0.1, "100 mV/A"},
		{"1mV/10mA", Volt, Ampere, 0.1, "100 mV/A"},
		{"100 mV/A", Volt, Ampere, 0.1, "100 mV/A"},
		{"100 mV per A", Volt, Ampere, 0.1, "100 mV/A"},
		{"0,1 V/A", Volt, Ampere, 0.1, "100 mV/A"},
		{"75 mV / 15 A", Volt, Ampere, 0.005, "5 mV/A"},
		{"10 A/V", Volt, Ampere, 0.1, "100 mV/A"},
		{"10 mA per 1 mV", Volt, Ampere, 0.1, "100 mV/A"},
		{"10 A/V", Ampere, Volt, 10, "10 A/V"},
		{"5 mA per hour", Ampere, Second, 0.005 / 3600, "5 mA/h"},
		{"5 mA/h", Ampere, Second, 0.005 / 3600, "5 mA/h"},
		{"5 mA per 30 min", Ampere, Second, 0.01 / 3600, "10 mA/h"},
		{"2 mA/s", Ampere, Second, 0.002, "2 mA/s"},
		{"0.1 %/K", None, Kelvin, 0.001, "0.1 %/K"},
		{"0.1 % per °C", None, Kelvin, 0.001, "0.1 %/K"},
		{"1 % per 10 K", None, Kelvin, 0.001, "0.1 %/K"},
		{"75 ppm/K", None, Kelvin, 75e-6, "75 ppm/K"},
		{"-75 ppm/K", None, Kelvin, -75e-6, "-75 ppm/K"},
		{"0.00393 /K", None, Kelvin, 0.00393, "0.393 %/K"},
		{"12.5 K/W", Kelvin, Watt, 12.5, "12.5 K/W"},
		{"12.5 °C/W", Kelvin, Watt, 12.5, "12.5 K/W"},
		{"0 mA/h", Ampere, Second, 0, "0 A/s"},
	} {
		got, err := ParseRatio(c.text, c.num, c.den)
		if err != nil || got != c.want {
			t.Errorf("%q: %v, %v, want %v", c.text, got, err, c.want)
		}
		text := Rate{got, c.num, c.den}.String()
		if text != c.print {
			t.Errorf("%q prints as %q, want %q", c.text, text, c.print)
		}
		if again, err := ParseRatio(text, c.num, c.den); err != nil || again != got {
			t.Errorf("%q prints as %q, read as %v, %v", c.text, text, again, err)
		}
	}
}

func TestParseRatioRefuses(t *testing.T) {
	for _, c := range []struct {
		text     string
		num, den Unit
		msg      string
	}{
		{"", Volt, Ampere, "nothing is written"},
		{"100", Volt, Ampere, "a unit is missing"},
		{"100 mV", Volt, Ampere, "per or / is missing"},
		{"100 mV per", Volt, Ampere, "a unit is missing"},
		{"100 mV per 0 A", Volt, Ampere, "a quotient by zero"},
		{"0 A per 1 V", Volt, Ampere, "a quotient by zero"},
		{"100 mV/K", Volt, Ampere, "a current is wanted here"},
		{"100 W/A", Volt, Ampere, "a voltage is wanted here"},
		{"100 mV/a", Volt, Ampere, "write A"},
		{"100 mV/A of", Volt, Ampere, "unexpected"},
		{"1 K per %", None, Kelvin, "a ratio is wanted here"},
		{"1e30 V per 1e-10 A", Volt, Ampere, "not met on a bench"},
		{"OL", Volt, Ampere, "overload"},
	} {
		_, err := ParseRatio(c.text, c.num, c.den)
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(e.Msg, c.msg) || e.Accept == "" {
			t.Errorf("%q: error %v, want %q", c.text, err, c.msg)
		}
	}
}
