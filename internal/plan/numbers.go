package plan

import (
	"math"

	"railtally/internal/quantity"
)

func abs(x float64) float64 { return math.Abs(x) }

// spread is the standard deviation of at least two values.
func spread(xs []float64) float64 {
	mean := 0.0
	for _, x := range xs {
		mean += x / float64(len(xs))
	}
	ss := 0.0
	for _, x := range xs {
		ss += (x - mean) * (x - mean)
	}
	return math.Sqrt(ss / float64(len(xs)-1))
}

// pattern returns n ≥ 2 values whose mean and standard deviation are exactly
// those given: the expected values of n readings that scatter.
func pattern(n int, mean, sd float64) []float64 {
	xs := make([]float64, n)
	for i := range xs {
		xs[i] = float64(2*i - n + 1)
	}
	if s := spread(xs); s > 0 {
		for i := range xs {
			xs[i] = mean + sd*xs[i]/s
		}
	}
	return xs
}

// rounded is what a display with a last digit shows.
func rounded(x, digit float64) float64 {
	if digit <= 0 {
		return x
	}
	return math.Round(x/digit) * digit
}

// single is one reading of a display.
func single(x, digit float64, u quantity.Unit) quantity.Entry {
	return quantity.Entry{Kind: quantity.Single, Values: []float64{rounded(x, digit)}, Unit: u, Step: digit}
}

func amps(x float64) string  { return quantity.Format(x, quantity.Ampere, 3) }
func volts(x float64) string { return quantity.Format(x, quantity.Volt, 3) }
func ohms(x float64) string  { return quantity.Format(x, quantity.Ohm, 2) }
func watts(x float64) string { return quantity.Format(x, quantity.Watt, 2) }
func pct(x float64) string   { return quantity.FormatPercent(x, 2) }
