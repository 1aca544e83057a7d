package trace

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// A Correlation says how far neighbouring samples repeat each other.
type Correlation struct {
	Inflation float64 // F = 1 + 2 Σ ρ(k): the variance of the mean is s²F/n; never below 1
	Cut       int     // lags summed, in samples
	Lag1      float64 // ρ(1)
	Neff      float64 // n/F, independent samples that would tell as much
	DOF       float64 // degrees of freedom of s²F/n
	Short     bool    // the record is too short to see the end of the correlation
}

const (
	// correlationMax is the longest run whose autocorrelation is taken sample by sample; a longer
	// one is averaged in groups first, which changes F·s² by nothing but its estimation error.
	correlationMax = 1 << 17
	// windowFactor is Sokal's constant c: the sum is cut at the first lag W ≥ c·F/2. Five leaves a
	// bias of e^−5 for an exponential correlation (Sokal 1997, Monte Carlo methods in statistical
	// mechanics, section 3; from memory).
	windowFactor = 5
	// shortRecord: below 20 correlation sums the estimate of F is a guess (common practice, no source).
	shortRecord = 20
)

// Correlate estimates the integrated autocorrelation of evenly spaced finite samples.
//
// The sum of autocorrelations is cut by Sokal's self-consistent window and corrected for the mean
// having been estimated, F·(1 + (2W+1)/n) (Wolff, Comput. Phys. Commun. 156 (2004) 143, from memory).
// Its relative variance 2(2W+1)/n gives the degrees of freedom, n/(2W+1) − 1 and at most n−1.
// Anticorrelated samples are not credited: F is at least 1.
func Correlate(v []float64) Correlation {
	n := len(v)
	m := MomentsOf(v)
	c := Correlation{Inflation: 1, Neff: float64(n), DOF: float64(n - 1)}
	s2 := m.Var()
	if s2 > 0 {
		c.Lag1 = lag1(v, m.Mean())
	}
	if n < 4 || !(s2 > 0) {
		return c
	}
	group := (n + correlationMax - 1) / correlationMax
	x := v
	scale := 1.0
	if group > 1 {
		x = groupMeans(v, group)
		scale = float64(group) * MomentsOf(x).Var() / s2
	}
	rho := autocorrelation(x)
	f, cut, seen := sumWindow(rho)
	short := float64(len(x))
	f *= 1 + float64(2*cut+1)/short
	c.Cut = cut * group
	c.Inflation = max(f*scale, 1)
	c.Neff = float64(n) / c.Inflation
	c.DOF = min(max(short/float64(2*cut+1)-1, 1), float64(n-1))
	c.Short = !seen || c.Neff < shortRecord && c.Inflation > 2
	return c
}

// sumWindow adds autocorrelations up to the first lag W ≥ c·F/2 and reports whether that lag came
// within half the record.
func sumWindow(rho []float64) (f float64, cut int, seen bool) {
	f = 1
	half := max(len(rho)/2, 1)
	for w := 1; w <= half; w++ {
		f += 2 * rho[w]
		if float64(w) >= windowFactor*max(f, 1)/2 {
			return f, w, true
		}
	}
	return max(f, 1), half, false
}

// groupMeans returns the means of consecutive groups of size k; what is left over at the end is
// dropped.
func groupMeans(v []float64, k int) []float64 {
	out := make([]float64, len(v)/k)
	for i := range out {
		sum := 0.0
		for _, x := range v[i*k : (i+1)*k] {
			sum += x
		}
		out[i] = sum / float64(k)
	}
	return out
}

// autocorrelation returns ρ(0..n−1) with divisor n, by a transform padded to twice the length.
func autocorrelation(v []float64) []float64 {
	n := len(v)
	size := fastLength(2 * n)
	x := make([]float64, size)
	mean := MomentsOf(v).Mean()
	for i, a := range v {
		x[i] = a - mean
	}
	fft := fourier.NewFFT(size)
	coeff := fft.Coefficients(nil, x)
	for i, z := range coeff {
		coeff[i] = complex(real(z)*real(z)+imag(z)*imag(z), 0)
	}
	fft.Sequence(x, coeff)
	rho := x[:n]
	c0 := rho[0]
	for i := range rho {
		rho[i] /= c0
	}
	return rho
}

// fastLength returns the next power of two.
func fastLength(n int) int {
	size := 1
	for size < n {
		size *= 2
	}
	return size
}

func lag1(v []float64, mean float64) float64 {
	var c0, c1 float64
	for i, x := range v {
		d := x - mean
		c0 += d * d
		if i > 0 {
			c1 += d * (v[i-1] - mean)
		}
	}
	return c1 / c0
}

// AR1Inflation returns the exact factor by which n samples of a first-order autoregression with
// lag-one correlation phi inflate the variance of their mean: 1 + 2 Σ (1−k/n) φ^k.
func AR1Inflation(n int, phi float64) float64 {
	f, p := 1.0, 1.0
	for k := 1; k < n; k++ {
		p *= phi
		if math.Abs(p) < 1e-18 {
			break
		}
		f += 2 * (1 - float64(k)/float64(n)) * p
	}
	return f
}
