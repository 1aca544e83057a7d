package chart

import (
	"fmt"
	"math"
	"strings"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Stack draws, for one board, the rails that each state's power is made of. A
// rail that was only bounded is hatched, drawn at the middle of its bounds.
func Stack(t *tally.Tally, board string, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	b := t.Board(board)
	if b == nil {
		return nil, fmt.Errorf("chart: no board called %q", board)
	}
	bars, err := stackData(b)
	if err != nil {
		return nil, err
	}
	var parts []string
	for _, bar := range bars {
		parts = append(parts, bar.state.State.Name+": "+bar.said(o.w))
	}
	sub := subject{
		kind: "stack", title: o.w.Text("%s: the rails of each state", board),
		explained: o.w.Text("Power by rail. The bracket above a bar is the total's %s coverage interval.", o.w.soft(t.Level)),
		summary:   strings.Join(parts, "; "),
	}
	for _, bar := range bars {
		if bar.bounded() {
			sub.explained += " " + o.w.Text("Hatched: not opened, drawn at the middle of its bounds.")
			break
		}
	}
	return compose(o, sub, func(s *sheet) {
		if len(bars) == 0 {
			s.nothing(o.w.Text("No state of %s has been measured yet.", board))
			return
		}
		s.stack(bars)
	})
}

// stackBar is one state with the rails that enter the chip.
type stackBar struct {
	state    *tally.State
	segments []segment
	lo, hi   float64 // ends of the segments together, watts
}

// segment is one rail in a bar.
type segment struct {
	rail     *tally.Rail
	index    int // in the board's order
	from, to float64
}

func stackData(b *tally.Board) ([]stackBar, error) {
	var bars []stackBar
	for _, st := range b.States {
		bar := stackBar{state: st}
		if st.Complete {
			if err := finite(st.Total, st.On().String()+": total"); err != nil {
				return nil, err
			}
		}
		for i, r := range b.Rails {
			found := st.Rail(r.Name)
			if found == nil || r.Aside {
				continue
			}
			if err := finite(found.Power, st.On().String()+", "+r.Name+": power"); err != nil {
				return nil, err
			}
			// What is negative is stacked to the other side of zero.
			seg := segment{rail: found, index: i, from: bar.hi}
			if found.Power.Estimate < 0 {
				seg.from = bar.lo
			}
			seg.to = seg.from + found.Power.Estimate
			bar.lo, bar.hi = math.Min(bar.lo, seg.to), math.Max(bar.hi, seg.to)
			bar.segments = append(bar.segments, seg)
		}
		bars = append(bars, bar)
	}
	return bars, nil
}

func (b stackBar) bounded() bool {
	for _, seg := range b.segments {
		if seg.rail.Bound != nil {
			return true
		}
	}
	return false
}

// said is the bar in words.
func (b stackBar) said(w words) string {
	var parts []string
	for _, seg := range b.segments {
		parts = append(parts, seg.rail.Name+" "+w.railPower(seg.rail))
	}
	total := w.noTotal(b.state)
	if b.state.Complete {
		total = w.Text("total %s", w.written(b.state.Total, quantity.Watt))
	}
	return strings.Join(append(parts, total), ", ")
}

// stackPlace is where the columns of a stack stand.
type stackPlace struct {
	axis   axis
	column column
	names  float64 // width of the states' names, wide only
}

func (s *sheet) stack(bars []stackBar) {
	var figures []tally.Figure
	var names []string
	lo, hi := 0.0, 0.0
	for _, b := range bars {
		names = append(names, b.state.State.Name)
		lo, hi = min(lo, b.lo), max(hi, b.hi)
		if b.state.Complete {
			figures = append(figures, b.state.Total)
			lo, hi = min(lo, b.state.Total.Lo()), max(hi, b.state.Total.Hi())
		}
	}
	p := stackPlace{column: s.newColumn(quantity.Watt, s.t, figures...)}
	x0, x1 := s.left, s.right
	if !s.narrow() {
		p.names = min(s.widest(s.t, true, names...), 0.22*(s.right-s.left))
		x0, x1 = s.left+p.names+s.t, s.right-max(p.column.width(), 5*s.t)-1.2*s.t
	}
	p.axis = newAxis(quantity.Watt, lo, hi, x0, x1, 5*s.t)
	top, behind := s.y, len(s.marks)
	for i, b := range bars {
		if i > 0 {
			s.y += 1.1 * s.t * s.spread
		}
		s.stackBar(b, p)
	}
	s.gridBehind(p.axis, behind, top-0.3*s.t, s.y+0.5*s.t)
}

func (s *sheet) stackBar(b stackBar, p stackPlace) {
	h := s.t * (1.9 + 0.5*s.spread)
	s.y += 0.5 * s.t // the bracket's room
	room, base := p.names, s.y+h/2+0.34*s.t
	if s.narrow() {
		beside := p.column.width()
		if !b.state.Complete {
			beside = s.face.width(s.o.w.Text("no total"), s.t, false)
		}
		room, base = s.right-s.left-beside-s.t, s.y+0.4*s.t
	}
	s.text(label{x: s.left, y: base, text: s.face.clip(b.state.State.Name, room, s.t, true), size: s.t, bold: true, role: look.Ink})
	if b.state.Complete {
		s.figure(p.column, b.state.Total, s.right-p.column.width(), base)
	} else {
		s.text(label{x: s.right, y: base, text: s.face.clip(s.o.w.Text("no total"), s.right-s.left, s.t, false), size: s.t, role: look.Warn, anchor: end})
	}
	if s.narrow() {
		s.y += 1.45 * s.t
	}
	var rest []segment
	for _, seg := range b.segments {
		s.group(seg.rail.Name+": "+s.o.w.railPower(seg.rail), func() {
			if !s.segment(seg, p, h) {
				rest = append(rest, seg)
			}
		})
	}
	if b.state.Complete {
		s.bracket(p.axis, b.state.Total, s.y-0.3*s.t, h)
	}
	s.y += h
	s.stackRest(b, rest, p)
}
