package chart

import (
	"math"
	"unicode/utf8"

	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
)

// lanes draws the whole: soft edges first, then lanes, then taps and texts.
func (s *sheet) lanes(set laneSet) {
	p, r := s.planLanes(set)
	for _, l := range set.list {
		s.laneSoft(l, r)
	}
	for _, l := range set.list {
		s.group(l.tip(s.o.w), func() {
			s.laneBody(l, r, p)
			s.laneTexts(l, p)
		})
	}
	s.chip(set, p)
	s.noteWider(set, p)
}

// noteWider says which lanes are not to scale, where any is not.
func (s *sheet) noteWider(set laneSet, p lanesPlace) {
	if p.scale == 0 || !set.any(func(l *lane) bool { return l.power > 0 && l.width > p.scale*l.power }) {
		return
	}
	limit := p.column.prefix.Format(p.least/p.scale, 2)
	if utf8.RuneCountInString(limit) > 9 {
		limit = quantity.Format(p.least/p.scale, quantity.Watt, 2)
	}
	size := s.small()
	s.y += 0.8*s.t + 0.8*size
	text := s.face.clip(s.o.w.Text("Lanes below %s are drawn wider than their power.", phrase.Number(limit)), s.right-s.left, size, false)
	s.text(label{x: s.left, y: s.y, text: text, size: size, role: look.Muted})
	s.y += 0.3 * size
}

func (s *sheet) laneSoft(l *lane, r *route) {
	if l.whole > l.width && l.enters() {
		_, soft := l.shown()
		from := s.laneBegin(l)
		s.fill(r.ribbon(l, from, l.whole), soft)
		s.fill(rectangle(l.x0, l.y-l.whole/2, from-l.x0, l.whole-l.width+l.gross), soft)
	}
}

// laneBegin is where the part of a lane begins that goes to the chip.
func (s *sheet) laneBegin(l *lane) float64 {
	if len(l.kids) > 0 {
		return s.branchX(l)
	}
	return l.x0
}

// branchX is where lanes leave a lane.
func (s *sheet) branchX(l *lane) float64 { return l.x0 + tapRoom*s.t }

func (s *sheet) laneBody(l *lane, r *route, p lanesPlace) {
	solid, soft := l.shown()
	line := math.Max(1.2, 0.1*s.t)
	from := s.laneBegin(l)
	whole := rectangle(from, l.y-l.width/2, p.texts-from, l.width)
	if l.enters() {
		whole = r.ribbon(l, from, l.width)
	}
	s.tapsBehind(l)
	switch {
	case l.rail == nil:
		s.stroke(s.middle(l, r, p), look.Edge, line, 0.12*s.t, 0.45*s.t)
	case l.bounded() && l.width < 0.4*s.t:
		s.stroke(s.middle(l, r, p), solid, line, 0.45*s.t, 0.3*s.t)
	case l.bounded():
		s.shape(shape{path: whole, fill: ink(look.Paper), stroke: ink(solid), width: line, dash: []float64{0.45 * s.t, 0.3 * s.t}})
	case l.power <= 0:
		s.shape(shape{path: whole, fill: ink(look.Paper), stroke: ink(solid), width: line})
	case !l.enters():
		s.fill(whole, solid)
	default:
		s.fill(whole, soft)
		s.fill(r.ribbon(l, from, l.core), solid)
	}
	if len(l.kids) > 0 && l.rail != nil {
		up := min(l.core, l.width) / 2
		s.fill(rectangle(l.x0, l.y-up, from-l.x0, up-l.width/2+l.gross), solid)
	}
	if l.parent != nil {
		s.branch(l, p)
	} else {
		h := math.Max(l.gross, 0.7*s.t) // the feed's terminal
		s.fill(rectangle(l.x0-0.04*s.t, l.y-l.width/2+l.gross/2-h/2, 0.22*s.t, h), look.Ink)
	}
	if !l.enters() {
		s.fill(rectangle(p.texts-0.1*s.t, l.y-0.4*s.t, 0.14*s.t, 0.8*s.t), look.Edge)
	}
	s.tapsFront(l)
}

// middle is the line along a lane.
func (s *sheet) middle(l *lane, r *route, p lanesPlace) path {
	if !l.enters() {
		return polyline(point{l.x0, l.y}, point{p.texts, l.y})
	}
	return polyline(r.edge(l, l.x0, 0)...)
}

// branch draws the way from the lower side of the parent to this lane.
func (s *sheet) branch(l *lane, p lanesPlace) {
	w := s.branchWidth(l, &p)
	x := s.branchX(l.parent)
	down := l.parent.y - l.parent.width/2 + l.parent.gross
	for _, k := range l.parent.kids {
		if k == l {
			break
		}
		kw := s.branchWidth(k, &p)
		x -= kw + 0.2*s.t // later ones leave further left and lower
	}
	// Where many levels leave little room, the way stays left of the texts.
	x = math.Min(x, l.x0-0.3*s.t) - w
	solid, _ := l.shown()
	if l.rail == nil || l.bounded() {
		// As the lane itself, the way to it is only a line.
		dash, role := []float64{0.12 * s.t, 0.45 * s.t}, look.Edge
		if l.bounded() && l.rail != nil {
			dash, role = []float64{0.45 * s.t, 0.3 * s.t}, solid
		}
		s.stroke(polyline(point{x + w/2, down}, point{x + w/2, l.y}, point{l.x0, l.y}), role, math.Max(1.2, 0.1*s.t), dash...)
		return
	}
	top := l.y - l.width/2
	s.fill(polygon(
		point{x, down - w}, point{x + w, down - w}, point{x + w, top}, point{l.x0 + 1, top},
		point{l.x0 + 1, top + l.gross}, point{x + math.Min(w, l.gross), top + l.gross}, point{x, top + l.gross - math.Min(w, l.gross)},
	), solid)
}
