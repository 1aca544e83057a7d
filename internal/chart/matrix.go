package chart

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Matrix draws what every state of a board draws more than each one before it,
// with the verdict on each pair.
func Matrix(t *tally.Tally, board string, o Options) (*Drawing, error) {
	b := t.Board(board)
	if b == nil {
		return nil, fmt.Errorf("chart: no board called %q", board)
	}
	all := b.Complete()
	rows, err := t.Matrix(all[:min(len(all), MostStates)])
	if err != nil {
		return nil, err
	}
	return MatrixOf(t, board, rows, o)
}

// MatrixOf is Matrix of rows that were compared already: tally.Matrix of the
// board's first complete states, MostStates at most.
func MatrixOf(t *tally.Tally, board string, rows [][]*tally.Difference, o Options) (*Drawing, error) {
	b := t.Board(board)
	if b == nil {
		return nil, fmt.Errorf("chart: no board called %q", board)
	}
	all := b.Complete()
	if len(rows) > min(len(all), MostStates) {
		return nil, fmt.Errorf("chart: %d lines for the %d complete states of %s, of which %d at most are drawn", len(rows), len(all), board, MostStates)
	}
	return matrix(board, all[:len(rows)], rows, len(all)-len(rows), t.Level, o)
}

// MostStates is how many states a matrix shows; more cells than that are not
// read by anybody (our own choice).
const MostStates = 12

// matrix draws the states' differences; left is how many states are not drawn.
func matrix(board string, states []*tally.State, rows [][]*tally.Difference, left int, level float64, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	var parts []string
	for _, row := range rows {
		for _, d := range row {
			if err := finite(d.Difference, d.First.On().String()+" − "+d.Second.On().String()); err != nil {
				return nil, err
			}
			parts = append(parts, o.w.differenceTip(d))
		}
	}
	sub := subject{
		kind: "matrix", title: o.w.Text("%s: each state against each", board),
		explained: o.w.Text("Each field is the power of its line less that of its column, ± the half-width of the %s coverage interval. Filled: resolved; framed: equal within the limit; hatched above: neither.", o.w.soft(level)),
		summary:   strings.Join(parts, "; "),
	}
	if left > 0 {
		sub.explained += " " + o.w.Text("The first %d states; %d more are not drawn.", len(states), left)
	}
	return compose(o, sub, func(s *sheet) {
		if len(states) < 2 {
			s.nothing(o.w.Text("No two states of %s can be compared yet.", board))
			return
		}
		s.matrix(states, rows)
	})
}

func (s *sheet) matrix(states []*tally.State, rows [][]*tally.Difference) {
	n := len(states)
	var figures []tally.Figure
	for _, row := range rows {
		for _, d := range row {
			figures = append(figures, d.Difference)
		}
	}
	col := s.newColumn(quantity.Watt, s.t, figures...)
	// Lines and columns are numbered; the names stand with the lines.
	names := make([]string, n)
	for i, st := range states {
		names[i] = strconv.Itoa(i+1) + "  " + st.State.Name
	}
	head := 1.9 * s.t
	if !s.narrow() {
		head = min(s.widest(s.t, true, names...), 0.27*(s.right-s.left)) + s.t
	}
	w := (s.right - s.left - head) / float64(n-1)
	size := s.fieldSize(col, figures, w)
	h := math.Max(2.9*size, 2.1*s.t) * (0.6 + 0.4*s.spread)
	x0 := s.left + head
	unit := col.prefix.Symbol()
	s.text(label{x: s.left, y: s.y + s.t, text: unit, size: s.small(), role: look.Muted})
	for j := range n - 1 {
		s.text(label{x: x0 + (float64(j)+0.5)*w, y: s.y + s.t, text: strconv.Itoa(j + 1), size: s.t, bold: true, role: look.Ink, anchor: middle})
	}
	s.y += 1.6 * s.t
	for i, row := range rows {
		base := s.y + h/2 + 0.34*s.t
		if s.narrow() {
			s.text(label{x: s.left, y: base, text: strconv.Itoa(i + 1), size: s.t, bold: true, role: look.Ink})
		} else {
			s.text(label{x: s.left, y: base, text: s.face.clip(names[i], head-0.5*s.t, s.t, true), size: s.t, bold: true, role: look.Ink})
		}
		for j, d := range row {
			s.group(s.o.w.differenceTip(d), func() { s.field(d, col, x0+float64(j)*w, w, h, size) })
		}
		s.y += h + 0.15*s.t
	}
	if s.narrow() {
		s.y += 0.4 * s.t
		for _, name := range names {
			s.text(label{x: s.left, y: s.y + s.small(), text: s.face.clip(name, s.right-s.left, s.small(), false), size: s.small(), role: look.Ink})
			s.y += leading * s.small()
		}
	}
}

// fieldSize is the size of type at which every figure fits a field, or the
// least that is drawn.
func (s *sheet) fieldSize(col column, figures []tally.Figure, w float64) float64 {
	size := s.small()
	for _, f := range figures {
		value, u := fieldTexts(col, f)
		if need := math.Max(s.face.width(value, size, true), s.face.width(u, size, false)); need > 0.9*w {
			size *= 0.9 * w / need
		}
	}
	return math.Max(size, minType)
}

// fieldTexts is a figure in two lines, its unit left to the head of the matrix.
func fieldTexts(col column, f tally.Figure) (value, u string) {
	value, u = col.split(f)
	return value, strings.TrimSuffix(u, " "+col.prefix.Symbol())
}

// field draws one difference of a matrix.
func (s *sheet) field(d *tally.Difference, col column, x, w, h, size float64) {
	gap, line := 0.12*s.t, math.Max(1, 0.08*s.t)
	box := rectangle(x+gap/2, s.y, w-gap, h)
	switch d.Verdict {
	case tally.Resolved:
		s.fill(box, look.AccentSoft)
	case tally.Equal:
		s.stroke(rectangle(x+gap/2+line/2, s.y+line/2, w-gap-line, h-line), look.Accent, line)
	default:
		// The hatching keeps to a band above the words, which stay readable.
		s.fill(box, look.Raised)
		s.hatch(x+gap/2, s.y, w-gap, 0.16*h, 0.3*s.t, look.Edge, line)
	}
	value, u := fieldTexts(col, d.Difference)
	mid := x + w/2
	s.text(label{x: mid, y: s.y + 0.52*h, text: s.face.clip(value, w-gap, size, true), size: size, bold: true, role: look.Ink, anchor: middle})
	s.text(label{x: mid, y: s.y + 0.87*h, text: s.face.clip(u, w-gap, size, false), size: size, role: look.Ink, anchor: middle})
}
