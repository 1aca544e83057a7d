package logfile

import (
	"bytes"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// TestFastNumbers compares the quick readers with strconv.ParseFloat, which rounds to the nearest
// float64: wherever they answer, they answer the same, to the last bit.
func TestFastNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[-+]?[0-9]{0,10}(\.[0-9]{0,10})?([eE][-+]?[0-9]{1,3})?`).Draw(t, "text")
		power := rapid.SampledFrom([]int{0, -3, -6, -9, 3}).Draw(t, "power")
		checkFast(t, text, power)
	})
	for _, text := range []string{"0.90123", "1", "1234567", "12345678", "1.", ".5", "-.5", "-0.0", "-", "", ".", "9007199254740993", "1e5", "1.5E-3", "0000001", "1.2.3", "1-2"} {
		checkFast(t, text, 0)
		checkFast(t, text, -3)
	}
}

type failer interface{ Fatalf(string, ...any) }

func checkFast(t failer, text string, power int) {
	want, err := strconv.ParseFloat(text, 64)
	if power != 0 && err == nil {
		n, ok := readNumeral([]byte(text), '.', "")
		if !ok {
			t.Fatalf("%q is no numeral", text)
		}
		want, _ = n.value(power)
	}
	for name, read := range map[string]func([]byte, int, byte, int) (float64, int){"short": shortNumber, "fast": fastNumber} {
		line := []byte("x" + text + ",12345678\n")
		x, end := read(line, 1, '.', power)
		if end < 0 {
			continue
		}
		if line[end] != ',' { // stopped earlier: the row reader takes another way then
			if err == nil {
				t.Fatalf("%s(%q) stops at %d", name, text, end)
			}
			continue
		}
		if err != nil || math.Float64bits(x) != math.Float64bits(want) {
			t.Fatalf("%s(%q, %d) = %v, want %v (%v)", name, text, power, x, want, err)
		}
	}
}

func TestShortNumberIsUsed(t *testing.T) {
	for _, text := range []string{"0.90123", "3.2", "7", "1234567", "-1.5"} {
		if _, end := shortNumber([]byte(text+",12345678\n"), 0, '.', 0); end != len(text) {
			t.Errorf("%q is not read the short way", text)
		}
	}
}

// TestNumerals lists the forms of the checklist of exported logs; values by hand.
func TestNumerals(t *testing.T) {
	for _, c := range []struct {
		text  string
		mark  byte
		group string
		want  float64
		rest  string
	}{
		{"1,04860", ',', "", 1.0486, ""},
		{"+1.80375885E+00", '.', "", 1.80375885, ""},
		{"−2.5", '.', "", -2.5, ""},
		{"- 0.0021", '.', "", -0.0021, ""},
		{"12.3-", '.', "", -12.3, ""},
		{"(12.3)", '.', "", -12.3, ""},
		{"1.2D-3", '.', "", 0.0012, ""},
		{"1.2*10^-3", '.', "", 0.0012, ""},
		{"1,2E-03", ',', "", 0.0012, ""},
		{"1,234,567.5", '.', ",", 1234567.5, ""},
		{"1.234,5", ',', ".", 1234.5, ""},
		{"1'234.5", '.', "'", 1234.5, ""},
		{"1\u202f234,5", ',', "\u202f", 1234.5, ""},
		{"12.3 mV", '.', "", 12.3, "mV"},
		{"450uA", '.', "", 450, "uA"},
	} {
		n, ok := readNumeral([]byte(c.text), c.mark, c.group)
		x, ok2 := n.value(0)
		if !ok || !ok2 || x != c.want || string(n.rest) != c.rest {
			t.Errorf("%q: %v %q %v", c.text, x, n.rest, ok)
		}
	}
	for _, text := range []string{"", "-", "abc", "OL", ".", "(3"} {
		if _, ok := readNumeral([]byte(text), '.', ""); ok {
			t.Errorf("%q is taken for a number", text)
		}
	}
	// A prefix is part of the one rounding: 35.071 mV is the float64 nearest to 0.035071.
	n, _ := readNumeral([]byte("35.071"), '.', "")
	if x, _ := n.value(-3); x != 0.035071 {
		t.Errorf("35.071e-3 is %v", x)
	}
}

func FuzzNumeral(f *testing.F) {
	for _, s := range []string{"1.5", "-1,234.5", "1e999", "−0", "(1)", "1.2*10^-3", "12 mV", "1e-99999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, mark := range []byte{'.', ','} {
			if n, ok := readNumeral([]byte(s), mark, "'"); ok {
				n.value(-3)
			}
		}
		line := append(bytes.ReplaceAll([]byte(s), []byte{'\n'}, nil), '\n')
		fastNumber(line, 0, '.', 0)
		shortNumber(line, 0, '.', 0)
	})
}
