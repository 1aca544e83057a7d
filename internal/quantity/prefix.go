package quantity

import "math"

// Prefix is a unit with one engineering prefix, to be shared by the numbers of a row, a column
// or an axis. It is comparable; the zero Prefix is a plain ratio.
type Prefix struct {
	unit Unit
	exp  int // power of ten in SI of the unit
}

// Scale returns the prefix that suits the largest finite magnitude among xs, in SI of the unit.
// Where all are zero, or none is given, it is the unit without prefix (mm² for areas).
func Scale(unit Unit, xs ...float64) Prefix {
	largest := 0.0
	for _, x := range xs {
		if a := math.Abs(x); a > largest && !math.IsInf(a, 0) {
			largest = a
		}
	}
	return prefixFor(unit, significant(largest, 0))
}

// prefixFor returns the largest prefix that leaves a digit before the point.
func prefixFor(unit Unit, d decimal) Prefix {
	p := Prefix{unit: unit}
	exps := dimensionOf(unit).prefixes
	if d.isZero() {
		if unit == SquareMetre {
			p.exp = exps[0]
		}
		return p
	}
	p.exp = exps[0]
	for _, e := range exps {
		if e <= d.power() {
			p.exp = e
		}
	}
	return p
}

// Unit returns the unit that the prefix stands before.
func (p Prefix) Unit() Unit { return p.unit }

// Symbol returns the unit with the prefix: "mV", "mm²", "GB/s"; "" for a ratio.
func (p Prefix) Symbol() string {
	d := dimensionOf(p.unit)
	for _, q := range prefixes {
		if q.exp*d.power == p.exp {
			return q.letters[0] + d.symbol
		}
	}
	return d.symbol
}

// In returns x, in SI of the unit, as a count of the prefixed unit: what an axis is numbered with.
func (p Prefix) In(x float64) float64 {
	if p.exp < 0 {
		return x * math.Pow10(-p.exp)
	}
	return x / math.Pow10(p.exp)
}

// Number prints x, in SI of the unit, without the unit, to a count of significant digits.
func (p Prefix) Number(x float64, digits int) string {
	if text, odd := notFinite(x); odd {
		return text
	}
	return p.count(significant(x, max(digits, 1))).String()
}

// count brings a rounded number to the prefixed unit. Zero keeps its decimals, as its prefix says
// nothing of its size.
func (p Prefix) count(d decimal) decimal {
	if d.isZero() {
		return d
	}
	return d.shift(-p.exp)
}

// Format prints x, in SI of the unit, with the prefixed unit.
func (p Prefix) Format(x float64, digits int) string {
	if text, odd := notFinite(x); odd {
		return text
	}
	return p.label(significant(x, max(digits, 1)))
}

// NumberU prints value and uncertainty as FormatU does, without the unit: "6.68 ± 0.10".
func (p Prefix) NumberU(x, u float64) string {
	if text, odd := notFinite(x); odd {
		return text
	}
	xd, ud, known := roundedU(x, u)
	xd, ud = xd.shift(-p.exp), ud.shift(-p.exp)
	switch {
	case !known:
		return xd.String()
	case ud.isZero():
		return xd.String() + " ± 0"
	case xd.extreme() && xd.power() >= ud.power(), ud.extreme() && ud.power() > xd.power():
		return xd.orZero() + " ± " + ud.scientific()
	}
	return xd.plain() + " ± " + ud.plain()
}

// orZero writes an exponent except for zero.
func (d decimal) orZero() string {
	if d.isZero() {
		return "0"
	}
	return d.scientific()
}

// FormatU prints value and uncertainty with the prefixed unit: "6.68 ± 0.10 W".
func (p Prefix) FormatU(x, u float64) string {
	if text, odd := notFinite(x); odd {
		return text
	}
	text := withSymbol(p.NumberU(x, u), p.Symbol())
	if _, _, known := roundedU(x, u); !known {
		text += " (uncertainty not known)"
	}
	return text
}

// label prints a rounded number with the prefixed unit.
func (p Prefix) label(d decimal) string {
	return withSymbol(p.count(d).String(), p.Symbol())
}

// withSymbol puts a unit behind a number.
func withSymbol(number, symbol string) string {
	if symbol == "" {
		return number
	}
	return number + " " + symbol
}
