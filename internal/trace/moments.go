package trace

import "math"

// Moments are the exact statistics of a run of samples: how many there are, what is missing, the
// extremes, the mean and the sum of squared deviations. Two runs merge without their samples.
//
// Mean and sum of squares are kept as unevaluated sums of two float64 (about 31 digits), so that
// merging costs no digits however many parts there are: a trace split at any place has the same
// statistics. The zero value is an empty run. NaN is a missing sample, +Inf and −Inf are overloads;
// they are counted and never averaged.
type Moments struct {
	N                 int64   // finite samples
	Missing           int64   // NaN
	Over, Under       int64   // +Inf, −Inf
	Min, Max          float64 // of the finite samples; 0 when N is 0
	First, Last       float64 // finite samples in the order given
	MeanHigh, MeanLow float64 // the mean is their sum
	SumHigh, SumLow   float64 // Σ(x−mean)² is their sum
}

// momentBlock is how many samples are summed plainly before the sum is merged; few enough that
// rounding stays at 1e-15 relative, many enough that merging costs nothing.
const momentBlock = 512

// MomentsOf returns the statistics of v.
func MomentsOf(v []float64) Moments {
	var m Moments
	for len(v) > 0 {
		n := min(len(v), momentBlock)
		b := blockMoments(v[:n])
		m.Merge(b)
		v = v[n:]
	}
	return m
}

// blockMoments sums a short run in two passes. The first keeps what rounding loses of each addition
// (Neumaier), so the mean is good to far below its last digit; in the second the deviations from it are
// small, and their squares may be added plainly.
func blockMoments(v []float64) Moments {
	var s0, s1, e0, e1 float64
	i := 0
	for ; i+1 < len(v); i += 2 {
		var e float64
		s0, e = twoSum(s0, v[i])
		e0 += e
		s1, e = twoSum(s1, v[i+1])
		e1 += e
	}
	if i < len(v) {
		var e float64
		s0, e = twoSum(s0, v[i])
		e0 += e
	}
	sum, e := twoSum(s0, s1)
	if sum-sum != 0 {
		return ragged(v)
	}
	n := float64(len(v))
	high, low := twoSum(sum, e+(e0+e1))
	mean := dd{high, low}.over(n)
	k := mean.hi
	lo, hi := v[0], v[0]
	var q0, q1 float64
	i = 0
	for ; i+1 < len(v); i += 2 {
		a, b := v[i], v[i+1]
		lo, hi = min(lo, a, b), max(hi, a, b)
		a -= k
		b -= k
		q0 += a * a
		q1 += b * b
	}
	if i < len(v) {
		a := v[i]
		lo, hi = min(lo, a), max(hi, a)
		a -= k
		q0 += a * a
	}
	q := q0 + q1
	if q-q != 0 {
		return ragged(v)
	}
	m := Moments{N: int64(len(v)), Min: lo, Max: hi, First: v[0], Last: v[len(v)-1], MeanHigh: mean.hi, MeanLow: mean.lo}
	m.SumHigh = max(q-n*mean.lo*mean.lo, 0)
	return m
}

// ragged sums a run with missing samples or overloads: it counts those and packs the others.
func ragged(v []float64) Moments {
	var m Moments
	var packed [momentBlock]float64
	n := 0
	for _, x := range v {
		if x-x == 0 {
			packed[n] = x
			n++
			continue
		}
		m.Add(x)
	}
	if n == len(v) { // finite, but their sum or squares are not
		for _, x := range v {
			m.Add(x)
		}
		return m
	}
	if n > 0 {
		m.Merge(blockMoments(packed[:n]))
	}
	return m
}

// Add takes in one more sample.
func (m *Moments) Add(x float64) {
	switch {
	case math.IsNaN(x):
		m.Missing++
	case math.IsInf(x, 1):
		m.Over++
	case math.IsInf(x, -1):
		m.Under++
	default:
		m.Merge(Moments{N: 1, Min: x, Max: x, First: x, Last: x, MeanHigh: x})
	}
}

// Merge takes in the run that follows: Chan, Golub and LeVeque's update of mean and sum of squares
// (1979, from memory), in double-double arithmetic.
func (m *Moments) Merge(b Moments) {
	m.Missing += b.Missing
	m.Over += b.Over
	m.Under += b.Under
	if b.N == 0 {
		return
	}
	if m.N == 0 {
		b.Missing, b.Over, b.Under = m.Missing, m.Over, m.Under
		*m = b
		return
	}
	na, nb := float64(m.N), float64(b.N)
	n := na + nb
	d := dd{b.MeanHigh, b.MeanLow}.sub(dd{m.MeanHigh, m.MeanLow})
	mean := dd{m.MeanHigh, m.MeanLow}.add(d.times(nb).over(n))
	sum := dd{m.SumHigh, m.SumLow}.add(dd{b.SumHigh, b.SumLow}).add(d.mul(d).times(na).times(nb).over(n))
	m.MeanHigh, m.MeanLow = mean.hi, mean.lo
	m.SumHigh, m.SumLow = sum.hi, sum.lo
	m.N += b.N
	m.Min, m.Max = min(m.Min, b.Min), max(m.Max, b.Max)
	m.Last = b.Last
}

// Samples returns how many samples there are, missing and overloaded ones included.
func (m Moments) Samples() int64 { return m.N + m.Missing + m.Over + m.Under }

// Overloads returns how many samples were beyond the range of the meter.
func (m Moments) Overloads() int64 { return m.Over + m.Under }

// Mean returns the arithmetic mean of the finite samples, NaN when there are none.
func (m Moments) Mean() float64 {
	if m.N == 0 {
		return math.NaN()
	}
	return m.MeanHigh + m.MeanLow
}

// Var returns the sample variance (divisor n−1), NaN below two samples.
func (m Moments) Var() float64 {
	if m.N < 2 {
		return math.NaN()
	}
	return (m.SumHigh + m.SumLow) / float64(m.N-1)
}

// SD returns the sample standard deviation (divisor n−1), NaN below two samples.
func (m Moments) SD() float64 { return math.Sqrt(m.Var()) }
