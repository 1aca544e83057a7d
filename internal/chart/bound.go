package chart

import (
	"math"

	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// boundsOf is the least and the most current, in amperes, of a rail that was
// not opened.
func boundsOf(r *tally.Rail) (lo, hi float64) {
	e := *r.Bound
	if e.Kind == quantity.Band && len(e.Values) == 2 {
		return e.Values[0], e.Values[1]
	}
	lo, hi = e.Value(), e.Value()
	if e.Tol != nil {
		lo, hi = lo-e.Tol.Minus, hi+e.Tol.Plus
	}
	return lo, hi
}

// boundText writes what a rail that was not opened can draw, in watts or
// amperes as the prefix has them: "0 to 0.083 W". The power is the bound at the
// rail's voltage.
func boundText(r *tally.Rail, p quantity.Prefix) string {
	lo, hi := boundsIn(r, p.Unit())
	least := "0"
	if lo != 0 {
		least = minus(p.Number(lo, 2))
	}
	return least + " to " + minus(p.Format(hi, 2))
}

func boundsIn(r *tally.Rail, unit quantity.Unit) (lo, hi float64) {
	lo, hi = boundsOf(r)
	if unit == quantity.Watt {
		lo, hi = lo*r.Voltage.Estimate, hi*r.Voltage.Estimate
	}
	return lo, hi
}

// boundPrefix is the prefix that suits a bound by itself.
func boundPrefix(r *tally.Rail, unit quantity.Unit) quantity.Prefix {
	lo, hi := boundsIn(r, unit)
	return quantity.Scale(unit, lo, hi)
}

// railPower is a rail's power in words.
func railPower(r *tally.Rail) string {
	if r.Bound != nil {
		return "not opened, " + boundText(r, boundPrefix(r, quantity.Watt))
	}
	return written(r.Power, quantity.Watt)
}

// maxPower is the most that a rail draws: the upper end of its interval, or of
// its bound.
func maxPower(r *tally.Rail) float64 {
	if r.Bound != nil {
		_, hi := boundsOf(r)
		return math.Abs(hi * r.Voltage.Estimate)
	}
	return r.Power.Hi()
}

// digits is how many significant digits of an estimate its interval supports:
// down to the second digit of the interval (JCGM 100:2008, 7.2.6), four at most,
// since such an estimate stands for orientation and its interval elsewhere.
func digits(f tally.Figure) int {
	if f.Expanded <= 0 || f.Estimate == 0 {
		return 3
	}
	n := int(math.Floor(math.Log10(math.Abs(f.Estimate)))-math.Floor(math.Log10(f.Expanded))) + 2
	return min(max(n, 1), 4)
}
