package chart

import (
	"math"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// lanes draws the whole: soft edges first, then lanes, then taps and texts.
func (s *sheet) lanes(set laneSet) {
	p := s.placeLanes(set)
	var enter []*lane
	for _, l := range set.list {
		if l.enters() {
			enter = append(enter, l)
		}
	}
	r := newRoute(enter, p.chip, p.texts+0.3*s.t, math.Max(1, 0.1*s.t))
	for _, l := range set.list {
		s.laneSoft(l, r, p)
	}
	for _, l := range set.list {
		s.group(l.tip(), func() {
			s.laneBody(l, r, p)
			s.laneTexts(l, p)
		})
	}
	s.chip(set, enter, r, p)
}

// span is the solid and the whole width of a lane: up to the lower and to the
// upper end of its interval. A lane drawn wider than its power keeps the
// proportion.
func (l *lane) span(p lanesPlace) (solid, whole float64) {
	if l.rail == nil || l.bounded() || l.power <= 0 || p.scale == 0 {
		return 0, 0
	}
	per := l.width / l.power
	f := l.rail.Power
	return per * math.Max(0, f.Lo()), math.Min(per*f.Hi(), 3*l.width+2)
}

func (s *sheet) laneSoft(l *lane, r *route, p lanesPlace) {
	if _, whole := l.span(p); whole > l.width+0.2 && l.enters() {
		_, soft := l.shown()
		s.fill(r.ribbon(l, s.laneBegin(l), whole), soft)
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
	switch core, _ := l.span(p); {
	case l.rail == nil:
		s.stroke(s.middle(l, r, p), look.Edge, line, 0.12*s.t, 0.45*s.t)
	case l.bounded():
		s.shape(shape{path: whole, fill: ink(look.Paper), stroke: ink(solid), width: line, dash: []float64{0.45 * s.t, 0.3 * s.t}})
	case l.power <= 0:
		s.shape(shape{path: whole, fill: ink(look.Paper), stroke: ink(solid), width: line})
	case !l.enters():
		s.fill(whole, solid)
	default:
		s.fill(whole, soft)
		s.fill(r.ribbon(l, from, math.Max(core, 0)), solid)
	}
	if len(l.kids) > 0 && l.rail != nil {
		s.fill(rectangle(l.x0, l.y-l.width/2, from-l.x0, l.gross), solid)
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
	x -= w
	solid, _ := l.shown()
	top := l.y - l.width/2
	s.fill(polygon(
		point{x, down - w}, point{x + w, down - w}, point{x + w, top}, point{l.x0, top},
		point{l.x0, top + l.gross}, point{x + math.Min(w, l.gross), top + l.gross}, point{x, top + l.gross - math.Min(w, l.gross)},
	), solid)
}

// chip draws the chip's edge, as high as the lanes together, and the total.
func (s *sheet) chip(set laneSet, enter []*lane, r *route, p lanesPlace) {
	top, bottom := s.y, s.y
	if len(enter) > 0 {
		first, last := enter[0], enter[len(enter)-1]
		top, bottom = first.entry-first.width/2, last.entry+last.width/2
	}
	pad := 0.35 * s.t
	s.fill(rectangle(p.chip, top-pad, p.thick, bottom-top+2*pad), look.Ink)
	if s.narrow() {
		size := 1.35 * s.t
		y := p.bottom + 2.1*size
		line := math.Max(1.2, 0.1*s.t)
		s.fill(rectangle(p.chip+p.thick-line, bottom+pad, line, y+0.35*size-bottom-pad), look.Ink)
		s.totalLine(set, p.chip+p.thick-0.6*s.t, y, size)
		s.y = y + 0.4*size
		return
	}
	s.y = math.Max(s.y, s.totalBlock(set, p, (top+bottom)/2))
}

// totalParts are the lines of the total: large, and its interval.
func totalParts(set laneSet) (value, unit, u string) {
	if !set.state.Complete {
		return "no total", "", quantity.Join(set.state.Missing) + " not read"
	}
	f := set.state.Total
	c := column{prefix: quantity.Scale(quantity.Watt, f.Estimate)}
	value, u = c.split(f)
	return value, c.prefix.Symbol(), u
}

func (s *sheet) totalWidth(set laneSet) float64 {
	value, unit, u := totalParts(set)
	if unit == "" {
		return 8 * s.t
	}
	return math.Max(s.face.width(value+" "+unit, 2*s.t, true), s.face.width(u, s.t, false))
}

// totalBlock writes the total beside the chip and returns where it ends.
func (s *sheet) totalBlock(set laneSet, p lanesPlace, y float64) float64 {
	value, unit, u := totalParts(set)
	if unit == "" {
		s.text(label{x: p.total, y: y, text: value, size: s.t, bold: true, role: look.Warn})
		for _, line := range s.face.wrap(u, s.right-p.total, s.small(), false, 3) {
			y += leading * s.small()
			s.text(label{x: p.total, y: y, text: line, size: s.small(), role: look.Warn})
		}
		return y + 0.3*s.t
	}
	chip := set.state.Board.Chip
	if chip == "" {
		chip = "chip"
	}
	lines := s.face.wrap(chip, s.right-p.total, s.small(), false, 2)
	s.text(label{x: p.total, y: y + 0.55*s.t, text: value + " " + unit, size: 2 * s.t, bold: true, role: look.Ink})
	s.text(label{x: p.total, y: y + 1.95*s.t, text: u, size: s.t, role: look.Muted})
	for i, line := range lines {
		up := float64(len(lines)-1-i) * leading * s.small()
		s.text(label{x: p.total, y: y - 1.25*s.t - up, text: line, size: s.small(), role: look.Muted})
	}
	return y + 2.3*s.t
}

// totalLine writes the total on one line that ends at x.
func (s *sheet) totalLine(set laneSet, x, y, size float64) {
	value, unit, u := totalParts(set)
	if unit == "" {
		text := s.face.clip(value+", "+u, x-s.left, s.t, false)
		s.text(label{x: x, y: y, text: text, size: s.t, role: look.Warn, anchor: end})
		return
	}
	w := s.face.width(u, s.t, false)
	s.text(label{x: x, y: y, text: u, size: s.t, role: look.Muted, anchor: end})
	s.text(label{x: x - w - 0.35*s.t, y: y, text: value, size: size, bold: true, role: look.Ink, anchor: end})
	chip := set.state.Board.Chip
	room := x - w - s.face.width(value, size, true) - 1.5*s.t - s.left
	s.text(label{x: s.left, y: y, text: s.face.clip(chip, room, s.small(), false), size: s.small(), role: look.Muted})
}

// laneTexts writes name, voltage and tap, current and power above the lane.
func (s *sheet) laneTexts(l *lane, p lanesPlace) {
	over := math.Max(tapOver*s.t, tapLeast*s.t-l.gross/2)
	base := l.y - l.width/2 - over - 0.35*s.t
	if s.narrow() {
		s.laneTextsNarrow(l, p, base)
		return
	}
	x := s.left
	if l.parent != nil {
		x = l.x0
	}
	limit := p.power - 1.2*s.t
	if a := ampsText(l); a != "" {
		s.text(label{x: p.amps, y: base, text: a, size: s.t, role: look.Ink, anchor: end})
		limit = p.amps - s.face.width(a, s.t, false) - s.t
	}
	name := s.face.clip(l.spec.Name, (limit-x)*0.6, s.t, true)
	at := s.text(label{x: x, y: base, text: name, size: s.t, bold: true, role: look.Ink}) + 0.6*s.t
	if v := voltsText(l); at+s.face.width(v, s.t, false) < limit {
		at = s.text(label{x: at, y: base, text: v, size: s.t, role: look.Ink}) + 0.8*s.t
		s.text(label{x: at, y: base, text: s.face.clipOrNothing(howText(l), limit-at, s.small()), size: s.small(), role: look.Muted})
	}
	s.lanePower(l, p, base)
}

func (s *sheet) laneTextsNarrow(l *lane, p lanesPlace, base float64) {
	upper := base - textAbove*s.t
	room := p.power + p.column.value - s.face.width("00.000", s.t, true) - l.x0 - 0.5*s.t
	s.text(label{x: l.x0, y: upper, text: s.face.clip(l.spec.Name, room, s.t, true), size: s.t, bold: true, role: look.Ink})
	s.lanePower(l, p, upper)
	size := s.small()
	limit := p.texts
	if a := ampsText(l); a != "" {
		s.text(label{x: p.texts, y: base, text: a, size: size, role: look.Muted, anchor: end})
		limit -= s.face.width(a, size, false) + 0.7*s.t
	}
	text := voltsText(l)
	if how := howText(l); how != "" && s.face.width(text+", "+how, size, false) <= limit-l.x0 {
		text += ", " + how
	}
	s.text(label{x: l.x0, y: base, text: s.face.clipOrNothing(text, limit-l.x0, size), size: size, role: look.Muted})
}

func (s *sheet) lanePower(l *lane, p lanesPlace, y float64) {
	switch {
	case l.rail == nil:
		s.text(label{x: p.texts, y: y, text: "not read", size: s.t, role: look.Warn, anchor: end})
	case l.bounded():
		s.text(label{x: p.texts, y: y, text: boundText(l.rail, quantity.Watt), size: s.t, bold: true, role: look.Ink, anchor: end})
	default:
		s.figure(p.column, l.rail.Power, p.power, y)
	}
}

func ampsText(l *lane) string {
	switch {
	case l.rail == nil:
		return ""
	case l.bounded():
		return boundText(l.rail, quantity.Ampere)
	}
	return shortFigure(l.rail.Current, quantity.Ampere)
}

// shortFigure is an estimate alone, to the place that its interval supports.
func shortFigure(f tally.Figure, u quantity.Unit) string {
	return minus(quantity.Format(f.Estimate, u, digits(f)))
}

func voltsText(l *lane) string {
	if l.rail == nil {
		return quantity.Format(l.spec.Nominal.Value(), quantity.Volt, 3)
	}
	text := shortFigure(l.rail.Voltage, quantity.Volt)
	if l.rail.Stands {
		text += " nominal"
	}
	return text
}

// howText says how the rail was opened.
func howText(l *lane) string {
	if l.bounded() {
		return "not opened"
	}
	if len(l.spec.Taps) == 0 {
		return ""
	}
	text := tapText(l.spec.Taps[0])
	if n := len(l.spec.Taps); n > 1 {
		text = phases(n) + ", " + text
	}
	if l.spec.Feed != "" && l.spec.Feed != study.SenseResistor {
		text += " at " + string(l.spec.Feed)
	}
	return text
}
