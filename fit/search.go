package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A search holds the problem while parameters are sought.
type search struct {
	model        Model
	y            []float64
	w            *whitener
	typical      []float64
	limit        int
	steps, evals int

	// reach is how far each parameter must move for the model to move by the
	// length of the residuals, from the last accepted linearization; nil before.
	reach []float64
}

// A point is a parameter vector with what the model gives there.
type point struct {
	p, fitted []float64
	res       []float64 // whitened y − fitted
	rss       float64
}

// at evaluates the model; it reports false where the result is not finite.
func (s *search) at(p []float64) (point, bool) {
	pt := point{p: append([]float64(nil), p...), fitted: make([]float64, len(s.y))}
	s.evals++
	s.model.Eval(pt.p, pt.fitted)
	res := make([]dd, len(s.y))
	for i, v := range s.y {
		res[i] = twoSum(v, -pt.fitted[i])
	}
	if s.w.apply(res) != nil {
		return pt, false
	}
	rss := dot(res, res).float()
	pt.res, pt.rss = rounded(res), rss
	return pt, !math.IsNaN(rss) && !math.IsInf(rss, 0)
}

// whitenedSS returns |W·v|².
func (s *search) whitenedSS(v []float64) float64 {
	c := ddSlice(v)
	if s.w.apply(c) != nil {
		return 0
	}
	return dot(c, c).hi
}

// jacobian returns the unwhitened derivatives at p, by the model or by
// differences. Central differences have an error of order h²; fine combines
// two step sizes to order h⁴. Steps are in proportion to the parameter, or to
// reach where the parameter is smaller than its own uncertainty.
func (s *search) jacobian(p []float64, fine bool) *mat.Dense {
	n := len(s.y)
	j := mat.NewDense(n, len(p), nil)
	if s.model.Jacobian != nil {
		s.model.Jacobian(append([]float64(nil), p...), j)
		return j
	}
	h0 := math.Cbrt(eps)
	if fine {
		h0 = math.Pow(eps, 0.2) // balances the h⁴ error against rounding
	}
	q := append([]float64(nil), p...)
	lo, hi := make([]float64, n), make([]float64, n)
	central := func(k int, h float64) []float64 {
		a, b := p[k]-h, p[k]+h
		s.evals += 2
		q[k] = a
		s.model.Eval(q, lo)
		q[k] = b
		s.model.Eval(q, hi)
		q[k] = p[k]
		d := make([]float64, n)
		for i := range d {
			d[i] = (hi[i] - lo[i]) / (b - a)
		}
		return d
	}
	derivative := func(k int, size float64) []float64 {
		d := central(k, h0*size)
		if fine {
			half := central(k, h0*size/2)
			for i := range d {
				d[i] = (4*half[i] - d[i]) / 3
			}
		}
		return d
	}
	for k := range p {
		size := math.Abs(p[k])
		if size == 0 {
			size = s.typical[k]
		}
		if s.reach == nil || s.reach[k] <= size {
			j.SetCol(k, derivative(k, size))
			continue
		}
		d := derivative(k, s.reach[k])
		if finite("", d) != nil {
			d = derivative(k, size) // stepped out of the model's domain
		}
		j.SetCol(k, d)
	}
	return j
}

// setReach takes the scale of differences from a whitened Jacobian.
func (s *search) setReach(j *mat.Dense, rss float64) {
	s.reach = make([]float64, len(s.typical))
	for k := range s.reach {
		if norm := mat.Norm(j.ColView(k), 2); norm > 0 {
			s.reach[k] = math.Sqrt(rss) / norm
		}
	}
}

// whitenedJacobian returns W·J, or false where it is not finite.
func (s *search) whitenedJacobian(p []float64, fine bool) (*mat.Dense, bool) {
	j := s.jacobian(p, fine)
	cols := make([][]dd, len(p))
	for k := range cols {
		c := mat.Col(nil, k, j)
		if finite("", c) != nil {
			return nil, false
		}
		cols[k] = ddSlice(c)
	}
	if s.w.apply(cols...) != nil {
		return nil, false
	}
	for k, c := range cols {
		j.SetCol(k, rounded(c))
	}
	return j, true
}

// minimize walks from start to a minimum with a trust region whose first
// radius is factor times the scaled length of start.
func (s *search) minimize(start []float64, factor float64) (point, error) {
	here, _ := s.at(start)
	s.reach = nil
	scale := make([]float64, len(start))
	radius := -1.0
	for s.steps < s.limit {
		j, ok := s.whitenedJacobian(here.p, false)
		if !ok {
			break
		}
		l, ok := linearize(j, here.res, scale)
		if !ok {
			break
		}
		length := l.length(here.p)
		if radius < 0 {
			if radius = factor * length; radius == 0 {
				radius = factor
			}
		}
		moved := false
		for !moved && s.steps < s.limit {
			s.steps++
			step := l.step(radius)
			size := l.length(step.d)
			next, ok := s.at(sum(here.p, step.d))
			gain := (here.rss - next.rss) / here.rss
			predicted := step.gain / here.rss
			switch {
			case !ok || !(gain > 0.25*predicted):
				radius = 0.25 * math.Min(radius, size)
			case gain > 0.75*predicted || step.free:
				radius = math.Max(radius, 2*size)
			}
			if ok && gain > 1e-4*predicted {
				here, moved = next, true
			}
			// Nothing left to gain, or steps below the spacing of float64.
			if !(predicted > 1e-15) || size <= 1e-15*length || radius <= 1e-15*length ||
				moved && step.free && predicted < 1e-13 {
				return s.polish(here), nil
			}
		}
	}
	return here, &ConvergenceError{Iterations: s.steps, Coef: here.p, RSS: here.rss}
}

// polish takes undamped steps while they shrink: near the minimum the sum of
// squares no longer distinguishes parameters that differ by √eps, the gradient does.
func (s *search) polish(here point) point {
	if j, ok := s.whitenedJacobian(here.p, false); ok {
		s.setReach(j, here.rss)
	}
	last := math.Inf(1)
	for range 30 {
		j, ok := s.whitenedJacobian(here.p, true)
		if !ok {
			return here
		}
		l, ok := linearize(j, here.res, make([]float64, len(here.p)))
		if !ok {
			return here
		}
		step := l.step(math.Inf(1))
		size := l.length(step.d)
		next, ok := s.at(sum(here.p, step.d))
		if !ok || !(size < 0.9*last) || next.rss > here.rss*(1+1e-9) {
			return here
		}
		here, last = next, size
		if size <= 1e-16*l.length(here.p) {
			return here
		}
	}
	return here
}

func sum(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] + b[i]
	}
	return out
}
