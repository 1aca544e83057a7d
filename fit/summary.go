package fit

import (
	"fmt"
	"math"
)

// Summary describes one series of observations.
type Summary struct {
	N        int
	Mean     float64
	Variance float64 // Σ(x−mean)²/(N−1)
	SD       float64 // experimental standard deviation, √Variance
	UMean    float64 // SD/√N, the standard uncertainty of the mean of independent observations, DOF N−1

	// Lag1 is the lag-one autocorrelation coefficient
	// Σ(x[i]−mean)(x[i−1]−mean)/Σ(x−mean)² in the order given. It is NaN when
	// all values are equal. Where it is well above 0, UMean is too small.
	Lag1 float64
}

// Summarize returns the mean, spread and lag-one autocorrelation of x, which
// needs at least two finite values. Formulas as in NIST/SEMATECH e-Handbook of
// Statistical Methods 1.3.5 and JCGM 100:2008 4.2; sums are carried in
// double-double, so a large common offset costs no digits.
func Summarize(x []float64) (Summary, error) {
	if len(x) < 2 {
		return Summary{}, fmt.Errorf("summarize: %d values, need 2 or more", len(x))
	}
	if err := finite("value", x); err != nil {
		return Summary{}, fmt.Errorf("summarize: %w", err)
	}
	// A power of two common to all values keeps squares from overflowing.
	e := exponent(x)
	z := make([]float64, len(x))
	for i, v := range x {
		z[i] = math.Ldexp(v, -e)
	}
	n := float64(len(x))
	m := meanOf(z)
	ss := sumSqAbout(z, m)
	var lag dd
	for i := 1; i < len(z); i++ {
		lag = lag.add(ddOf(z[i]).sub(m).mul(ddOf(z[i-1]).sub(m)))
	}
	v := ss.div(ddOf(n - 1))
	return Summary{
		N:        len(x),
		Mean:     math.Ldexp(m.float(), e),
		Variance: math.Ldexp(v.float(), 2*e),
		SD:       math.Ldexp(v.sqrt().float(), e),
		UMean:    math.Ldexp(v.div(ddOf(n)).sqrt().float(), e),
		Lag1:     lag.float() / ss.float(),
	}, nil
}

// exponent returns e such that all |x|·2^−e are below 1, or 0 for all zeros.
func exponent(x []float64) int {
	var big float64
	for _, v := range x {
		big = math.Max(big, math.Abs(v))
	}
	_, e := math.Frexp(big)
	return e
}

// finite refuses NaN and infinities, naming the first offender by its index.
func finite(what string, x []float64) error {
	for i, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%s %d is %v", what, i, v)
		}
	}
	return nil
}
