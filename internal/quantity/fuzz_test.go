package quantity

import (
	"errors"
	"math"
	"testing"
	"unicode/utf8"
)

// checkError holds every error to its promises.
func checkError(t *testing.T, err error) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Fatalf("error of type %T: %v", err, err)
	}
	if e.Msg == "" || e.Accept == "" || e.Offset < 0 || e.Offset > len(e.Text) || !utf8.ValidString(e.Error()) {
		t.Fatalf("error %+v", *e)
	}
}

func finite(t *testing.T, xs ...float64) {
	t.Helper()
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%v is not finite", xs)
		}
	}
}

func FuzzParse(f *testing.F) {
	for i, text := range []string{
		"9.6 mV", "0,511 V", "511", "1\u2009234.5 mV", "1'234.5 mV", "1.8 V ±2 %", "1.8 V +5/-3 %", "(23.1 ± 0.5) °C",
		"1.004 ± 0.003 (k=2, 95 %)", "1.004 ± 0.003 (k=1, 85 dof)", "10..50 mA", "10–50 mA", "36 mV..0.043 V", "<25 mA", "up to 25 mA", "509 511 512 mV",
		"0,509, 0,511 V", "-3–-2 mV", "1.5 h", "2 MiB/min", "8 bit/s", "2 in", "296.15 ± 0.5 K", "3.6 mA/h", "0.0039 1/K",
		"75 ppm/°C", "0.5mm^2", "1.2e-3 A", "OL", "---", "0L", "1 234.5", "5 MV", "1e30 kV", "0.00e-9 V", "1 Kibit/h", "+5/-3",
	} {
		f.Add(text, uint8(i), "mV")
		f.Add(text, uint8(Volt), "")
		f.Add(text, uint8(None), "%")
	}
	f.Fuzz(func(t *testing.T, text string, unit uint8, bare string) {
		want := Unit(unit % uint8(numUnits))
		e, err := Parse(text, want, bare)
		if err != nil {
			checkError(t, err)
			return
		}
		finite(t, e.Values...)
		finite(t, e.Step, e.Value())
		if e.Step <= 0 || e.Unit != want || e.Text != text {
			t.Fatalf("%q: %+v", text, e)
		}
		switch n := len(e.Values); e.Kind {
		case Single:
			if n != 1 {
				t.Fatalf("%q: %+v", text, e)
			}
		case Repeats:
			if n < 2 || e.Tol != nil {
				t.Fatalf("%q: %+v", text, e)
			}
		case Band:
			if n != 2 || e.Tol != nil || e.Values[0] > e.Values[1] {
				t.Fatalf("%q: %+v", text, e)
			}
		}
		if e.Tol != nil {
			finite(t, e.Tol.Minus, e.Tol.Plus, e.Tol.K, e.Tol.Level)
			if e.Tol.Minus < 0 || e.Tol.Plus < 0 || e.Tol.K < 0 || e.Tol.Level < 0 || e.Tol.Level >= 1 {
				t.Fatalf("%q: %+v", text, *e.Tol)
			}
		}
		again, err := Parse(e.String(), want, "")
		if err != nil || !same(e, again) {
			t.Fatalf("%q read as %+v %+v, prints as %q, read as %+v %+v, %v", text, e, e.Tol, e.String(), again, again.Tol, err)
		}
	})
}

func FuzzSpec(f *testing.F) {
	for i, text := range []string{
		"±(0.5 % of reading + 3 digits)", "±(1.5 % + 10 mA after zero)", "±0.5 % (k=2)", "±(50 ppm + 6 ppm of range)",
		"+/- 2 counts", "±0.5 K", "±(0.1 % rdg. + 0.2 % f.s. + 1 d + 3 mV), after zero (95 %)", "±0.5 % ±2 digits",
	} {
		f.Add(text, uint8(i))
	}
	f.Fuzz(func(t *testing.T, text string, unit uint8) {
		want := Unit(unit % uint8(numUnits))
		s, err := ParseSpec(text, want)
		if err != nil {
			checkError(t, err)
			return
		}
		finite(t, s.Reading, s.Range, s.Digits, s.Fixed)
		if again, err := ParseSpec(s.String(), want); err != nil || again != s {
			t.Fatalf("%q read as %+v, prints as %q, read as %+v, %v", text, s, s.String(), again, err)
		}
	})
}

func FuzzTempCo(f *testing.F) {
	for i, text := range []string{
		"±(0.05 % + 0.1 mV) per K outside 18..28 °C", "±50 ppm/K from 23 °C", "0.1 %/°C beyond 23 ± 5", "±0.1 mA/K outside -5 to 5 °C",
	} {
		f.Add(text, uint8(i))
	}
	f.Fuzz(func(t *testing.T, text string, unit uint8) {
		want := Unit(unit % uint8(numUnits))
		c, err := ParseTempCo(text, want)
		if err != nil {
			checkError(t, err)
			return
		}
		finite(t, c.Lo, c.Hi)
		if c.Lo > c.Hi {
			t.Fatalf("%q: %+v", text, c)
		}
		if again, err := ParseTempCo(c.String(), want); err != nil || again != c {
			t.Fatalf("%q read as %+v, prints as %q, read as %+v, %v", text, c, c.String(), again, err)
		}
	})
}

func FuzzRatio(f *testing.F) {
	for _, text := range []string{
		"1 mV per 10 mA", "100 mV/A", "10 A/V", "5 mA per hour", "0.1 %/K", "75 ppm/K", "12.5 °C/W", "1 MiB per 3 min", "-3 in/d", "2 bit/1 h",
	} {
		f.Add(text, uint8(Volt), uint8(Ampere))
		f.Add(text, uint8(Ampere), uint8(Second))
		f.Add(text, uint8(None), uint8(Kelvin))
		f.Add(text, uint8(Byte), uint8(Second))
	}
	f.Fuzz(func(t *testing.T, text string, a, b uint8) {
		num, den := Unit(a%uint8(numUnits)), Unit(b%uint8(numUnits))
		if dimensionOf(num).compound || dimensionOf(den).compound {
			return
		}
		x, err := ParseRatio(text, num, den)
		if err != nil {
			checkError(t, err)
			return
		}
		finite(t, x)
		r := Rate{x, num, den}
		if den == None {
			return // a quotient by a ratio is read ("3 K per %") but has no symbol to be printed with
		}
		if again, err := ParseRatio(r.String(), num, den); err != nil || again != x {
			t.Fatalf("%q read as %v, prints as %q, read as %v, %v", text, x, r.String(), again, err)
		}
	})
}

func FuzzWire(f *testing.F) {
	for _, text := range []string{
		"60 mm AWG 18", "AWG 22, 120 mm", "0.5 mm² 80 mm copper", "12 mΩ", "12 mΩ ±10 %", "12 ± 1 mΩ (k=2)", "60 mm 4/0 AWG", "0000 AWG 2 in",
		"1 m of AWG 30 wire, 330 mΩ +5/-3 %",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		w, err := ParseWire(text)
		if err != nil {
			checkError(t, err)
			return
		}
		finite(t, w.Length, w.Area)
		if again, err := ParseWire(w.String()); err != nil || !sameWire(again, w) {
			t.Fatalf("%q read as %+v, prints as %q, read as %+v, %v", text, w, w.String(), again, err)
		}
	})
}

func FuzzFormat(f *testing.F) {
	f.Add(0.00961, 0.0001, uint8(1), 3)
	f.Add(math.MaxFloat64, math.SmallestNonzeroFloat64, uint8(0), 40)
	f.Add(math.Inf(-1), math.NaN(), uint8(255), -1)
	f.Fuzz(func(t *testing.T, x, u float64, unit uint8, digits int) {
		digits = min(digits, 400)
		p := Scale(Unit(unit), x, u)
		for _, text := range []string{
			Format(x, Unit(unit), digits), FormatU(x, u, Unit(unit)), FormatPercent(x, digits),
			p.Format(x, digits), p.FormatU(x, u), p.Number(x, digits), p.NumberU(x, u), Rate{x, Volt, Ampere}.String(),
		} {
			if text == "" {
				t.Fatal("nothing printed")
			}
		}
	})
}
