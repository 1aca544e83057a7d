package chart

import (
	"math"

	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// boundText writes what a rail that was not opened can draw, in watts or
// amperes as the prefix has them: "0 to 0.083 W". The power is the bound at the
// rail's voltage.
func (w words) boundText(r *tally.Rail, p quantity.Prefix) string {
	lo, hi := boundsIn(r, p.Unit())
	least := "0"
	if lo != 0 {
		least = w.number(p.Number(lo, 2))
	}
	return w.Text("%s to %s", least, w.number(p.Format(hi, 2)))
}

func boundsIn(r *tally.Rail, unit quantity.Unit) (lo, hi float64) {
	if unit == quantity.Watt {
		return r.PowerRange()
	}
	return r.CurrentRange()
}

// boundPrefix is the prefix that suits a bound by itself.
func boundPrefix(r *tally.Rail, unit quantity.Unit) quantity.Prefix {
	lo, hi := boundsIn(r, unit)
	return quantity.Scale(unit, lo, hi)
}

// railPower is a rail's power in words.
func (w words) railPower(r *tally.Rail) string {
	if r.Bound != nil {
		return w.Text("not opened, %s", w.boundText(r, boundPrefix(r, quantity.Watt)))
	}
	return w.written(r.Power, quantity.Watt)
}

// maxPower is the most that a rail draws: the upper end of its interval, or of
// its bound.
func maxPower(r *tally.Rail) float64 {
	if r.Bound != nil {
		lo, hi := r.PowerRange()
		return max(math.Abs(lo), math.Abs(hi))
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
