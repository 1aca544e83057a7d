package quantity

import (
	"errors"
	"strings"
	"testing"
)

func TestParseSpec(t *testing.T) {
	for _, c := range []struct {
		text string
		want Spec
	}{
		{"±(0.5 % of reading + 3 digits)", Spec{Reading: 0.005, Digits: 3, Unit: Volt}},
		{"±(0.5 % + 2 digits)", Spec{Reading: 0.005, Digits: 2, Unit: Volt}},
		{"+/-(0.5%+2dgt)", Spec{Reading: 0.005, Digits: 2, Unit: Volt}},
		{"±0.5 % ±2 digits", Spec{Reading: 0.005, Digits: 2, Unit: Volt}},
		{"0.5 % + 2 counts", Spec{Reading: 0.005, Digits: 2, Unit: Volt}},
		{"±(0,5 % + 1 d)", Spec{Reading: 0.005, Digits: 1, Unit: Volt}},
		{"±(1 % + 20 mA)", Spec{Reading: 0.01, Fixed: 0.02, Unit: Ampere}},
		{"±(1.5 % + 10 mA)", Spec{Reading: 0.015, Fixed: 0.01, Unit: Ampere}},
		{"±(1.5 % + 10 mA after zero)", Spec{Reading: 0.015, Fixed: 0.01, AfterZero: true, Unit: Ampere}},
		{"±(1.5 % + 10 mA) after zeroing", Spec{Reading: 0.015, Fixed: 0.01, AfterZero: true, Unit: Ampere}},
		{"±(1.5 % + 10 mA), after zero (k=2)", Spec{Reading: 0.015, Fixed: 0.01, AfterZero: true, K: 2, Unit: Ampere}},
		{"±0.5 %", Spec{Reading: 0.005, Unit: Volt}},
		{"±0.5 % (95 %)", Spec{Reading: 0.005, Level: 0.95, Unit: Volt}},
		{"±0.5 % (k=2)", Spec{Reading: 0.005, K: 2, Unit: Volt}},
		{"±(0.0035 % of reading + 0.0005 % of range)", Spec{Reading: 35e-6, Range: 5e-6, Unit: Volt}},
		{"±(0.0035 % rdg + 0.0005 % f.s.)", Spec{Reading: 35e-6, Range: 5e-6, Unit: Volt}},
		{"±(0.0035 % of rdg. + 0.0005 % of full scale)", Spec{Reading: 35e-6, Range: 5e-6, Unit: Volt}},
		{"±(50 ppm + 6 ppm of range)", Spec{Reading: 50e-6, Range: 6e-6, Unit: Volt}},
		{"±(6 ppm of range + 50 ppm of reading + 10 µV + 1 count)", Spec{Reading: 50e-6, Range: 6e-6, Fixed: 10e-6, Digits: 1, Unit: Volt}},
		{"±2 counts", Spec{Digits: 2, Unit: Volt}},
		{"±0.5 K", Spec{Fixed: 0.5, Unit: Celsius}},
		{"±0.5 °C", Spec{Fixed: 0.5, Unit: Celsius}},
		{"±(1 % + 0.5 K)", Spec{Reading: 0.01, Fixed: 0.5, Unit: Celsius}},
		{"±(1 % + 0.001)", Spec{Reading: 0.01, Fixed: 0.001, Unit: None}},
		{"±(1 % + 1 d)", Spec{Reading: 0.01, Fixed: 86400, Unit: Second}},
		{"±1 % of range", Spec{Range: 0.01, Unit: Volt}},
		{"±0 %", Spec{Unit: Volt}},
	} {
		got, err := ParseSpec(c.text, c.want.Unit)
		if err != nil || got != c.want {
			t.Errorf("%q: %+v, %v, want %+v", c.text, got, err, c.want)
		}
		if again, err := ParseSpec(got.String(), c.want.Unit); err != nil || again != got {
			t.Errorf("%q prints as %q, read as %+v, %v", c.text, got, again, err)
		}
	}
}

func TestParseSpecRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		want Unit
		msg  string
	}{
		{"", Volt, "nothing is written"},
		{"±", Volt, "a number is wanted"},
		{"±(0.5 % + 3)", Volt, "the word digits is missing"},
		{"±(0.5 % + 0.3 %)", Volt, "a second part for reading"},
		{"±(2 digits + 3 counts)", Volt, "a second part for digits"},
		{"±(1 mV + 3 mV)", Volt, "a second part for a fixed amount"},
		{"±(0.5 % + 20 mA)", Volt, "20 mA is a current; a voltage is wanted here"},
		{"±(0.5 % + 20 ma)", Ampere, "write mA"},
		{"±(0.5 % - 3 digits)", Volt, "unexpected"},
		{"±-0.5 %", Volt, "no sign but ±"},
		{"±(0.5 % + 3 digits", Volt, "ends too early"},
		{"±0.5 % of load", Volt, "unexpected"},
		{"±0.5 % (k=2) and", Volt, "unexpected"},
		{"±0.5 % (k=)", Volt, "a number is wanted"},
		{"±0.5 %/K", Volt, "unexpected"},
		{"±OL", Volt, "overload"},
		{"±" + strings.Repeat("1", 5000), Volt, "longer than"},
	} {
		_, err := ParseSpec(c.text, c.want)
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(e.Msg, c.msg) || e.Accept == "" {
			t.Errorf("%.40q: error %v, want %q", c.text, err, c.msg)
		}
	}
}

// What a sheet writes and what a writer of records gets to see.
func TestSpecString(t *testing.T) {
	for want, s := range map[string]Spec{
		"±(1.5 % of reading + 10 mA after zero)":       {Reading: 0.015, Fixed: 0.01, AfterZero: true, Unit: Ampere},
		"±(0.5 % of reading + 1 digit)":                {Reading: 0.005, Digits: 1},
		"±(0.005 % of reading + 6 ppm of range) (k=2)": {Reading: 50e-6, Range: 6e-6, K: 2},
		"±0.5 K (k=2, 95.45 %)":                        {Fixed: 0.5, Unit: Celsius, K: 2, Level: 0.9545},
		"±0 %":                                         {},
	} {
		if got := s.String(); got != want {
			t.Errorf("%+v: %q, want %q", s, got, want)
		}
	}
}

func TestParseTempCo(t *testing.T) {
	spec := Spec{Reading: 0.0005, Fixed: 1e-4, Unit: Volt}
	for _, c := range []struct {
		text string
		want TempCo
	}{
		{"±(0.05 % + 0.1 mV) per K outside 18..28 °C", TempCo{spec, 18, 28}},
		{"±(0.05 % + 0.1 mV)/K, outside 18–28 °C", TempCo{spec, 18, 28}},
		{"±(0.05 % + 0.1 mV)/°C outside of 18 to 28 °C", TempCo{spec, 18, 28}},
		{"(0.05 % of reading + 0.1 mV) per °C beyond 23 ± 5 °C", TempCo{spec, 18, 28}},
		{"±(0.05 % + 0.1 mV) per K outside 18..28", TempCo{spec, 18, 28}},
		{"±0.05 %/K from 23 °C", TempCo{Spec{Reading: 0.0005, Unit: Volt}, 23, 23}},
		{"±50 ppm/K away from 23 °C", TempCo{Spec{Reading: 50e-6, Unit: Volt}, 23, 23}},
	} {
		got, err := ParseTempCo(c.text, Volt)
		if err != nil || got != c.want {
			t.Errorf("%q: %+v, %v, want %+v", c.text, got, err, c.want)
		}
		if again, err := ParseTempCo(got.String(), Volt); err != nil || again != got {
			t.Errorf("%q prints as %q, read as %+v, %v", c.text, got, again, err)
		}
	}
	if got := (TempCo{spec, 18, 28}).String(); got != "±(0.05 % of reading + 100 µV) per K outside 18..28 °C" {
		t.Errorf("printed %q", got)
	}
	for text, msg := range map[string]string{
		"":                                            "nothing is written",
		"±(0.05 % + 0.1 mV) outside 18..28 °C":        "per K is missing",
		"±0.05 %/K":                                   "window of temperature is missing",
		"±0.05 %/V outside 18..28 °C":                 "K or °C is wanted",
		"±0.05 %/mK outside 18..28 °C":                "K or °C is wanted",
		"±0.05 %/K outside 18 °C":                     "the window is outside a band",
		"±0.05 %/K from 18..28 °C":                    "the window is outside a band",
		"±0.05 %/K outside 18 19 28 °C":               "the window is outside a band",
		"±0.05 %/K outside 23 ± 5 °C (k=2)":           "the window is outside a band",
		"±0.05 %/K outside 18..28 mV":                 "a temperature is wanted here",
		"±0.05 %/K outside":                           "nothing is written",
		"±(0.05 % + 0.1 mA) per K outside 18..28 °C.": "a voltage is wanted here",
	} {
		_, err := ParseTempCo(text, Volt)
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(e.Msg, msg) {
			t.Errorf("%q: error %v, want %q", text, err, msg)
		}
	}
}
