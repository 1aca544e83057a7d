package chart

import (
	"fmt"
	"math"
	"strings"

	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Differences draws each difference with its interval against zero and against
// the study's ±δ, with the verdict beside it.
func Differences(t *tally.Tally, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	var parts []string
	for _, d := range t.Differences {
		what := d.First.On().String() + " − " + d.Second.On().String()
		if err := finite(d.Difference, what); err != nil {
			return nil, err
		}
		if math.IsNaN(d.Margin) || math.IsInf(d.Margin, 0) {
			return nil, fmt.Errorf("chart: %s: the margin is %g", what, d.Margin)
		}
		parts = append(parts, o.w.differenceTip(d))
	}
	sub := subject{
		kind: "differences", title: o.w.Text("Differences between states"),
		explained: o.w.Text("The tick is the estimate, the bar its %s coverage interval.", o.w.soft(t.Level)),
		summary:   strings.Join(parts, "; "),
	}
	if delta := margin(t.Differences); delta > 0 {
		sub.explained += " " + o.w.Text("Shaded: equal within %s.", phrase.Number(quantity.Format(delta, quantity.Watt, 2)))
	}
	return compose(o, sub, func(s *sheet) {
		if len(t.Differences) == 0 {
			s.nothing(o.w.Text("No two states can be compared yet."))
			return
		}
		s.differences(t.Differences)
	})
}

func margin(ds []*tally.Difference) float64 {
	m := 0.0
	for _, d := range ds {
		m = max(m, d.Margin)
	}
	return m
}

// differenceNames is a difference in two lines: what less what, and where.
func differenceNames(d *tally.Difference) (what, where string) {
	first, second, shared := d.Names()
	return first + " − " + second, shared
}

func (w words) differenceTip(d *tally.Difference) string {
	what, where := differenceNames(d)
	if where != "" {
		what += " (" + where + ")"
	}
	return what + ": " + w.written(d.Difference, quantity.Watt) + ", " + w.Say(d.VerdictText())
}

// differencesPlace is where the columns of a differences chart stand.
type differencesPlace struct {
	axis   axis
	column column
	names  float64 // width of the names
	words  float64 // left edge of figures and verdicts, wide only
}

func (s *sheet) differences(ds []*tally.Difference) {
	var figures []tally.Figure
	var names, words []string
	m := margin(ds)
	lo, hi := -m*1.15, m*1.15
	for _, d := range ds {
		f := d.Difference
		figures = append(figures, f)
		lo, hi = min(lo, f.Lo()), max(hi, f.Hi())
		what, _ := differenceNames(d)
		names, words = append(names, what), append(words, s.o.w.Say(d.VerdictText()))
	}
	p := differencesPlace{column: s.newColumn(quantity.Watt, s.t, figures...), names: s.right - s.left}
	x0, x1 := s.left+s.t, s.right-s.t
	if !s.narrow() {
		p.names = min(s.widest(s.t, true, names...), 0.3*(s.right-s.left))
		p.words = s.right - max(p.column.width(), s.widest(s.small(), false, words...))
		x0, x1 = s.left+p.names+1.5*s.t, p.words-1.5*s.t
	}
	p.axis = newAxis(quantity.Watt, lo, hi, x0, x1, 5*s.t)

	top, behind := s.y, len(s.marks)
	for i, d := range ds {
		if i > 0 {
			s.y += 0.7 * s.t * s.spread
		}
		s.group(s.o.w.differenceTip(d), func() { s.difference(d, p) })
	}
	bottom := s.y + 0.6*s.t
	if m > 0 && !s.narrow() {
		rows := append([]mark(nil), s.marks[behind:]...)
		s.marks = s.marks[:behind]
		a := p.axis
		s.fill(rectangle(a.at(-m), top-0.4*s.t, a.at(m)-a.at(-m), bottom-top+0.4*s.t), look.Raised)
		s.gridBehind(a, len(s.marks), top-0.4*s.t, bottom)
		s.marks = append(s.marks, rows...)
		return
	}
	s.gridBehind(p.axis, behind, top-0.4*s.t, bottom)
}

// difference draws one difference: two lines of words, with the interval
// between them and the figure, or, where it is narrow, below.
func (s *sheet) difference(d *tally.Difference, p differencesPlace) {
	what, where := differenceNames(d)
	one, two := s.y+0.8*s.t, s.y+2.05*s.t
	if s.narrow() {
		s.text(label{x: s.left, y: one, text: s.face.clip(what, s.right-s.left, s.t, true), size: s.t, bold: true, role: look.Ink})
		s.figure(p.column, d.Difference, s.right-p.column.width(), two)
		said := s.o.w.Say(d.VerdictText())
		if where != "" {
			said = where + ": " + said
		}
		s.text(label{x: s.left, y: two, text: s.face.clip(said, s.right-s.left-p.column.width()-s.t, s.small(), false), size: s.small(), role: look.Ink})
		s.y += 2.6 * s.t
		s.interval(d, p.axis, 0.85*s.t)
		s.y += 0.85*s.t + 0.4*s.t*s.spread
		return
	}
	s.text(label{x: s.left, y: one, text: s.face.clip(what, p.names, s.t, true), size: s.t, bold: true, role: look.Ink})
	s.text(label{x: s.left, y: two, text: s.face.clip(where, p.names, s.small(), false), size: s.small(), role: look.Muted})
	s.figure(p.column, d.Difference, p.words, one)
	s.text(label{x: p.words, y: two, text: s.o.w.Say(d.VerdictText()), size: s.small(), role: look.Ink})
	h := s.barHeight()
	s.y += 1.15*s.t - h/2
	s.interval(d, p.axis, h)
	s.y += 1.15*s.t + h/2
}

// interval draws a difference's interval: solid where it is resolved, hollow
// where it is equal within the margin, hatched where neither can be said.
func (s *sheet) interval(d *tally.Difference, a axis, h float64) {
	f := d.Difference
	lo, hi := a.at(f.Lo()), a.at(f.Hi())
	if s.narrow() && d.Margin > 0 {
		s.fill(rectangle(a.at(-d.Margin), s.y-0.15*s.t, a.at(d.Margin)-a.at(-d.Margin), h+0.3*s.t), look.Raised)
	}
	if s.narrow() {
		s.zeroLine(a, s.y-0.15*s.t, s.y+h+0.15*s.t)
	}
	w := math.Max(1.2, 0.1*s.t)
	box := rectangle(lo, s.y, hi-lo, h)
	switch d.Verdict {
	case tally.Resolved:
		s.fill(box, look.Accent)
	case tally.Equal:
		s.shape(shape{path: box, fill: ink(look.AccentSoft), stroke: ink(look.Accent), width: w})
	default:
		s.fill(box, look.Paper)
		s.hatch(lo, s.y, hi-lo, h, 0.42*s.t, look.Edge, w)
		s.stroke(box, look.Edge, w)
	}
	s.tick(a.at(f.Estimate), s.y, h)
}
