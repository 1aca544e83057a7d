package gum

import "math"

// shape is a standardised distribution that trials are drawn from.
type shape uint8

const (
	shapeNone       shape = iota // always zero
	shapeUniform                 // whole numbers k with 0 ≤ k < 2⁵³
	shapeZiggurat                // standard normal or t
	shapeTriangular              // this and the following on −1..1
	shapeTrapezoidal
	shapeArcsine
	shapeCurvilinear
)

// sampler says how to draw an input: off plus scale times a draw of the
// shape. Keeping the two apart lets a program fold further affine steps into
// them. param is the degrees of freedom, beta or relative D of the shape.
type sampler struct {
	shape      shape
	param      float64
	off, scale float64
}

func (d Normal) sampler() sampler {
	return located(shapeZiggurat, math.Inf(1), d.Mean, d.U)
}

// normalDOF is where a t distribution is drawn as the normal one: the two
// differ by less than one part in 10⁷ of the standard deviation anywhere that
// trials reach.
const normalDOF = 1e8

func (d StudentT) sampler() sampler {
	nu := d.DOF
	if nu > normalDOF {
		nu = math.Inf(1)
	}
	return located(shapeZiggurat, nu, d.Mean, d.Scale)
}

func (d Rectangular) sampler() sampler {
	return located(shapeUniform, 0, d.Lo, (d.Hi-d.Lo)*ulp53)
}

func (d Triangular) sampler() sampler { return between(shapeTriangular, 0, d.Lo, d.Hi) }

func (d Trapezoidal) sampler() sampler { return between(shapeTrapezoidal, d.Beta, d.Lo, d.Hi) }

func (d Arcsine) sampler() sampler { return between(shapeArcsine, 0, d.Lo, d.Hi) }

func (d CurvilinearTrapezoid) sampler() sampler {
	return between(shapeCurvilinear, d.D/half(d.Lo, d.Hi), d.Lo, d.Hi)
}

// between places a shape on −1..1 on lo..hi.
func between(s shape, param, lo, hi float64) sampler {
	return located(s, param, mid(lo, hi), half(lo, hi))
}

func located(s shape, param, off, scale float64) sampler {
	if scale == 0 {
		return sampler{off: off}
	}
	return sampler{s, param, off, scale}
}

// bounded fills d with draws of a shape on −1..1.
func bounded(s shape, param float64, d []float64, g *rng) {
	switch s {
	case shapeTriangular: // inversion
		for i := range d {
			if v := g.open(); v < 0.5 {
				d[i] = math.Sqrt(2*v) - 1
			} else {
				d[i] = 1 - math.Sqrt(2*(1-v))
			}
		}
	case shapeTrapezoidal: // sum of two rectangles, JCGM 101 6.4.4.4
		for i := range d {
			d[i] = float64((1+param)*g.open()) + float64((1-param)*g.open()) - 1
		}
	case shapeArcsine: // inversion
		for i := range d {
			d[i] = math.Sin(math.Pi * (g.open() - 0.5))
		}
	case shapeCurvilinear: // a rectangle between random limits, JCGM 101 6.4.3.4
		for i := range d {
			limit := 1 - float64(param*(2*g.open()-1))
			d[i] = limit * (2*g.open() - 1)
		}
	}
}

// inverseChi fills d with √(ν/χ²), by which a normal vector becomes a
// multivariate t. χ² is twice a gamma variate of shape ν/2, drawn by the
// method of G. Marsaglia and W. W. Tsang ("A simple method for generating
// gamma variables", ACM Transactions on Mathematical Software 26, 2000).
func inverseChi(nu float64, d []float64, normal *ziggurat, g *rng) {
	a, boost := nu/2, 1.0
	if a < 1 {
		a++
	}
	b := a - 1.0/3
	c := 1 / math.Sqrt(9*b)
	for i := range d {
		var v float64
		for {
			z := normal.slow(g.next(), g)
			v = 1 + c*z
			if v <= 0 {
				continue
			}
			v *= v * v
			if math.Log(g.open()) < z*z/2+b*(1-v+math.Log(v)) {
				break
			}
		}
		if nu < 2 {
			boost = math.Pow(g.open(), 2/nu)
		}
		d[i] = math.Sqrt(nu / (2 * b * v * boost))
	}
}
