package trace

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// A Period is the strongest periodic part of a window, and what cutting it short costs the mean.
type Period struct {
	Seconds   float64
	Amplitude float64 // of its fundamental
	Cycles    float64 // in the window
	Share     float64 // of the variance that the fundamental explains
	// Swing is the highest less the lowest value of the load, whose cycles were laid over each other so that
	// what does not repeat averages out.
	Swing float64
	// Bias bounds the error of the mean by the unfinished cycle, whatever the shape of the load: Swing times
	// CutShort. A sine alone would make Amplitude·|sin(π·Cycles)|/(π·Cycles) of it, at most two thirds as much.
	Bias float64
	// Whole is how many samples from the first make whole cycles.
	Whole int
}

// EnoughCycles is how many whole cycles the mean of a periodic state should cover: IEC 62301 ed. 2 as
// remembered, borrowed for its method.
const EnoughCycles = 4

// fisherLevel is the probability at which noise alone would show a period.
const fisherLevel = 0.001

// periodPoints bounds how many points a period is sought among; longer windows are averaged in groups first,
// which hides only periods so short that the window holds thousands of them.
const periodPoints = 1 << 14

var errNoPeriod = errors.New("no period stands out of the noise")

// FindPeriod looks for a period in an evenly sampled window. It fails with an error when none stands out
// by Fisher's test for the largest ordinate of a periodogram, P ≈ n·exp(−n·g) with g its share (Fisher
// 1929, from memory), or when the window holds less than two cycles.
func FindPeriod(w *Series) (*Period, error) {
	t, v := w.finite()
	n := len(v)
	if n < 16 {
		return nil, fmt.Errorf("period: %d samples, 16 or more are wanted", n)
	}
	step := (t[n-1] - t[0]) / float64(n-1)
	group := (n + periodPoints - 1) / periodPoints
	y := groupMeans(v, group)
	m := MomentsOf(y)
	if m.SumHigh <= 0 || step <= 0 {
		return nil, fmt.Errorf("period: %w", errNoPeriod)
	}
	points := len(y)
	x := make([]float64, points)
	for i := range y {
		x[i] = y[i] - m.Mean()
	}
	// The transform wants a length of small factors; what it leaves out is used again below.
	length := smoothLength(points)
	coeff := fourier.NewFFT(length).Coefficients(nil, x[:length])
	best, most, total := 0, 0.0, 0.0
	for k := 1; k < len(coeff); k++ {
		p := real(coeff[k])*real(coeff[k]) + imag(coeff[k])*imag(coeff[k])
		total += p
		if p > most {
			best, most = k, p
		}
	}
	q := float64((length - 1) / 2)
	if math.Log(q)+(q-1)*math.Log1p(-min(most/total, 1-1e-16)) > math.Log(fisherLevel) || best < 2 {
		return nil, fmt.Errorf("period: %w", errNoPeriod)
	}
	// Between the ordinates the fit is best at one frequency: golden-section search for it.
	scale := float64(points) / float64(length)
	cycles := maximise(func(c float64) float64 { return sineShare(x, c/float64(points)) }, (float64(best)-1)*scale, (float64(best)+1)*scale)
	share := sineShare(x, cycles/float64(points))
	cycles *= float64(n) / float64(points*group) // of the whole window
	p := &Period{
		Seconds: float64(n) * step / cycles, Cycles: cycles, Share: share / m.SumHigh,
		Amplitude: math.Sqrt(2 * share / float64(points)),
	}
	p.Swing = foldedSwing(v, cycles)
	unsure := cyclesUnsure / cycles
	p.Bias = p.Swing * CutShort(1, 1/(cycles+unsure), 1/(cycles-unsure))
	p.Whole = min(int(math.Round(math.Floor(cycles+1e-6)*float64(n)/cycles)), n)
	return p, nil
}

// cyclesUnsure over the cycles of a window is by how many cycles their number, which is that of the fundamental
// alone, may be off where the load is no sine: 0.32 is the most of rectangular loads on from a twentieth to nine tenths
// of the time, found by the test.
const cyclesUnsure = 0.35

// phases is into how many parts a cycle is divided where cycles are laid over each other; fewer where a part
// would hold less than perPhase samples.
const (
	phases   = 64
	perPhase = 8
)

// foldedSwing is the range of the means of the parts of a cycle.
func foldedSwing(v []float64, cycles float64) float64 {
	k := max(2, min(phases, len(v)/perPhase, int(float64(len(v))/cycles)))
	sum, count := make([]float64, k), make([]float64, k)
	for i, x := range v {
		_, part := math.Modf((float64(i) + 0.5) / float64(len(v)) * cycles)
		j := min(int(part*float64(k)), k-1)
		sum[j] += x
		count[j]++
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for j := range sum {
		if count[j] > 0 {
			lo, hi = min(lo, sum[j]/count[j]), max(hi, sum[j]/count[j])
		}
	}
	return hi - lo
}

// smoothLength returns the largest number up to n without prime factors above 5; n ≥ 1.
func smoothLength(n int) int {
	for ; ; n-- {
		m := n
		for _, f := range []int{2, 3, 5} {
			for m%f == 0 {
				m /= f
			}
		}
		if m == 1 {
			return n
		}
	}
}

// sineShare returns by how much a mean, a sine and a cosine of f cycles to a sample reduce the sum of
// squares of x.
func sineShare(x []float64, f float64) float64 {
	var cc, cs, ss, c1, s1, xc, xs float64
	n := float64(len(x))
	step := 2 * math.Pi * f
	for i, v := range x {
		s, c := math.Sincos(step * float64(i))
		c1 += c
		s1 += s
		cc += c * c
		cs += c * s
		ss += s * s
		xc += v * c
		xs += v * s
	}
	cc -= c1 * c1 / n
	cs -= c1 * s1 / n
	ss -= s1 * s1 / n // x has mean zero
	det := cc*ss - cs*cs
	if det <= 0 {
		return 0
	}
	return (xc*xc*ss - 2*xc*xs*cs + xs*xs*cc) / det
}

// maximise returns where f is greatest between a and b.
func maximise(f func(float64) float64, a, b float64) float64 {
	const ratio = 0.6180339887498949
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, fd := f(c), f(d)
	for range 40 {
		if fc > fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd = f(d)
		}
	}
	return (a + b) / 2
}

// CutShort bounds what a mean over a window is off by when a load that repeats
// itself does not fit it in whole periods: as a part of the load's swing, its
// highest less its lowest value, over all shapes of the load and all moments at
// which the window may begin. The period lies between lo and hi, in the unit of
// the window; all are above zero.
//
// Derivation. Let the window be T = nP + r with 0 ≤ r < P. Whole periods have the
// mean x̄ of the load, so that the error is
//
//	(1/T) ∫ᵣ (x − x̄) dt,   P x̄ = ∫ᵣ x dt + ∫ x dt over the rest of the period
//	∫ᵣ (x − x̄) dt = (1 − r/P) ∫ᵣ x dt − (r/P) ∫ x dt over the rest
//
// which is greatest where x is highest throughout r and lowest in the rest:
//
//	|error| ≤ r (P − r) / (P T) · swing
//
// and a rectangular load with r/P on attains it. With the period between two
// limits, the bound as a function of P, for one n, is
// [(2n+1) T − n(n+1) P − T²/P] / T: it has its one maximum at P = T/√(n(n+1)),
// where it is (√(n+1) − √n)², or for n = 0 grows with P.
func CutShort(window, lo, hi float64) float64 {
	at := func(p float64) float64 {
		r := math.Mod(window, p)
		return r * (p - r) / (p * window)
	}
	most := math.Max(at(lo), at(hi))
	for n := max(1, math.Floor(window/hi)); n <= math.Floor(window/lo); n++ {
		if p := window / math.Sqrt(n*(n+1)); lo < p && p < hi {
			return math.Max(most, math.Pow(math.Sqrt(n+1)-math.Sqrt(n), 2)) // the first is the largest
		}
	}
	return most
}
