package plan

import (
	"math"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// assumedBand is the tolerance of a rail that states none: ±5 % (common practice,
// no source).
const assumedBand = 0.05

// toleranceBand is how far a rail's voltage may fall below nominal, in volts, and
// whether that was stated.
func toleranceBand(r *study.Rail) (drop float64, stated bool) {
	n := r.Nominal
	switch {
	case n.Tol != nil:
		if n.Value() < 0 {
			return n.Tol.Plus, true
		}
		return n.Tol.Minus, true
	case n.Kind == quantity.Band:
		return (n.Values[1] - n.Values[0]) / 2, true
	}
	return assumedBand * math.Abs(n.Value()), false
}
