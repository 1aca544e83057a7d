package logfile

import (
	"strings"
	"unicode/utf8"

	"railtally/internal/quantity"
)

// A unit is how a column's numbers become SI: x·10^power·factor + offset.
type unit struct {
	si     quantity.Unit
	power  int
	factor float64 // 0 means 1
	offset float64
}

// apply brings a number, already multiplied by 10^power, to SI.
func (u unit) apply(x float64) float64 {
	if u.factor != 0 {
		x *= u.factor
	}
	if u.offset != 0 { // −0 stays as it is
		x += u.offset
	}
	return x
}

// plain reports whether a power of ten is all there is to it.
func (u unit) plain() bool { return u.factor == 0 && u.offset == 0 }

// readUnit reads a unit as meters write it: with a prefix (m and M are told apart, µ in either code,
// u, K for kilo), dressed as in VDC, mADC, V dc, A (DC), Volts. A log's units are a wider and looser set
// than what a person may type in a study, which package quantity reads.
func readUnit(text string) (unit, bool) {
	s := strings.Trim(strings.TrimSpace(text), "[]()")
	s = strings.TrimSpace(s)
	if s == "" || len(s) > 24 {
		return unit{}, false
	}
	s = strings.ReplaceAll(s, "μ", "µ")
	if u, ok := wholeUnits[strings.ToLower(s)]; ok {
		return u, true
	}
	for _, dress := range unitDress {
		if t, ok := strings.CutSuffix(s, dress); ok && t != "" {
			if u, ok := bareUnit(strings.TrimRight(t, " (-_")); ok && (u.si == quantity.Volt || u.si == quantity.Ampere || u.si == quantity.Watt) {
				return u, true
			}
		}
	}
	return bareUnit(s)
}

// unitDress are endings that say what kind of quantity it is, not its size; read only.
var unitDress = []string{"DC", "dc", "Dc", "DC)", "dc)", "AC", "ac", "RMS", "rms", "_rms", "AC+DC"}

// bareUnit reads an optional prefix and a symbol.
func bareUnit(s string) (unit, bool) {
	if u, ok := symbols[s]; ok {
		return u, true
	}
	_, k := utf8.DecodeRuneInString(s)
	power, ok := prefixes[s[:k]]
	if !ok {
		return unit{}, false
	}
	u, ok := symbols[s[k:]]
	if !ok || !prefixed(s[k:]) {
		return unit{}, false
	}
	u.power += power
	return u, true
}

// prefixed reports whether a symbol takes prefixes.
func prefixed(symbol string) bool {
	switch symbol {
	case "K", "C", "°C", "℃", "degC", "%", "°F", "F", "h", "min", "d":
		return symbol == "F"
	}
	return true
}

// prefixes, symbols and wholeUnits are read only.
var prefixes = map[string]int{
	"p": -12, "n": -9, "u": -6, "µ": -6, "m": -3, "k": 3, "K": 3, "M": 6, "G": 9,
}

var symbols = map[string]unit{
	"V": {si: quantity.Volt}, "A": {si: quantity.Ampere}, "W": {si: quantity.Watt}, "Ω": {si: quantity.Ohm},
	"Ohm": {si: quantity.Ohm}, "ohm": {si: quantity.Ohm}, "Ohms": {si: quantity.Ohm}, "ohms": {si: quantity.Ohm},
	"Hz": {si: quantity.Hertz}, "F": {si: quantity.Farad}, "H": {si: quantity.Henry}, "s": {si: quantity.Second},
	"°C": {si: quantity.Celsius}, "℃": {si: quantity.Celsius}, "C": {si: quantity.Celsius}, "degC": {si: quantity.Celsius},
	"K":  {si: quantity.Celsius, offset: -273.15},
	"°F": {si: quantity.Celsius, factor: 5.0 / 9, offset: -160.0 / 9},
	"%":  {si: quantity.None, power: -2}, "B/s": {si: quantity.BytePerSecond}, "bit/s": {si: quantity.BitPerSecond},
	"bps": {si: quantity.BitPerSecond}, "b/s": {si: quantity.BitPerSecond}, "Bps": {si: quantity.BytePerSecond},
	"B": {si: quantity.Byte}, "bit": {si: quantity.Bit}, "m/s": {si: quantity.MetrePerSecond},
}

var wholeUnits = map[string]unit{
	"volt": {si: quantity.Volt}, "volts": {si: quantity.Volt}, "millivolt": {si: quantity.Volt, power: -3},
	"millivolts": {si: quantity.Volt, power: -3}, "amp": {si: quantity.Ampere}, "amps": {si: quantity.Ampere},
	"ampere": {si: quantity.Ampere}, "amperes": {si: quantity.Ampere}, "milliamp": {si: quantity.Ampere, power: -3},
	"milliamps": {si: quantity.Ampere, power: -3}, "watt": {si: quantity.Watt}, "watts": {si: quantity.Watt},
	"celsius": {si: quantity.Celsius}, "deg c": {si: quantity.Celsius}, "hertz": {si: quantity.Hertz},
	"sec": {si: quantity.Second}, "secs": {si: quantity.Second}, "second": {si: quantity.Second}, "seconds": {si: quantity.Second},
	"sek": {si: quantity.Second}, "sekunden": {si: quantity.Second}, "msec": {si: quantity.Second, power: -3},
	"min": {si: quantity.Second, factor: 60}, "minutes": {si: quantity.Second, factor: 60},
	"h": {si: quantity.Second, factor: 3600}, "hours": {si: quantity.Second, factor: 3600},
	"d": {si: quantity.Second, factor: 86400}, "days": {si: quantity.Second, factor: 86400},
	"percent": {si: quantity.None, power: -2},
}
