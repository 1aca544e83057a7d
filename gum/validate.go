package gum

import (
	"fmt"
	"math"
)

// A Validation compares the interval of the law of propagation with that of
// Monte Carlo (JCGM 101 clause 8).
type Validation struct {
	Level float64
	Delta float64 // numerical tolerance of u
	// DLow and DHigh are the distances between the lower and upper ends.
	DLow, DHigh float64
	// Valid reports that both are within Delta: the law of propagation serves.
	Valid bool
}

// Compare validates lin by mc. The tolerance is half a unit of the last of
// digits significant digits of the standard uncertainty: of that from the
// trials or that of lin, whichever is smaller and not zero. (A heavy tail, such
// as that of a t distribution with one or two degrees of freedom, blows up the
// standard deviation of the trials without bound; as a tolerance it would let
// everything agree.) The symmetric interval of mc is taken, which 8.1
// allows, because its position is better determined than that of the shortest.
// The trials should be good to a fifth of the tolerance (8.2): run MonteCarlo
// with Adaptive and Tolerance 0.2.
//
// Compare panics when level is not that of mc or digits is less than one.
func Compare(lin Result, mc MCOutput, level float64, digits int) Validation {
	if level != mc.Level {
		panic(fmt.Sprintf("gum: comparison at level %g with trials evaluated at %g", level, mc.Level))
	}
	u := min(mc.U, lin.U)
	if u == 0 {
		u = max(mc.U, lin.U)
	}
	v := Validation{Level: level, Delta: Tolerance(u, digits)}
	lo, hi := lin.Interval(level)
	v.DLow, v.DHigh = math.Abs(lo-mc.Symmetric.Lo), math.Abs(hi-mc.Symmetric.Hi)
	v.Valid = v.DLow <= v.Delta && v.DHigh <= v.Delta
	return v
}

// Tolerance returns the numerical tolerance of u (JCGM 101 7.9.2): u is written
// c·10^l with c a whole number of the given digits, and the tolerance is half
// of 10^l. It is zero for a u of zero and NaN for one that is not finite. It
// panics when digits is less than one.
func Tolerance(u float64, digits int) float64 {
	if digits < 1 {
		panic("gum: tolerance to less than one digit")
	}
	switch {
	case u == 0:
		return 0
	case u-u != 0:
		return math.NaN()
	}
	l := exponent(u) - digits + 1
	if exponent(roundTo(u, -l)) > exponent(u) { // 0.0996 is 10·10⁻², not 100·10⁻³
		l++
	}
	return 0.5 * math.Pow(10, float64(l))
}
