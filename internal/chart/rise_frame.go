package chart

import (
	"math"

	"railtally/internal/look"
)

// scale maps values to one direction of a frame.
type scale struct{ lo, hi, p0, p1 float64 }

func (c scale) at(v float64) float64 { return c.p0 + (v-c.lo)/(c.hi-c.lo)*(c.p1-c.p0) }

// ticks are the round values at least room apart.
func (c scale) ticks(room float64) []float64 {
	step := roundStep((c.hi - c.lo) * room / math.Abs(c.p1-c.p0))
	var out []float64
	for i := math.Ceil(c.lo/step - 1e-9); i*step <= c.hi+1e-9*step; i++ {
		out = append(out, i*step)
	}
	return out
}

// frame is a chart of two directions.
type frame struct {
	*sheet
	x, y scale
}

// newFrame takes a space of the sheet, with room for numbers at the left and
// below, and draws the grid. The words say what goes along x and y.
func (s *sheet) newFrame(xlo, xhi, ylo, yhi float64, alongX, alongY string, right float64) *frame {
	size := s.small()
	height := math.Min(0.62*(s.right-s.left), 26*s.t) * s.spread
	f := &frame{sheet: s}
	s.text(label{x: s.left, y: s.y + 0.8*size, text: s.face.clip(alongY, s.right-s.left, size, false), size: size, role: look.Muted})
	top := s.y + 1.7*size
	f.y = scale{ylo, yhi, top + height, top}
	numbers := 0.0
	for _, v := range f.y.ticks(2.6 * s.t) {
		numbers = math.Max(numbers, s.face.width(s.o.w.tickText(v), size, false))
	}
	f.x = scale{xlo, xhi, s.left + numbers + 0.6*s.t, s.right - right}
	for _, v := range f.y.ticks(2.6 * s.t) {
		y := f.y.at(v)
		s.stroke(polyline(point{f.x.p0, y}, point{f.x.p1, y}), look.Line, 1)
		s.text(label{x: f.x.p0 - 0.4*s.t, y: y + 0.35*size, text: s.o.w.tickText(v), size: size, role: look.Muted, anchor: end})
	}
	for _, v := range f.x.ticks(4 * s.t) {
		x := f.x.at(v)
		s.stroke(polyline(point{x, f.y.p0}, point{x, f.y.p0 + 0.35*s.t}), look.Edge, 1)
		text := s.o.w.tickText(v)
		half := s.face.width(text, size, false) / 2
		s.text(label{x: math.Min(x-half, s.right-2*half), y: f.y.p0 + 0.45*s.t + size, text: text, size: size, role: look.Muted})
	}
	s.text(label{x: f.x.p1, y: f.y.p0 + 0.6*s.t + 2.1*size, text: s.face.clip(alongX, f.x.p1-s.left, size, false), size: size, role: look.Muted, anchor: end})
	s.y = f.y.p0 + 0.6*s.t + 2.5*size
	return f
}

func (f *frame) at(x, y float64) point { return point{f.x.at(x), f.y.at(y)} }

// inside is the part of a line that lies in the frame, cut at its edges. A
// line that leaves it does not come back here.
func (f *frame) inside(xs, ys []float64) (out []point) {
	in := func(i int) bool {
		return xs[i] >= f.x.lo && xs[i] <= f.x.hi && ys[i] >= f.y.lo && ys[i] <= f.y.hi
	}
	for i := range xs {
		if i > 0 && in(i) != in(i-1) {
			out = append(out, f.edge(xs[i-1], ys[i-1], xs[i], ys[i], in(i)))
		}
		if in(i) {
			out = append(out, f.at(xs[i], ys[i]))
		}
	}
	return out
}

// edge is where the way between two points crosses the frame's edge, coming in
// or going out.
func (f *frame) edge(x0, y0, x1, y1 float64, coming bool) point {
	cut := 1.0
	if coming {
		cut = 0
	}
	for _, e := range []struct{ from, to, at float64 }{{x0, x1, f.x.lo}, {x0, x1, f.x.hi}, {y0, y1, f.y.lo}, {y0, y1, f.y.hi}} {
		if e.from == e.to || (e.from-e.at)*(e.to-e.at) > 0 {
			continue
		}
		w := (e.at - e.from) / (e.to - e.from)
		if coming {
			cut = math.Max(cut, w)
		} else {
			cut = math.Min(cut, w)
		}
	}
	return f.at(x0+cut*(x1-x0), y0+cut*(y1-y0))
}

// free tells whether a label would stand clear of all others and inside the
// drawing's sides.
func (s *sheet) free(l label) bool {
	l.width = s.face.width(l.text, l.size, l.bold)
	x0, y0, x1, y1 := l.box()
	if x0 < s.left-0.5 || x1 > s.right+0.5 {
		return false
	}
	for _, o := range s.labels() {
		a0, b0, a1, b1 := o.box()
		if x0 < a1+2 && a0 < x1+2 && y0 < b1+1 && b0 < y1+1 {
			return false
		}
	}
	return true
}

// textWhere places a label at the first of several places that is free, and
// nowhere when none is.
func (s *sheet) textWhere(l label, places ...point) bool {
	for _, p := range places {
		l.x, l.y = p.x, p.y
		if s.free(l) {
			s.text(l)
			return true
		}
	}
	return false
}
