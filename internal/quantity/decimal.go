package quantity

import (
	"math"
	"math/big"
	"strconv"
	"strings"
)

// decimal is a decimal number to be printed: ±digits · 10^exp. Prefixes move exp, so that no
// rounding happens but the one asked for.
type decimal struct {
	neg    bool
	digits string // without leading zeros; "0" for zero
	exp    int
}

// significant rounds a finite x to a count of significant digits; zero or less gives the shortest
// digits that read back as x.
func significant(x float64, digits int) decimal {
	text := strconv.FormatFloat(math.Abs(x), 'e', max(digits, 0)-1, 64)
	mantissa, exponent, _ := strings.Cut(text, "e")
	e, _ := strconv.Atoi(exponent)
	whole, fraction, _ := strings.Cut(mantissa, ".")
	d := decimal{neg: x < 0, digits: whole + fraction, exp: e - len(fraction)}
	if digits <= 0 {
		d = d.trimmed()
	}
	return d.clean()
}

// rounded rounds x to a decimal place, halves away from zero.
func rounded(x float64, place int) decimal {
	short := significant(x, 0)
	digits := short.power() - place + 1 // how many stand at place or before it
	half := len(short.digits) == digits+1 && short.digits[digits] == '5'
	// strconv rounds exactly, but halves to even; beyond fifteen digits the
	// shortest digits do not show what is a half.
	if digits >= 1 && digits < 15 && !half && !short.isZero() {
		return significant(x, digits).padded(place)
	}
	return roundedByRat(x, place)
}

// roundedByRat is rounded for any number, slowly.
func roundedByRat(x float64, place int) decimal {
	r := new(big.Rat)
	r.SetFloat64(math.Abs(x))
	return decimal{neg: x < 0, digits: r.Mul(r, power10(-place)).FloatString(0), exp: place}.clean()
}

// clean takes the sign off zero, and zeros in front.
func (d decimal) clean() decimal {
	d.digits = strings.TrimLeft(d.digits, "0")
	if d.digits == "" {
		d.digits, d.neg = "0", false
	}
	return d
}

// trimmed drops the zeros behind.
func (d decimal) trimmed() decimal {
	for len(d.digits) > 1 && d.digits[len(d.digits)-1] == '0' {
		d.digits = d.digits[:len(d.digits)-1]
		d.exp++
	}
	if d.digits == "0" {
		d.exp = 0
	}
	return d
}

// padded adds zeros until the last digit stands at place or beyond.
func (d decimal) padded(place int) decimal {
	if d.digits == "0" {
		d.exp = place
		return d
	}
	if d.exp > place {
		d.digits += strings.Repeat("0", d.exp-place)
		d.exp = place
	}
	return d
}

// shift multiplies by 10^n.
func (d decimal) shift(n int) decimal {
	d.exp += n
	return d
}

func (d decimal) isZero() bool { return d.digits == "0" }

// power is the power of ten of the leading digit.
func (d decimal) power() int { return d.exp + len(d.digits) - 1 }

func (d decimal) sign() string {
	if d.neg {
		return "-"
	}
	return ""
}

// plain writes all digits: 0.0042, 1200.
func (d decimal) plain() string {
	digits := d.digits
	switch {
	case d.isZero() && d.exp >= 0:
		return "0"
	case d.exp >= 0:
		return d.sign() + digits + strings.Repeat("0", d.exp)
	case len(digits) <= -d.exp:
		digits = strings.Repeat("0", 1-d.exp-len(digits)) + digits
	}
	point := len(digits) + d.exp
	return d.sign() + digits[:point] + "." + digits[point:]
}

// scientific writes 4.2e-12 and keeps the place of the last digit.
func (d decimal) scientific() string {
	text := d.sign() + d.digits[:1]
	if len(d.digits) > 1 {
		text += "." + d.digits[1:]
	}
	return text + "e" + strconv.Itoa(d.power())
}

// extreme reports whether a number is easier to read with an exponent.
func (d decimal) extreme() bool { return !d.isZero() && (d.power() > 6 || d.power() < -6) }

// String writes the number for reading: plain unless it is extreme.
func (d decimal) String() string {
	if d.extreme() {
		return d.scientific()
	}
	return d.plain()
}

// exact writes the number so that the place of its last digit reads back as well.
func (d decimal) exact() string {
	if d.exp > 0 || d.exp < -24 || d.extreme() {
		return d.scientific()
	}
	return d.plain()
}
