package trace

import (
	"math"
	"slices"
)

// madToSD turns a median absolute deviation of normal noise into its standard deviation: 1/Φ⁻¹(3/4).
const madToSD = 1.4826022185056018

// mad returns the median absolute deviation from the median; x is reordered.
func mad(x []float64) float64 {
	m := median(x)
	for i := range x {
		x[i] = math.Abs(x[i] - m)
	}
	return median(x)
}

// differenceNoise estimates the standard deviation of v about its slow course from the differences of
// neighbours, which steps and spikes hardly touch; a constant slope cancels in their median.
func differenceNoise(v []float64) float64 {
	if len(v) < 3 {
		return 0
	}
	d := make([]float64, len(v)-1)
	for i := range d {
		d[i] = v[i+1] - v[i]
	}
	return mad(d) * madToSD / math.Sqrt2
}

// spikeSide is how many samples on either side a spike is compared with: bursts of up to three samples
// are spikes, longer ones are states (common practice, no source).
const spikeSide = 7

// clipSpikes returns v with each sample that is further than k·sigma from the median of the seven before
// it and also from that of the seven after it moved to that distance from the nearer one, and how many
// were. A step stays where it is: there one of the two medians agrees.
func clipSpikes(v []float64, sigma, k float64) (out []float64, spikes int) {
	out = slices.Clone(v)
	if len(v) <= spikeSide {
		return out, 0
	}
	var w [spikeSide]float64
	for i, x := range v {
		near := math.NaN()
		if i >= spikeSide/2 {
			n := copy(w[:], v[max(0, i-spikeSide):i])
			near = median(w[:n])
		}
		if i+spikeSide/2 < len(v) {
			n := copy(w[:], v[i+1:min(len(v), i+1+spikeSide)])
			if m := median(w[:n]); !(math.Abs(x-near) <= math.Abs(x-m)) {
				near = m
			}
		}
		if d := x - near; math.Abs(d) > k*sigma {
			out[i] = near + math.Copysign(k*sigma, d)
			spikes++
		}
	}
	return out, spikes
}

// theilSen is the longest run whose line is found by the median of all slopes; in longer ones a few
// spikes hardly turn the least-squares line.
const theilSen = 32

// clipToLines moves points further than limit from the line of their segment to that distance, in place,
// and returns how many.
func clipToLines(x, y []float64, cuts []int, limit float64) int {
	sums := newLineSums(x, y)
	bounds := append(append([]int{0}, cuts...), len(x))
	clipped := 0
	for k := 1; k < len(bounds); k++ {
		a, b := bounds[k-1], bounds[k]
		_, slope := sums.line(a, b)
		if b-a <= theilSen {
			slope = medianSlope(x[a:b], y[a:b])
		}
		r := make([]float64, b-a)
		for i := range r {
			r[i] = y[a+i] - slope*x[a+i]
		}
		level := median(r)
		for i := a; i < b; i++ {
			if d := y[i] - level - slope*x[i]; math.Abs(d) > limit*(1+1e-9) {
				y[i] = level + slope*x[i] + math.Copysign(limit, d)
				clipped++
			}
		}
	}
	return clipped
}

// medianSlope returns the median of the slopes between all pairs of points (Theil and Sen).
func medianSlope(x, y []float64) float64 {
	var slopes []float64
	for i := range x {
		for j := i + 1; j < len(x); j++ {
			if x[j] > x[i] {
				slopes = append(slopes, (y[j]-y[i])/(x[j]-x[i]))
			}
		}
	}
	return median(slopes)
}

// longNoise estimates by how much the variance of long averages of v exceeds that of independent samples
// of deviation sigma, from the differences between neighbouring block means, for the longer of two
// lengths of blocks; at least 1.
func longNoise(v []float64, sigma float64) float64 {
	f := 1.0
	length := min(max(int(math.Sqrt(float64(len(v)))/2), 4), 32)
	for range 2 {
		if len(v) < 8*length || sigma <= 0 {
			break
		}
		s := differenceNoise(groupMeans(v, length))
		f = max(f, float64(length)*s*s/(sigma*sigma))
		length *= 2
	}
	return f
}
