package heat

import "math"

// Slab is a rectangular plate of one conductivity with a rectangular source in
// the middle of one face and convection on the other. All lengths are whole
// sides in metres.
type Slab struct {
	SourceX, SourceY float64
	X, Y, Thickness  float64
	Conductivity     float64
}

// terms of each sum of the series; the squares of the tests need no more to be
// within 1e-3 of the converged value.
const seriesTerms = 60

// Spreading is the mean spreading resistance in K/W over the source, besides
// the one-dimensional t/(kA) + 1/(hA): Fourier series of Yovanovich, Muzychka
// and Culham (1999).
func (s Slab) Spreading(h float64) float64 {
	a, b, c, d := s.SourceX/2, s.SourceY/2, s.X/2, s.Y/2
	k, t := s.Conductivity, s.Thickness
	hk := h / k
	phi := func(z float64) float64 {
		th := 1.0
		if zt := z * t; zt < 18 { // beyond, tanh is 1 to the last bit
			th = math.Tanh(zt)
		}
		return (z + hk*th) / (z*th + hk)
	}
	var sx, sy [seriesTerms + 1]float64
	s1, s2, s3 := 0.0, 0.0, 0.0
	for m := 1; m <= seriesTerms; m++ {
		delta, lam := float64(m)*math.Pi/c, float64(m)*math.Pi/d
		x, y := math.Sin(a*delta), math.Sin(b*lam)
		sx[m], sy[m] = x*x/(delta*delta), y*y/(lam*lam)
		s1 += sx[m] * phi(delta) / delta
		s2 += sy[m] * phi(lam) / lam
	}
	for m := 1; m <= seriesTerms; m++ {
		delta := float64(m) * math.Pi / c
		for n := 1; n <= seriesTerms; n++ {
			lam := float64(n) * math.Pi / d
			beta := math.Sqrt(delta*delta + lam*lam)
			s3 += sx[m] * sy[n] * phi(beta) / beta
		}
	}
	return s1/(2*a*a*c*d*k) + s2/(2*b*b*c*d*k) + s3/(a*a*b*b*c*d*k)
}

// spreader is a slab's spreading resistance as a table over ln h, so that a
// balance does not sum the series anew.
type spreader struct {
	of       Slab
	lo, step float64
	r        []float64
}

func (s Slab) spreader() *spreader {
	const from, to, n = 0.5, 5000.0, 16
	sp := &spreader{of: s, lo: math.Log(from), step: math.Log(to/from) / n}
	for i := 0; i <= n; i++ {
		sp.r = append(sp.r, s.Spreading(math.Exp(sp.lo+float64(i)*sp.step)))
	}
	return sp
}

// at interpolates; outside the table the nearest end stands.
func (sp *spreader) at(h float64) float64 {
	x := (math.Log(h) - sp.lo) / sp.step
	last := len(sp.r) - 1
	if !(x > 0) {
		return sp.r[0]
	}
	if x >= float64(last) {
		return sp.r[last]
	}
	i := int(x)
	w := x - float64(i)
	return sp.r[i]*(1-w) + sp.r[i+1]*w
}
