package trace

import (
	"fmt"
	"math"
)

// An AllanPoint is the overlapping Allan deviation at one averaging time.
type AllanPoint struct {
	Samples int     // averaging time in samples
	Tau     float64 // averaging time in seconds
	Dev     float64 // in the unit of the values
	U       float64 // rough standard uncertainty, Dev/√(n/m): 2(n/m)/2 differences of averages
}

// AllanDeviation returns the overlapping Allan deviation of evenly spaced values at averages of m
// samples,
//
//	σ²(m) = Σ (ȳ[i+m] − ȳ[i])² / (2(n−2m+1)),  i = 0 … n−2m
//
// (NIST SP 1065, section 5.2.4, formula from memory). It needs n ≥ 2m.
func AllanDeviation(v []float64, m int) (float64, error) {
	n := len(v)
	if m < 1 || 2*m > n {
		return 0, fmt.Errorf("allan deviation: averages of %d of %d samples", m, n)
	}
	mean := MomentsOf(v).Mean()
	if mean-mean != 0 {
		return 0, fmt.Errorf("allan deviation: %w or a sample that is not finite", errNoSamples)
	}
	// d is the difference of two neighbouring sums of m values, updated as the pair slides by one.
	// Sums are restarted every so often, so that rounding does not pile up.
	var d, sum float64
	count := n - 2*m + 1
	const restart = 1 << 14
	for i := range count {
		if i%restart == 0 {
			d = 0
			for k := range m {
				d += (v[i+m+k] - mean) - (v[i+k] - mean)
			}
		} else {
			d += (v[i+2*m-1] - mean) - 2*(v[i+m-1]-mean) + (v[i-1] - mean)
		}
		sum += d * d
	}
	return math.Sqrt(sum/(2*float64(count))) / float64(m), nil
}

// Allan returns the overlapping Allan deviation at 1, 2, 4, … samples up to a third of the record;
// step is the time between samples. It falls as 1/√τ while averaging helps; where it turns up, drift
// has taken over.
func Allan(v []float64, step float64) ([]AllanPoint, error) {
	var points []AllanPoint
	for m := 1; 3*m <= len(v); m *= 2 {
		dev, err := AllanDeviation(v, m)
		if err != nil {
			return nil, err
		}
		u := dev / math.Sqrt(float64(len(v))/float64(m))
		points = append(points, AllanPoint{Samples: m, Tau: float64(m) * step, Dev: dev, U: u})
	}
	return points, nil
}
