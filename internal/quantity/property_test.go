package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// unitGen draws a unit with one of its printed prefixes.
func unitGen() *rapid.Generator[Prefix] {
	return rapid.Custom(func(t *rapid.T) Prefix {
		u := Unit(rapid.IntRange(0, int(numUnits)-1).Draw(t, "unit"))
		return Prefix{u, rapid.SampledFrom(dimensionOf(u).prefixes).Draw(t, "prefix")}
	})
}

// decimalGen draws a number as it may be typed.
func decimalGen() *rapid.Generator[string] {
	return rapid.StringMatching(`-?[0-9]{1,6}(\.[0-9]{1,8})?`)
}

// Scaling moves the decimal exponent and nothing else: strconv, reading the same digits with the
// exponent written out, is the outside check of every prefix.
func TestScalingIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits, p := decimalGen().Draw(t, "digits"), unitGen().Draw(t, "unit")
		want, _ := strconv.ParseFloat(digits+"e"+strconv.Itoa(p.exp), 64)
		for _, text := range []string{digits, strings.Replace(digits, ".", ",", 1)} {
			got, err := Value(withSymbol(text, p.Symbol()), p.unit, "")
			if err != nil || got != want+0 { // +0 takes the sign off -0
				t.Fatalf("%q %q: %v, %v, want %v", text, p.Symbol(), got, err, want)
			}
			bare, err := Value(text, p.unit, p.Symbol())
			if err != nil || bare != got {
				t.Fatalf("bare %q: %v, %v, want %v", text, bare, err, got)
			}
		}
	})
}

// What Format prints reads back within half of its last digit.
func TestFormatReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := unitGen().Draw(t, "unit").unit
		x := rapid.Float64Range(-1, 1).Draw(t, "mantissa") * math.Pow10(rapid.IntRange(-15, 12).Draw(t, "exponent"))
		digits := rapid.IntRange(1, 15).Draw(t, "digits")
		if math.Abs(x) < 1e-28 && x != 0 {
			x = 0
		}
		e, err := Parse(Format(x, u, digits), u, "")
		if err != nil {
			t.Fatalf("%q: %v", Format(x, u, digits), err)
		}
		// Half a digit of the last place by significant digits, and the rounding of the two reals.
		half := 0.0
		if x != 0 {
			half = math.Pow(10, math.Floor(math.Log10(math.Abs(x)))-float64(digits)+1) / 2
		}
		if math.Abs(e.Value()-x) > half*(1+1e-9)+4e-16*math.Abs(x) {
			t.Fatalf("%v prints as %q, read as %v", x, e.Text, e.Value())
		}
	})
}

// A value with its uncertainty reads back: the uncertainty within 5 % (two digits), the value
// within half of the same place.
func TestFormatUReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := unitGen().Draw(t, "unit").unit
		scale := math.Pow10(rapid.IntRange(-9, 6).Draw(t, "exponent"))
		x := rapid.Float64Range(-1, 1).Draw(t, "x") * scale
		s := rapid.Float64Range(1e-6, 10).Draw(t, "u") * scale
		text := FormatU(x, s, u)
		e, err := Parse(text, u, "")
		if err != nil || e.Tol == nil || e.Tol.Plus != e.Tol.Minus {
			t.Fatalf("%q: %+v, %v", text, e, err)
		}
		place := math.Pow(10, math.Floor(math.Log10(e.Tol.Plus)+1e-9)-1)
		if math.Abs(e.Tol.Plus/s-1) > 0.0501 || math.Abs(e.Values[0]-x) > 0.51*place {
			t.Fatalf("%v ± %v prints as %q, read as %v ± %v", x, s, text, e.Values[0], e.Tol.Plus)
		}
	})
}

// entryText draws an entry of any form in the grammar.
func entryText(t *rapid.T, p Prefix) string {
	n := func(name string) string { return decimalGen().Draw(t, name) }
	positive := func(name string) string { return strings.TrimPrefix(n(name), "-") }
	unit := withSymbol("", p.Symbol())
	switch rapid.IntRange(0, 5).Draw(t, "form") {
	case 0:
		return n("value") + unit
	case 1:
		return strings.Join(rapid.SliceOfN(decimalGen(), 2, 9).Draw(t, "repeats"), ", ") + unit
	case 2:
		return n("lo") + rapid.SampledFrom([]string{"..", " .. ", "–", " - ", " to ", "…"}).Draw(t, "range") + n("hi") + unit
	case 3:
		return n("value") + " ± " + positive("width") + unit + rapid.SampledFrom([]string{"", " (k=2)", " (95 %)", " (k=1.96, 95 %)"}).Draw(t, "coverage")
	case 4:
		return n("value") + unit + " +" + positive("plus") + "/-" + positive("minus") + unit
	default:
		return "(" + n("value") + " ± " + positive("width") + ")" + unit
	}
}

func TestEntryRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := unitGen().Draw(t, "unit")
		text := entryText(t, p)
		e, err := Parse(text, p.unit, "")
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		again, err := Parse(e.String(), p.unit, "")
		if err != nil || !same(e, again) {
			t.Fatalf("%q read as %+v, prints as %q, read as %+v, %v", text, e, e.String(), again, err)
		}
		if again.String() != e.String() {
			t.Fatalf("%q prints as %q, then as %q", text, e.String(), again.String())
		}
	})
}

// Units that are no power of ten of SI keep their step and values as well.
func TestOddUnitsRoundTrip(t *testing.T) {
	spellings := map[Unit][]string{
		Second: {"min", "h", "d"}, Metre: {"in", "cm"}, Byte: {"KiB", "GiB", "bit", "Mibit"}, Bit: {"B", "kB", "TiB"},
		BytePerSecond: {"MiB/s", "Mbit/s", "GB/h", "Kibit/min", "Gbps"}, AmperePerSecond: {"mA/h", "µA/min", "A/d"},
		Celsius: {"K"}, SquareMetre: {"cm²", "µm²"},
	}
	units := []Unit{Second, Metre, Byte, Bit, BytePerSecond, AmperePerSecond, Celsius, SquareMetre}
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(units).Draw(t, "unit")
		s := rapid.SampledFrom(spellings[u]).Draw(t, "spelling")
		text := fmt.Sprintf("%s ± %s %s", decimalGen().Draw(t, "value"), rapid.StringMatching(`[0-9]{1,3}(\.[0-9]{1,3})?`).Draw(t, "width"), s)
		e, err := Parse(text, u, "")
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if again, err := Parse(e.String(), u, ""); err != nil || !same(e, again) {
			t.Fatalf("%q read as %+v %+v, prints as %q, read as %+v %+v, %v", text, e, e.Tol, e.String(), again, again.Tol, err)
		}
	})
}

// A band is the same whichever end is written first, and lies between its ends.
func TestBandOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := decimalGen().Draw(t, "a"), decimalGen().Draw(t, "b")
		lo, hi, err := ParseBand(a+".."+b, Ampere, "mA")
		lo2, hi2, err2 := ParseBand(b+" to "+a+" mA", Ampere, "")
		if err != nil || err2 != nil || lo != lo2 || hi != hi2 || lo > hi {
			t.Fatalf("%s, %s: %v..%v, %v..%v, %v, %v", a, b, lo, hi, lo2, hi2, err, err2)
		}
	})
}

// An entry that a program made prints so that its values read back, whatever its step.
func TestMadeEntryReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := unitGen().Draw(t, "unit").unit
		v := rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 2, 5).Draw(t, "values")
		for i := range v {
			if math.Abs(v[i]) < 1e-20 {
				v[i] = 0
			}
		}
		e := Entry{Kind: Repeats, Values: v, Unit: u, Step: rapid.Float64Range(0, 10).Draw(t, "step")}
		again, err := Parse(e.String(), u, "")
		if err != nil {
			t.Fatalf("%q: %v", e.String(), err)
		}
		for i := range v {
			if again.Values[i] != v[i] {
				t.Fatalf("%v prints as %q, read as %v", v, e.String(), again.Values)
			}
		}
	})
}

func BenchmarkParseRepeats(b *testing.B) {
	text := strings.Repeat("0.511 ", 1000) + "V"
	for b.Loop() {
		if _, err := Parse(text, Volt, ""); err != nil {
			b.Fatal(err)
		}
	}
}

// The quick way of rounding gives what rational arithmetic gives, halves among them.
func TestRoundedIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.OneOf(
			rapid.Float64Range(-1e4, 1e4),
			rapid.Map(rapid.IntRange(-1<<20, 1<<20), func(n int) float64 { return float64(n) / 64 }), // many exact halves
			rapid.Map(rapid.IntRange(-99999, 99999), func(n int) float64 { return float64(n) / 1000 }),
			rapid.SampledFrom([]float64{0, 9.995, 0.5, 0.05, 999.5, 2.5, 1e-300, 5e-324, 1.7e308}),
		).Draw(t, "x")
		place := rapid.IntRange(-12, 6).Draw(t, "place")
		if got, want := rounded(x, place), roundedByRat(x, place); got != want {
			t.Fatalf("%v to 1e%d: %+v, want %+v", x, place, got, want)
		}
	})
}
