package chart

import (
	"math"

	"railtally/internal/look"
	"railtally/internal/quantity"
)

// chip draws the chip's edge, as high as the lanes together, and the total.
func (s *sheet) chip(set laneSet, p lanesPlace) {
	top, bottom := s.y, s.y
	enter := set.entering()
	if len(enter) > 0 {
		first, last := enter[0], enter[len(enter)-1]
		top, bottom = first.entry-first.width/2, last.entry+last.width/2
	}
	pad := 0.35 * s.t
	s.fill(rectangle(p.chip, top-pad, p.thick, bottom-top+2*pad), look.Ink)
	if p.narrow {
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
		return set.w.Text("no total"), "", set.w.Text("%s not read", set.state.Missing)
	}
	f := set.state.Total
	c := column{w: set.w, prefix: quantity.Scale(quantity.Watt, f.Estimate)}
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
		chip = set.w.Text("chip")
	}
	lines := s.face.wrap(chip, s.right-p.total, s.small(), false, 3)
	s.text(label{x: p.total, y: y + 0.55*s.t, text: value + " " + unit, size: 2 * s.t, bold: true, role: look.Ink})
	s.text(label{x: p.total, y: y + 1.95*s.t, text: u, size: s.t, role: look.Muted})
	for i, line := range lines {
		up := float64(len(lines)-1-i) * leading * s.small()
		s.text(label{x: p.total, y: y - 1.5*s.t - up, text: line, size: s.small(), role: look.Muted})
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
	s.text(label{x: x, y: y, text: value, size: size, bold: true, role: look.Ink, anchor: end, tail: u, tailSize: s.t})
	chip := set.state.Board.Chip
	room := x - s.face.width(value+" ", size, true) - s.face.width(u, s.t, false) - 1.2*s.t - s.left
	s.text(label{x: s.left, y: y, text: s.face.clip(chip, room, s.small(), false), size: s.small(), role: look.Muted})
}
