package gum

import (
	"math"
	"strconv"
)

// Round rounds u to two significant digits and value to the same place
// (JCGM 100 7.2.6). decimals is the number of decimals to print, negative when
// the place is left of the units: 1234 ± 567 rounds to 1230 ± 570 with −1.
// Halves go away from zero as the decimal digits of the number show them. A u
// that is zero or not finite leaves both as they are, with decimals zero.
func Round(value, u float64) (roundedValue, roundedU float64, decimals int) {
	if u <= 0 || u-u != 0 || value-value != 0 {
		return value, u, 0
	}
	decimals = 1 - exponent(u)
	roundedU = roundTo(u, decimals)
	if exponent(roundedU) > exponent(u) { // 0.0996 became 0.10
		decimals--
	}
	return roundTo(value, decimals), roundedU, decimals
}

// Display writes value ± u with two significant digits of u, without a unit. A
// value without uncertainty is written in full and alone.
func Display(value, u float64) string {
	v, ru, d := Round(value, u)
	if !(u > 0) || u-u != 0 || value-value != 0 {
		s := strconv.FormatFloat(value, 'g', -1, 64)
		if u == 0 {
			return s
		}
		return s + " ± " + strconv.FormatFloat(u, 'g', -1, 64)
	}
	if e := exponent(ru); d > 12 || e > 12 {
		return strconv.FormatFloat(v, 'e', max(0, exponent(v)+d), 64) + " ± " + strconv.FormatFloat(ru, 'e', 1, 64)
	}
	d = max(d, 0)
	return strconv.FormatFloat(v, 'f', d, 64) + " ± " + strconv.FormatFloat(ru, 'f', d, 64)
}

// exponent returns the decimal exponent of x: 2 for 123, −3 for 0.00456.
func exponent(x float64) int {
	if x == 0 {
		return 0
	}
	s := strconv.FormatFloat(math.Abs(x), 'e', -1, 64)
	for k := len(s) - 1; ; k-- {
		if s[k] == 'e' {
			e, _ := strconv.Atoi(s[k+1:])
			return e
		}
	}
}

// roundTo rounds x to the given number of decimals, which may be negative,
// working on its shortest decimal form so that 0.285 with two decimals is 0.29
// although the number stored lies a little below.
func roundTo(x float64, decimals int) float64 {
	s := strconv.FormatFloat(math.Abs(x), 'e', -1, 64)
	mantissa, e := s, 0
	for k := range s {
		if s[k] == 'e' {
			mantissa = s[:k]
			e, _ = strconv.Atoi(s[k+1:])
		}
	}
	digits := mantissa[:1]
	if len(mantissa) > 2 {
		digits += mantissa[2:]
	}
	keep := e + 1 + decimals // significant digits that remain
	switch {
	case keep < 0:
		return 0
	case keep >= len(digits):
		return x
	}
	up := digits[keep] >= '5'
	n := 0.0
	if keep > 0 {
		n, _ = strconv.ParseFloat(digits[:keep], 64)
	}
	if up {
		n++
	}
	r, _ := strconv.ParseFloat(strconv.FormatFloat(n, 'f', 0, 64)+"e"+strconv.Itoa(-decimals), 64)
	return math.Copysign(r, x)
}
