package chart

import (
	"math"

	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// tapText names a tap: "clamp, 5 turns", "shunt 100 mΩ".
func (w words) tapText(t *study.Tap) string {
	switch {
	case t.Kind == study.TapClamp && t.Turns > 1:
		return w.Text("clamp, %d turns", t.Turns)
	case t.Resistor != nil && t.Kind == study.TapInductor:
		return w.Text("inductor %s", phrase.Number(quantity.Format(t.Resistor.Resistance.Value(), quantity.Ohm, 2)))
	case t.Resistor != nil:
		return w.Text("%s %s", phrase.Word(t.Kind), phrase.Number(quantity.Format(t.Resistor.Resistance.Value(), quantity.Ohm, 3)))
	}
	return w.Say(phrase.Word(t.Kind))
}

// maxSymbols is how many taps of one rail are drawn, and how many turns.
const maxSymbols = 3

// tapAt is the place of the i-th tap of a lane, and its half height.
func (s *sheet) tapAt(l *lane, i int) (x, y, half float64) {
	y = l.y - l.width/2 + l.gross/2
	return l.tap + 0.9*s.t*float64(i), y, math.Max(l.gross/2+0.32*s.t, tapLeast*s.t)
}

// tapsBehind draws what lies behind the lane: the far side of a clamp's jaw.
func (s *sheet) tapsBehind(l *lane) {
	s.eachTap(l, func(t *study.Tap, x, y, half float64) {
		if t.Kind == study.TapClamp {
			s.stroke(ellipse(x, y, s.jaw(t), half, math.Pi/2, 3*math.Pi/2), look.Ink, s.pen())
		}
	})
}

// tapsFront draws what lies on the lane.
func (s *sheet) tapsFront(l *lane) {
	s.eachTap(l, func(t *study.Tap, x, y, half float64) {
		switch t.Kind {
		case study.TapClamp:
			s.clampFront(t, x, y, half)
		case study.TapShunt:
			s.resistor(x, y, half, false)
		case study.TapSense:
			s.resistor(x, y, half, true)
		case study.TapInductor:
			s.winding(x, y, half)
		case study.TapSeries:
			s.meter(x, y)
		}
	})
}

func (s *sheet) eachTap(l *lane, draw func(t *study.Tap, x, y, half float64)) {
	for i, t := range l.spec.Taps {
		if i == maxSymbols {
			return
		}
		x, y, half := s.tapAt(l, i)
		draw(t, x, y, half)
	}
}

func (s *sheet) pen() float64 { return math.Max(1.5, 0.12*s.t) }

// jaw is the half width of a clamp's jaw, wider for several turns.
func (s *sheet) jaw(t *study.Tap) float64 {
	return (0.3 + 0.14*float64(min(max(t.Turns, 1), maxSymbols)-1)) * s.t
}

// clampFront is the near side of the jaw, one arc for each turn, edged with
// paper so that it stands off the lane.
func (s *sheet) clampFront(t *study.Tap, x, y, half float64) {
	n := min(max(t.Turns, 1), maxSymbols)
	for i := range n {
		rx := s.jaw(t) - 0.28*s.t*float64(i)
		arc := ellipse(x, y, math.Abs(rx), half, -math.Pi/2, math.Pi/2)
		if rx < 0 {
			arc = ellipse(x, y, -rx, half, math.Pi/2, 3*math.Pi/2)
		}
		s.stroke(arc, look.Paper, s.pen()+0.22*s.t)
		s.stroke(arc, look.Ink, s.pen())
	}
}

// resistor is a box in the lane's way; one that was on the board already has
// filled ends.
func (s *sheet) resistor(x, y, half float64, onBoard bool) {
	w, h := 1.5*s.t, math.Min(2*half, 1.1*s.t)
	s.shape(shape{path: rectangle(x-w/2, y-h/2, w, h), fill: ink(look.Paper), stroke: ink(look.Ink), width: s.pen()})
	if onBoard {
		s.fill(rectangle(x-w/2, y-h/2, 0.34*s.t, h), look.Ink)
		s.fill(rectangle(x+w/2-0.34*s.t, y-h/2, 0.34*s.t, h), look.Ink)
	}
}

// winding is the humps of an inductor, on a ground of paper.
func (s *sheet) winding(x, y, half float64) {
	r := 0.3 * s.t
	s.fill(rectangle(x-3*r-s.pen(), y-r-s.pen(), 6*r+2*s.pen(), 2*r+s.pen()), look.Paper)
	var humps path
	for i := range 3 {
		cx := x + float64(i-1)*2*r
		h := ellipse(cx, y+r/2, r, 1.3*r, math.Pi, 2*math.Pi)
		humps.verbs = append(humps.verbs, h.verbs...)
		humps.points = append(humps.points, h.points...)
	}
	s.stroke(humps, look.Ink, s.pen())
}

// meter is a circle with an A, in the lane's way.
func (s *sheet) meter(x, y float64) {
	r := 0.62 * s.t
	s.shape(shape{path: circle(x, y, r), fill: ink(look.Paper), stroke: ink(look.Ink), width: s.pen()})
	size := 0.8 * s.t
	s.text(label{x: x, y: y + 0.33*size, text: "A", size: size, bold: true, role: look.Ink, anchor: middle})
}
