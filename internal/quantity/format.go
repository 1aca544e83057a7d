package quantity

import (
	"math"
	"strings"
)

// Format prints x, in SI of the unit, with the given count of significant digits (at least one)
// and an engineering prefix: 0.00961 V with 3 is "9.61 mV". NaN is "no value", infinities are
// "infinite".
func Format(x float64, u Unit, digits int) string {
	if text, odd := notFinite(x); odd {
		return text
	}
	d := significant(x, max(digits, 1))
	return prefixFor(u, d).label(d)
}

// FormatPercent prints a fraction as a percentage with significant digits: 0.025 is "2.5 %".
func FormatPercent(x float64, digits int) string {
	if text, odd := notFinite(x); odd {
		return text
	}
	return significant(x, max(digits, 1)).shift(2).String() + " %"
}

// FormatU prints a value with its uncertainty, both in SI of the unit: the uncertainty to two
// significant digits, the value to the same decimal place (JCGM 100:2008, 7.2.6), one prefix for
// both: "6.68 ± 0.10 W". The prefix is that of the larger of the two, or one more. Without uncertainty (u = 0)
// the value has up to six digits; where u is NaN, infinite or negative the text says that it is
// not known.
func FormatU(x, u float64, unit Unit) string {
	return pickU(unit, x, u).FormatU(x, u)
}

// pickU chooses the prefix after rounding, so that 0.99996 ± 0.0010 V is not 1000.0 mV, and the
// next one where both digits of the uncertainty would stand before zeros that say nothing:
// 0.95 ± 0.15 W, not 950 ± 150 mW.
func pickU(unit Unit, x, u float64) Prefix {
	if _, odd := notFinite(x); odd {
		return Scale(unit)
	}
	xd, ud, _ := roundedU(x, u)
	if ud.isZero() {
		return prefixFor(unit, xd)
	}
	p := prefixFor(unit, ud)
	if xd.power() >= ud.power() && !xd.isZero() {
		p = prefixFor(unit, xd)
	}
	for _, e := range dimensionOf(unit).prefixes {
		if ud.exp > p.exp && e > p.exp {
			p.exp = e
		}
	}
	return p
}

// roundedU rounds both; known is false where u is no uncertainty.
func roundedU(x, u float64) (xd, ud decimal, known bool) {
	if _, odd := notFinite(u); odd || u <= 0 {
		return significant(x, 6).trimmed(), decimal{digits: "0"}, u == 0
	}
	ud = significant(u, 2)
	return rounded(x, ud.exp), ud, true
}

// notFinite returns the words for what is no number.
func notFinite(x float64) (string, bool) {
	switch {
	case math.IsNaN(x):
		return "no value", true
	case math.IsInf(x, 0):
		return "infinite", true
	}
	return "", false
}

// Join lists items for reading: "core", "core and link", "core, link and pll".
func Join(items []string) string {
	switch n := len(items); n {
	case 0:
		return ""
	case 1:
		return items[0]
	default:
		return strings.Join(items[:n-1], ", ") + " and " + items[n-1]
	}
}
