package fit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A record is a settling curve's data with what the scan of time constants needs.
type record struct {
	x, y     []float64 // x = t − t0
	t0, span float64
	first    float64 // first positive interval
	distinct int     // number of different times
	noise    float64 // sum of squares that rounding of y explains
	opt      Options

	// Thinned copy for the scan: times, values and weights.
	sx, sy, sw []float64
	taus       []float64
}

func newRecord(t, y []float64, opt Options) (*record, error) {
	opt.Names = nil
	w, err := opt.whitener(len(y))
	if err != nil {
		return nil, err
	}
	c := &record{x: make([]float64, len(t)), y: y, t0: t[0], span: t[len(t)-1] - t[0], distinct: 1, opt: opt}
	if math.IsInf(c.span, 1) {
		return nil, errors.New("span of times overflows")
	}
	shortest := c.span
	for i, v := range t {
		c.x[i] = v - c.t0
		if i > 0 && c.x[i] > c.x[i-1] {
			c.distinct++
			shortest = math.Min(shortest, c.x[i]-c.x[i-1])
			if c.first == 0 {
				c.first = c.x[i]
			}
		}
	}
	s := search{y: y, w: w}
	c.noise = float64(len(y)) * noiseSS(s.whitenedSS(y))
	c.thin(w)
	if c.span > 0 {
		for tau := shortest / 5; tau <= 1000*c.span; tau *= scanStep {
			c.taus = append(c.taus, tau)
		}
	}
	return c, nil
}

// thin keeps the first 128 readings, where a fast term shows, and averages the
// rest in up to 128 blocks: enough for start values.
func (c *record) thin(w *whitener) {
	const keep = 128
	block := max(1, (len(c.x)-keep+keep-1)/keep)
	for i := 0; i < len(c.x); {
		end := i + 1
		if i >= keep {
			end = min(len(c.x), i+block)
		}
		var sx, sy, sw float64
		for ; i < end; i++ {
			g := 1 / w.varianceOf(i)
			sx, sy, sw = sx+g*c.x[i], sy+g*c.y[i], sw+g
		}
		c.sx, c.sy, c.sw = append(c.sx, sx/sw), append(c.sy, sy/sw), append(c.sw, sw)
	}
}

// fit runs the nonlinear fit from a start of the scan.
func (c *record) fit(m Model, start []float64) (*NonlinearResult, error) {
	o := NonlinearOptions{Options: c.opt}
	o.Names = []string{"final", "A1", "tau1", "A2", "tau2"}[:len(start)]
	return nonlinear(m, c.y, start, o)
}

// baseline returns the sum of squares about a constant or a straight line.
func (c *record) baseline(line bool) (float64, error) {
	degree := 0
	if line {
		degree = 1
	}
	r, err := Polynomial(c.x, c.y, degree, PolynomialOptions{Options: c.opt})
	if err != nil {
		return 0, err
	}
	return r.RSS, nil
}

// jump returns the sum of squares about one level at the first time and another
// from the second on.
func (c *record) jump() (float64, error) {
	later := make([]float64, len(c.x))
	for i, x := range c.x {
		if x > 0 {
			later[i] = 1
		}
	}
	r, err := Polynomial(later, c.y, 1, PolynomialOptions{Options: c.opt})
	if err != nil {
		return 0, err
	}
	return r.RSS, nil
}

// driftModel is one exponential on a straight line: what two exponentials
// become when the slower time constant grows without limit.
func driftModel(x []float64) Model {
	one := exponentials(x)
	return Model{
		Eval: func(p, dst []float64) {
			one.Eval(p[:3], dst)
			for i, v := range x {
				dst[i] += p[3] * v
			}
		},
		Jacobian: func(p []float64, dst *mat.Dense) {
			one.Jacobian(p[:3], dst)
			for i, v := range x {
				dst.Set(i, 3, v)
			}
		},
	}
}
