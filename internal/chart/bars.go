package chart

import (
	"strings"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// bar is one figure drawn from zero, or from where another one ends.
type bar struct {
	name        string // of the board, where there are several
	figure      tally.Figure
	base        float64 // where the bar begins
	known       bool
	none        string // said in place of a bar that is not known
	tip         string // the bar in words
	solid, soft look.Role
}

// barGroup is bars with one heading.
type barGroup struct {
	name string
	bars []bar
}

func barsSummary(groups []barGroup) string {
	var parts []string
	for _, g := range groups {
		for _, b := range g.bars {
			parts = append(parts, b.tip)
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return strings.Join(parts, "; ") + "."
}

// barsPlace is where the columns of a chart of bars stand.
type barsPlace struct {
	axis   axis
	column column
	board  float64 // left edge of the boards' names
	boards bool    // whether there are several
}

// bars draws the groups. Wide: heading, board, bar and figure side by side.
// Narrow: heading, board and figure above the bar.
func (s *sheet) bars(groups []barGroup, unit quantity.Unit, boards bool) {
	var figures []tally.Figure
	lo, hi := 0.0, 0.0
	for _, g := range groups {
		for _, b := range g.bars {
			if b.known {
				figures = append(figures, b.figure)
				lo, hi = min(lo, b.base, b.base+b.figure.Lo()), max(hi, b.base, b.base+b.figure.Hi())
			}
		}
	}
	p := barsPlace{column: s.newColumn(unit, s.t, figures...), board: s.left, boards: boards}
	x0, x1 := s.left, s.right
	if !s.narrow() {
		var headings, names []string
		for _, g := range groups {
			headings = append(headings, g.name)
			for _, b := range g.bars {
				names = append(names, b.name)
			}
		}
		p.board = s.left + min(s.widest(s.t, true, headings...), 0.27*(s.right-s.left)) + s.t
		x0 = p.board
		if boards {
			x0 += min(s.widest(s.t, false, names...), 0.16*(s.right-s.left)) + s.t
		}
		x1 = s.right - p.column.width() - 1.6*s.t
	}
	p.axis = newAxis(unit, lo, hi, x0, x1, 5*s.t)

	top, behind := s.y, len(s.marks)
	for i, g := range groups {
		if i > 0 {
			s.y += 0.85 * s.t * s.spread
		}
		s.barGroup(g, p)
	}
	if len(figures) > 0 {
		s.gridBehind(p.axis, behind, top-0.3*s.t, s.y+0.4*s.t)
	}
}

func (s *sheet) barGroup(g barGroup, p barsPlace) {
	room, lines := s.right-s.left, 2
	switch {
	case !s.narrow():
		room = p.board - s.left - s.t
	case !p.boards:
		room, lines = room-p.column.width()-s.t, 1
	}
	size, top := s.t, s.y
	base := 0.8 * size
	if !s.narrow() {
		base = s.barHeight()/2 + 0.34*size
	}
	for _, line := range s.face.wrap(g.name, room, size, true, lines) {
		s.text(label{x: s.left, y: top + base, text: line, size: size, bold: true, role: look.Ink})
		top += 1.25 * size
	}
	if s.narrow() && p.boards {
		s.y = top + 0.1*s.t
	}
	for _, b := range g.bars {
		s.group(b.tip, func() { s.bar(b, p) })
	}
	s.y = max(s.y, top)
}

// barHeight is the height of one bar; rows with more room have higher ones.
func (s *sheet) barHeight() float64 { return s.t * (0.6 + 0.4*s.spread) }

func (s *sheet) bar(b bar, p barsPlace) {
	h := s.barHeight()
	base := s.y + h/2 + 0.34*s.t
	if s.narrow() {
		base = s.y + 0.8*s.t
	}
	if p.boards {
		room := p.axis.x0 - p.board - 0.5*s.t
		if s.narrow() {
			room = s.right - s.left - p.column.width() - s.t
		}
		s.text(label{x: p.board, y: base, text: s.face.clip(b.name, room, s.t, false), size: s.t, role: look.Ink})
	}
	if b.known {
		s.figure(p.column, b.figure, s.right-p.column.width(), base)
	}
	if s.narrow() {
		s.y += 1.25 * s.t
		h *= 0.8
	}
	if b.known {
		s.softBar(p.axis, b.base, b.figure, s.y, h, b.solid, b.soft)
	} else {
		x := p.axis.at(0) + 0.5*s.t
		if s.right-x < 0.5*(s.right-p.axis.x0) {
			x = p.axis.x0 // what is negative leaves no room behind zero
		}
		text := s.face.clip(b.none, s.right-x, s.t, false)
		s.text(label{x: x, y: s.y + h/2 + 0.34*s.t, text: text, size: s.t, role: look.Warn})
	}
	if s.narrow() {
		s.zeroLine(p.axis, s.y, s.y+h)
	}
	s.y += h + 0.45*s.t*s.spread
}
