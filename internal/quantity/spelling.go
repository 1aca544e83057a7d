package quantity

import (
	"math/big"
	"slices"
	"strings"
)

// atom is one way to write a unit that is not a quotient.
type atom struct {
	unit     Unit
	symbols  []string // matched with their case, the first is what is printed
	words    []string // matched in any case
	num, den int64    // SI units in one of it; 0 is 1
	prefixed bool     // whether m, k, milli ... may stand before it
	kelvin   bool     // counts from absolute zero where a temperature is wanted
}

// atoms is read only. Where one spelling could be read in two ways the first line wins.
var atoms = []atom{
	{unit: None, symbols: []string{"%"}, words: []string{"percent"}, den: 100},
	{unit: None, symbols: []string{"‰"}, den: 1000},
	{unit: None, symbols: []string{"ppm"}, words: []string{"ppm"}, den: 1_000_000},
	{unit: None, symbols: []string{"ppb"}, words: []string{"ppb"}, den: 1_000_000_000},
	{unit: Second, symbols: []string{"min"}, words: []string{"minute", "minutes"}, num: 60},
	{unit: Second, symbols: []string{"h", "hr", "hrs"}, words: []string{"hour", "hours"}, num: 3600},
	{unit: Second, symbols: []string{"d"}, words: []string{"day", "days"}, num: 86400},
	{unit: Metre, symbols: []string{"in"}, words: []string{"inch", "inches"}, num: 254, den: 10_000},
	{unit: SquareMetre, symbols: []string{"sqmm"}, den: 1_000_000},
	{unit: Celsius, symbols: []string{"°C", "C", "degC", "℃"}, words: []string{"celsius"}},
	{unit: Volt, symbols: []string{"V", "VDC", "Vdc"}, words: []string{"volt", "volts"}, prefixed: true},
	{unit: Ampere, symbols: []string{"A", "ADC", "Adc"}, words: []string{"ampere", "amperes", "amp", "amps"}, prefixed: true},
	{unit: Ohm, symbols: []string{"Ω", "ohm", "Ohm", "OHM", "ohms", "Ohms"}, words: []string{"ohm", "ohms"}, prefixed: true},
	{unit: Watt, symbols: []string{"W"}, words: []string{"watt", "watts"}, prefixed: true},
	{unit: Kelvin, symbols: []string{"K"}, words: []string{"kelvin", "kelvins"}, prefixed: true, kelvin: true},
	{unit: Second, symbols: []string{"s", "sec"}, words: []string{"second", "seconds"}, prefixed: true},
	{unit: Metre, symbols: []string{"m"}, words: []string{"metre", "metres", "meter", "meters"}, prefixed: true},
	{unit: SquareMetre, symbols: []string{"m²"}, prefixed: true},
	{unit: Hertz, symbols: []string{"Hz"}, words: []string{"hertz"}, prefixed: true},
	{unit: Henry, symbols: []string{"H"}, words: []string{"henry", "henries", "henrys"}, prefixed: true},
	{unit: Farad, symbols: []string{"F"}, words: []string{"farad", "farads"}, prefixed: true},
	{unit: Byte, symbols: []string{"B"}, words: []string{"byte", "bytes"}, prefixed: true},
	{unit: Bit, symbols: []string{"bit", "bits", "b"}, words: []string{"bit", "bits"}, prefixed: true},
	{unit: BitPerSecond, symbols: []string{"bps"}, prefixed: true},
	{unit: BytePerSecond, symbols: []string{"Bps"}, prefixed: true},
}

// prefix is a power of ten with its letters and its name.
type prefix struct {
	exp     int
	letters []string // the first is what is printed
	name    string
}

// prefixes is read only. Both micro signs and u are read.
var prefixes = []prefix{
	{-12, []string{"p"}, "pico"},
	{-9, []string{"n"}, "nano"},
	{-6, []string{"µ", "μ", "u"}, "micro"},
	{-3, []string{"m"}, "milli"},
	{-2, []string{"c"}, "centi"},
	{0, []string{""}, ""},
	{3, []string{"k"}, "kilo"},
	{6, []string{"M"}, "mega"},
	{9, []string{"G"}, "giga"},
	{12, []string{"T"}, "tera"},
}

// binary holds the prefixes of 1024, for bytes and bits only.
var binary = []string{"Ki", "Mi", "Gi", "Ti"}

// takes reports whether an atom may carry a prefix of this power of ten. Centi is for lengths;
// the rest is bounded to what occurs on a bench, so that slips of case are caught.
func (a atom) takes(exp int) bool {
	d := dimensionOf(a.unit)
	switch {
	case exp == 0:
		return true
	case !a.prefixed:
		return false
	case exp == -2:
		return a.unit == Metre || a.unit == SquareMetre
	case a.unit == SquareMetre, a.unit == Kelvin: // read with prefixes that are not printed
		return exp == -3 || exp == -6
	}
	return slices.Contains(d.prefixes, exp*d.power)
}

// scale returns the SI units in one of the atom with a prefix.
func (a atom) scale(exp int) *big.Rat {
	r := big.NewRat(max(a.num, 1), max(a.den, 1))
	return r.Mul(r, power10(exp*dimensionOf(a.unit).power))
}

// spelled is a unit as written: its atom and the SI units in one of it.
type spelled struct {
	atom  atom
	scale *big.Rat
}

// resolve finds the unit that a token spells. Whole spellings go before prefixed ones, so that
// min is a minute.
func resolve(token string) (spelled, bool) {
	for _, a := range atoms {
		if slices.Contains(a.symbols, token) || slices.Contains(a.words, strings.ToLower(token)) {
			return spelled{a, a.scale(0)}, true
		}
	}
	for _, a := range atoms {
		if !a.prefixed {
			continue
		}
		for _, p := range prefixes {
			if p.exp == 0 || !a.takes(p.exp) {
				continue
			}
			for _, l := range p.letters {
				if rest, ok := strings.CutPrefix(token, l); ok && slices.Contains(a.symbols, rest) {
					return spelled{a, a.scale(p.exp)}, true
				}
			}
			if rest, ok := strings.CutPrefix(strings.ToLower(token), p.name); ok && slices.Contains(a.words, rest) {
				return spelled{a, a.scale(p.exp)}, true
			}
		}
		if a.unit == Byte || a.unit == Bit {
			for i, l := range binary {
				if rest, ok := strings.CutPrefix(token, l); ok && slices.Contains(a.symbols, rest) {
					r := new(big.Rat).SetInt(new(big.Int).Lsh(big.NewInt(1), uint(10*(i+1))))
					return spelled{a, r}, true
				}
			}
		}
	}
	return spelled{}, false
}

// slips returns the spellings of the wanted units that differ from a token only in case:
// "mv" or "MV" for mV.
func slips(token string, wanted ...Unit) []string {
	fold := strings.ToLower(strings.ReplaceAll(token, "μ", "µ"))
	var found []string
	for _, a := range atoms {
		if !slices.Contains(wanted, a.unit) {
			continue
		}
		for _, p := range prefixes {
			if !a.takes(p.exp) {
				continue
			}
			for _, sym := range a.symbols {
				if s := p.letters[0] + sym; strings.ToLower(s) == fold && s != token && !slices.Contains(found, s) {
					found = append(found, s)
				}
			}
		}
	}
	return found
}
