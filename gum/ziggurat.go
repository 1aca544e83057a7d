package gum

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ziggurat draws from a symmetric density that falls off on both sides of
// zero, by the method of G. Marsaglia and W. W. Tsang ("The ziggurat method for
// generating random variables", Journal of Statistical Software 5, 2000). The
// area under one half of the density is cut into layers of equal area: a
// random point in a random layer is nearly always under the curve, and costs
// one table look-up and one multiplication.
//
// The layer and the position in it come from different bits of one random
// number (J. Doornik, "An improved ziggurat method to generate normal random
// samples", 2005, warns of what happens otherwise).
type ziggurat struct {
	layer [layers]layer
	f     [layers + 1]float64 // density at the outer edge of each layer
	r     float64             // where the tail begins
	nu    float64             // degrees of freedom of a t distribution, +Inf for the normal
}

const layers = 512

// layer is one layer: w is the width of a step of j, of which 2⁵² make the
// layer, and sure the square of the x below which a point is under the curve.
type layer struct{ w, sure float64 }

// newZiggurat makes the tables for Student's t with nu degrees of freedom, or
// the standard normal distribution for an infinite nu.
func newZiggurat(nu float64) *ziggurat {
	z := &ziggurat{nu: nu}
	var x [layers + 1]float64
	z.r = tailStart(nu, layers)
	v, _ := stack(nu, z.r, x[:])
	const steps = 1 << 52 // j runs from −2⁵² to 2⁵²−1
	x[0] = v / density(nu, z.r)
	x[layers] = 0
	for i := range layers {
		z.layer[i] = layer{w: x[i] / steps, sure: x[i+1] * x[i+1]}
		z.f[i] = density(nu, x[i])
	}
	z.f[layers] = 1
	return z
}

// tailStart solves for the edge r from which n layers of equal area exactly
// reach the top of the density: bisection while a trial edge makes the layers
// overshoot early, then the Illinois variant of false position.
func tailStart(nu float64, n int) float64 {
	x := make([]float64, n+1)
	excess := func(r float64) (e float64, early bool) { // height beyond the top
		v, ok := stack(nu, r, x)
		if !ok {
			return 1, true
		}
		return density(nu, x[n-1]) + v/x[n-1] - 1, false
	}
	// The normal density needs a little over 3, that of ν = 1 about 4n/π.
	lo, hi := 1.0, 2*float64(n)
	elo, early := excess(lo)
	ehi, _ := excess(hi)
	for early || ehi < -0.5 {
		m := math.Sqrt(lo * hi)
		e, first := excess(m)
		if e > 0 {
			lo, elo, early = m, e, first
		} else {
			hi, ehi = m, e
		}
	}
	for range 60 {
		m := (lo*ehi - hi*elo) / (ehi - elo)
		e, _ := excess(m)
		switch {
		case e == 0 || m <= lo || m >= hi:
			return m
		case e > 0:
			lo, elo, ehi = m, e, ehi/2
		default:
			hi, ehi, elo = m, e, elo/2
		}
		if hi-lo <= 4e-16*hi {
			break
		}
	}
	return hi
}

// stack computes the edges x[1] = r, x[2] … x[n−1] of layers whose area is that
// of the base: the rectangle up to r and the tail beyond. It returns the area,
// and false when the layers grow past the top.
func stack(nu, r float64, x []float64) (area float64, ok bool) {
	n := len(x) - 1
	v := r*density(nu, r) + tailArea(nu, r)
	x[1] = r
	y := density(nu, r)
	for i := 1; i < n-1; i++ {
		if y += v / x[i]; y >= 1 {
			return v, false
		}
		x[i+1] = inverseDensity(nu, y)
	}
	return v, true
}

// density is (1+x²/ν)^(−(ν+1)/2), or exp(−x²/2): one at the top.
func density(nu, x float64) float64 {
	if math.IsInf(nu, 1) {
		return math.Exp(-x * x / 2)
	}
	return math.Exp(-(nu + 1) / 2 * math.Log1p(x*x/nu))
}

// inverseDensity returns the x ≥ 0 with density y.
func inverseDensity(nu, y float64) float64 {
	if math.IsInf(nu, 1) {
		return math.Sqrt(-2 * math.Log(y))
	}
	return math.Sqrt(nu * math.Expm1(-2/(nu+1)*math.Log(y)))
}

// tailArea is the area under density from r to infinity.
func tailArea(nu, r float64) float64 {
	if math.IsInf(nu, 1) {
		return math.Sqrt(math.Pi/2) * math.Erfc(r/math.Sqrt2)
	}
	p := mathext.RegIncBeta(nu/2, 0.5, nu/(nu+r*r)) / 2
	a, _ := math.Lgamma((nu + 1) / 2)
	b, _ := math.Lgamma(nu / 2)
	return p * math.Sqrt(nu*math.Pi) * math.Exp(b-a)
}

// finish is slow for a loop that keeps the state of the generator in registers.
//
//go:noinline
func (z *ziggurat) finish(u uint64, h rng) (float64, rng) {
	x := z.slow(u, &h)
	return x, h
}

// slow finishes the draw that u began outside the sure part of its layer.
func (z *ziggurat) slow(u uint64, g *rng) float64 {
	for {
		i, j := u&(layers-1), int64(u)>>11
		l := &z.layer[i]
		x := float64(j) * l.w
		switch {
		case x*x < l.sure:
			return x
		case i == 0:
			return math.Copysign(z.tail(g), x)
		case z.f[i]+g.open()*(z.f[i+1]-z.f[i]) < density(z.nu, x):
			return x
		}
		u = g.next()
	}
}

// tail draws from the density beyond r.
//
// For the normal it is Marsaglia's method. For t the density is rewritten in
// w = log(1+x²/ν), where it is exp(−νw/2)/√(1−exp(−w)): an exponential, drawn
// directly, times a factor that falls with w, met by rejection.
func (z *ziggurat) tail(g *rng) float64 {
	if math.IsInf(z.nu, 1) {
		for {
			x := -math.Log(g.open()) / z.r
			if y := -math.Log(g.open()); 2*y > x*x {
				return z.r + x
			}
		}
	}
	w0 := math.Log1p(z.r * z.r / z.nu)
	top := -math.Expm1(-w0)
	for {
		w := w0 - 2/z.nu*math.Log(g.open())
		if u := g.open(); u*u*-math.Expm1(-w) < top {
			return math.Sqrt(z.nu * math.Expm1(w))
		}
	}
}
