package chart

import (
	"strings"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// totalsRow is one state on one board.
type totalsRow struct {
	board int
	name  string // of the board
	state *tally.State
}

// totalsGroup is one state on every board where it was measured.
type totalsGroup struct {
	name string
	rows []totalsRow
}

// Totals draws the power of the chip in each state, the boards side by side.
// A state that lacks a rail has no bar and says which rail was not read.
func Totals(t *tally.Tally, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	groups, figures, err := totalsData(t)
	if err != nil {
		return nil, err
	}
	sub := subject{
		kind: "totals", title: "Power of the chip in each state",
		explained: "The tick is the estimate, the soft end its " + tally.Percent(t.Level) + " coverage interval.",
		summary:   totalsSummary(groups),
	}
	return compose(o, sub, func(s *sheet) {
		if len(groups) == 0 {
			s.nothing("No state has been measured yet.")
			return
		}
		s.totals(groups, figures, len(t.Boards) > 1)
	})
}

func totalsData(t *tally.Tally) (groups []totalsGroup, figures []tally.Figure, err error) {
	for _, st := range t.Study.States {
		g := totalsGroup{name: st.Name}
		for i, b := range t.Boards {
			for _, s := range b.States {
				if s.State.Name != st.Name {
					continue
				}
				if s.Complete {
					if err := finite(s.Total, s.On().String()+": total"); err != nil {
						return nil, nil, err
					}
					figures = append(figures, s.Total)
				}
				g.rows = append(g.rows, totalsRow{i, b.Name, s})
			}
		}
		if len(g.rows) > 0 {
			groups = append(groups, g)
		}
	}
	return groups, figures, nil
}

func totalsSummary(groups []totalsGroup) string {
	var parts []string
	for _, g := range groups {
		for _, r := range g.rows {
			parts = append(parts, r.tip())
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return strings.Join(parts, "; ") + "."
}

// tip is the row in words.
func (r totalsRow) tip() string {
	if !r.state.Complete {
		return r.state.On().String() + ": " + noTotal(r.state)
	}
	return r.state.On().String() + ": " + written(r.state.Total, quantity.Watt)
}

// noTotal says why a state has none.
func noTotal(s *tally.State) string {
	return "no total, " + quantity.Join(s.Missing) + " not read"
}

// totalsPlace is where the columns of a totals chart stand.
type totalsPlace struct {
	axis   axis
	column column
	board  float64 // left edge of the boards' names
	boards bool    // whether there are several
}

// totals draws the groups. Wide: state, board, bar and figure side by side.
// Narrow: state, board and figure above the bar.
func (s *sheet) totals(groups []totalsGroup, figures []tally.Figure, boards bool) {
	p := totalsPlace{column: s.newColumn(quantity.Watt, s.t, figures...), board: s.left, boards: boards}
	x0, x1 := s.left, s.right
	if !s.narrow() {
		var states, names []string
		for _, g := range groups {
			states = append(states, g.name)
			for _, r := range g.rows {
				names = append(names, r.name)
			}
		}
		p.board = s.left + min(s.widest(s.t, true, states...), 0.27*(s.right-s.left)) + s.t
		x0 = p.board
		if boards {
			x0 += min(s.widest(s.t, false, names...), 0.16*(s.right-s.left)) + s.t
		}
		x1 = s.right - p.column.width() - 1.6*s.t
	}
	lo, hi := 0.0, 0.0
	for _, f := range figures {
		lo, hi = min(lo, f.Lo()), max(hi, f.Hi())
	}
	p.axis = newAxis(quantity.Watt, lo, hi, x0, x1, 5*s.t)

	top, behind := s.y, len(s.marks)
	for i, g := range groups {
		if i > 0 {
			s.y += 0.85 * s.t * s.spread
		}
		s.totalsGroup(g, p)
	}
	if len(figures) > 0 {
		s.gridBehind(p.axis, behind, top-0.3*s.t, s.y+0.4*s.t)
	}
}

func (s *sheet) totalsGroup(g totalsGroup, p totalsPlace) {
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
	for _, r := range g.rows {
		s.group(r.tip(), func() { s.totalsRow(r, p) })
	}
	s.y = max(s.y, top)
}

// barHeight is the height of one bar; rows with more room have higher ones.
func (s *sheet) barHeight() float64 { return s.t * (0.6 + 0.4*s.spread) }

func (s *sheet) totalsRow(r totalsRow, p totalsPlace) {
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
		s.text(label{x: p.board, y: base, text: s.face.clip(r.name, room, s.t, false), size: s.t, role: look.Ink})
	}
	if r.state.Complete {
		s.figure(p.column, r.state.Total, s.right-p.column.width(), base)
	}
	if s.narrow() {
		s.y += 1.25 * s.t
		h *= 0.8
	}
	if r.state.Complete {
		s.softBar(p.axis, r.state.Total, s.y, h, look.Board(r.board), look.BoardSoft(r.board))
	} else {
		x := p.axis.at(0) + 0.5*s.t
		if s.right-x < 0.5*(s.right-p.axis.x0) {
			x = p.axis.x0 // what is negative leaves no room behind zero
		}
		text := s.face.clip(noTotal(r.state), s.right-x, s.t, false)
		s.text(label{x: x, y: s.y + h/2 + 0.34*s.t, text: text, size: s.t, role: look.Warn})
	}
	if s.narrow() {
		s.zeroLine(p.axis, s.y, s.y+h)
	}
	s.y += h + 0.45*s.t*s.spread
}
