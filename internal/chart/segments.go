package chart

import (
	"math"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// segment draws one rail of a bar, and its name and power inside where there
// is room. It reports whether there was.
func (s *sheet) segment(seg segment, p stackPlace, h float64) bool {
	x0, x1 := p.axis.at(math.Min(seg.from, seg.to)), p.axis.at(math.Max(seg.from, seg.to))
	role := look.Rail(seg.index)
	on := look.Light().On(role) // the same role in both palettes
	bounded := seg.rail.Bound != nil
	s.segmentArea(x0, s.y, x1-x0, h, role, bounded)
	if bounded {
		return false // words do not read on a hatching
	}
	size, pad := s.small(), 0.4*s.t
	room := x1 - x0 - 2*pad
	name, power := seg.rail.Name, s.o.w.number(p.axis.prefix.NumberU(seg.rail.Power.Estimate, seg.rail.Power.Expanded))
	if s.face.width(name, size, true) > room || s.face.width(power, size, false) > room {
		return false
	}
	s.text(label{x: x0 + pad, y: s.y + h/2 - 0.22*size, text: name, size: size, bold: true, role: on})
	s.text(label{x: x0 + pad, y: s.y + h/2 + 0.95*size, text: power, size: size, role: on})
	return true
}

// segmentArea draws the area of a rail, with a gap towards its neighbour.
func (s *sheet) segmentArea(x, y, w, h float64, role look.Role, bounded bool) {
	line := math.Max(1, 0.07*s.t)
	if w > 3*line {
		w -= line // the gap; slivers have none
	}
	if !bounded {
		s.fill(rectangle(x, y, w, h), role)
		return
	}
	s.fill(rectangle(x, y, w, h), look.Paper)
	s.hatch(x, y, w, h, 0.35*s.t, look.Edge, line)
	s.stroke(rectangle(x+line/2, y+line/2, max(0, w-line), h-line), look.Edge, line)
}

// stackRest names the rails that had no room in the bar, on lines below it.
func (s *sheet) stackRest(b stackBar, rest []segment, p stackPlace) {
	size := s.small()
	right := s.right
	if !s.narrow() {
		right = p.axis.x1
	}
	type item struct {
		text string
		seg  *segment
	}
	var items []item
	for i := range rest {
		items = append(items, item{rest[i].rail.Name + " " + s.o.w.segmentPower(rest[i].rail, p.axis.prefix), &rest[i]})
	}
	if !b.state.Complete {
		items = append(items, item{s.o.w.Text("%s not read", b.state.Missing), nil})
	}
	if len(items) == 0 {
		return
	}
	swatch := 0.62 * size
	left := p.axis.x0
	if zero := p.axis.at(0) + 0.5*s.t; zero > left+s.t && right-zero > 0.5*(right-left) {
		left = zero // keeps off the zero line
	}
	x := left
	s.y += 1.35 * size
	for _, it := range items {
		lead := swatch + 0.35*size
		role := look.Ink
		if it.seg == nil {
			lead, role = 0, look.Warn
		}
		text := s.face.clip(it.text, right-left-lead, size, false)
		w := lead + s.face.width(text, size, false)
		if x > left && x+w > right {
			x = left
			s.y += leading * size
		}
		if it.seg != nil {
			s.segmentArea(x, s.y-swatch, swatch, swatch, look.Rail(it.seg.index), it.seg.rail.Bound != nil)
		}
		s.text(label{x: x + lead, y: s.y, text: text, size: size, role: role})
		x += w + 1.1*size
	}
	s.y += 0.3 * size
}

// bracket draws a total's interval above its bar, and the estimate across it.
func (s *sheet) bracket(a axis, f tally.Figure, y, h float64) {
	w, cap := math.Max(1.4, 0.11*s.t), 0.22*s.t
	lo, hi := a.at(f.Lo()), a.at(f.Hi())
	s.stroke(polyline(point{lo, y + cap}, point{lo, y}, point{hi, y}, point{hi, y + cap}), look.Ink, w)
	s.fill(rectangle(a.at(f.Estimate)-w/2, y, w, h+0.45*s.t), look.Ink)
}

// segmentPower is a rail's power for a line of labels.
func (w words) segmentPower(r *tally.Rail, p quantity.Prefix) string {
	if r.Bound != nil {
		return w.boundText(r, p)
	}
	value, u := column{w: w, prefix: p}.split(r.Power)
	return value + " " + u
}
