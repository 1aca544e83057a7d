package chart

import (
	"math"
	"strconv"

	"railtally/internal/look"
	"railtally/internal/quantity"
)

// axis maps values in SI to x.
type axis struct {
	lo, hi float64 // values at the two ends
	x0, x1 float64
	ticks  []float64
	prefix quantity.Prefix
}

func (a axis) at(v float64) float64 {
	return a.x0 + (v-a.lo)/(a.hi-a.lo)*(a.x1-a.x0)
}

// newAxis makes an axis that holds lo to hi and zero, with round ticks at least
// room apart.
func newAxis(unit quantity.Unit, lo, hi, x0, x1, room float64) axis {
	lo, hi = math.Min(lo, 0), math.Max(hi, 0)
	if hi-lo == 0 {
		hi = 1
	}
	step := roundStep((hi - lo) * room / (x1 - x0))
	a := axis{lo: lo, hi: hi, x0: x0, x1: x1, prefix: quantity.Scale(unit, lo, hi)}
	for i := math.Ceil(lo/step - 1e-9); i*step <= hi*(1+1e-9); i++ {
		a.ticks = append(a.ticks, i*step)
	}
	return a
}

// roundStep is the smallest of 1, 2, 5 times a power of ten that is not below x.
func roundStep(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= x*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// gridBehind draws an axis behind the marks from the given one on: hairlines,
// the zero line, and numbers below, the last one with the unit. A narrow chart
// has texts between its bars and so only the numbers.
func (s *sheet) gridBehind(a axis, first int, y0, y1 float64) {
	rows := append([]mark(nil), s.marks[first:]...)
	s.marks = s.marks[:first]
	size := s.small()
	for i, v := range a.ticks {
		x := a.at(v)
		switch {
		case s.narrow():
			s.stroke(polyline(point{x, y1 - 0.3*s.t}, point{x, y1}), look.Edge, 1)
		case v != 0:
			s.stroke(polyline(point{x, y0}, point{x, y1}), look.Line, 1)
		}
		text := s.o.w.tickText(a.prefix.In(v))
		half := s.face.width(text, size, false) / 2
		unit := ""
		if i == len(a.ticks)-1 {
			unit = " " + a.prefix.Symbol()
		}
		// The number stays centred below its line, the unit follows; neither
		// leaves the drawing.
		x = max(s.left, x-half)
		x = min(x, s.right-s.face.width(text+unit, size, false))
		s.text(label{x: x, y: y1 + 1.05*size, text: text + unit, size: size, role: look.Muted})
	}
	if !s.narrow() {
		s.zeroLine(a, y0, y1)
	}
	s.marks = append(s.marks, rows...)
	s.y = y1 + 1.4*size
}

func (s *sheet) zeroLine(a axis, y0, y1 float64) {
	w := math.Max(1, 0.08*s.t)
	s.fill(rectangle(a.at(0)-w/2, y0, w, y1-y0), look.Ink)
}

// tickText writes a round number.
func (w words) tickText(v float64) string {
	v = math.Round(v*1e6) / 1e6
	if v == 0 {
		return "0" // also for −0
	}
	return w.number(strconv.FormatFloat(v, 'f', -1, 64))
}
