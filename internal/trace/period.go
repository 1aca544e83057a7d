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
	// Bias bounds the error of the mean by the unfinished cycle: Amplitude·|sin(π·Cycles)|/(π·Cycles).
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
	p.Bias = p.Amplitude * math.Abs(math.Sin(math.Pi*cycles)) / (math.Pi * cycles)
	p.Whole = min(int(math.Round(math.Floor(cycles+1e-6)*float64(n)/cycles)), n)
	return p, nil
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
