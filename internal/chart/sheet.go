package chart

import (
	"fmt"
	"hash/fnv"
	"math"
	"strconv"

	"railtally/internal/look"
)

// sheet is a drawing in the making: its sizes, and how far down it is filled.
type sheet struct {
	*Drawing
	o           Options
	t           float64 // size of ordinary text
	left, right float64 // edges of what is drawn
	y           float64 // where the next thing begins
	spread      float64 // factor on the space between rows, 1 by default
}

// subject is what a chart is about, in words.
type subject struct {
	kind               string // of chart, for identifiers
	title              string // where the options have none
	explained, summary string
}

// How closely and how widely rows are set to fit a height, as factors on the
// ordinary space between them.
const (
	tightest = 0.35
	widest   = 2.6
)

// compose lays a chart out: header, body, footer. The body may be laid out
// several times, until it fits the height that is asked for.
func compose(o Options, sub subject, body func(*sheet)) (*Drawing, error) {
	face, err := newTypeface()
	if err != nil {
		return nil, err
	}
	lay := func(size, spread, push float64) *sheet {
		s := &sheet{o: o, t: size, spread: spread, Drawing: &Drawing{
			Width: o.Width, Title: sub.title, Explained: sub.explained, Summary: sub.summary, opt: o, face: face,
		}}
		s.name(sub)
		s.header()
		s.y += push
		body(s)
		s.footer()
		return s
	}
	s := lay(o.Type, 1, 0)
	if o.Height == 0 {
		s.Height = math.Ceil(s.y)
		return s.Drawing, nil
	}
	// The largest type at which the rows still fit, closely set; then as much
	// space between them as the height gives.
	for s = lay(s.t, tightest, 0); s.y > o.Height; s = lay(s.t*0.96, tightest, 0) {
		if s.t*0.96 < minType {
			return nil, fmt.Errorf("chart: %s: height %g is too low for its content: leave it open or make it wider", sub.title, o.Height)
		}
	}
	lo, hi := tightest, widest
	for range 8 {
		if mid := lay(s.t, (lo+hi)/2, 0); mid.y > o.Height {
			hi = mid.spread
		} else {
			s, lo = mid, mid.spread
		}
	}
	if rest := o.Height - s.y; rest > 1 {
		s = lay(s.t, s.spread, rest/2)
	}
	s.Height = o.Height
	return s.Drawing, nil
}

func (s *sheet) name(sub subject) {
	if s.o.Title != "" {
		s.Title = s.o.Title
	}
	if s.o.Subtitle != "" {
		s.Explained = s.o.Subtitle
	}
	if s.id = s.o.ID; s.id == "" {
		h := fnv.New32a()
		_, _ = h.Write([]byte(sub.title)) // never fails
		s.id = sub.kind + "-" + strconv.FormatUint(uint64(h.Sum32()), 36)
	}
}

// header draws title and subtitle.
func (s *sheet) header() {
	margin := 1.3 * s.t
	switch {
	case s.o.Inline && s.o.Bare:
		margin = 1
	case s.o.Height > 0:
		margin = 2 * s.t
	}
	s.left, s.right, s.y = margin, s.o.Width-margin, margin
	if s.o.Bare {
		return
	}
	if s.o.Title != "" {
		size := 1.4 * s.t
		for _, line := range s.face.balance(s.o.Title, s.right-s.left, size, true, 3) {
			s.text(label{x: s.left, y: s.y + 0.8*size, text: line, size: size, bold: true, role: look.Ink})
			s.y += 1.2 * size
		}
		s.y += 0.1 * s.t
	}
	size := s.small()
	for _, line := range s.face.balance(s.Explained, s.right-s.left, size, false, 5) {
		s.text(label{x: s.left, y: s.y + 0.8*size, text: line, size: size, role: look.Muted})
		s.y += leading * size
	}
	s.y += 1.1 * s.t
}

// footer draws the footer, at the bottom of the frame where there is one.
func (s *sheet) footer() {
	margin := s.left
	if s.o.Bare || s.o.Footer == "" {
		s.y += margin
		return
	}
	size := s.small()
	lines := s.face.wrap(s.o.Footer, s.right-s.left, size, false, 2)
	s.y += 1.1*s.t + leading*size*float64(len(lines))
	if s.o.Height > s.y+margin {
		s.y = s.o.Height - margin
	}
	for i, line := range lines {
		y := s.y - leading*size*float64(len(lines)-1-i) - 0.2*size
		s.text(label{x: s.left, y: y, text: line, size: size, role: look.Muted})
	}
	s.y += margin
}

func (s *sheet) small() float64 { return math.Round(0.9*s.t*10) / 10 }

// narrow tells whether labels stand above what they label.
func (s *sheet) narrow() bool { return s.o.Width < narrowing*s.t/14 }

// nothing draws the chart of a study that has nothing to show yet.
func (s *sheet) nothing(text string) {
	h := 5 * s.t
	s.stroke(rectangle(s.left, s.y, s.right-s.left, h), look.Edge, 1, 2, 4)
	lines := s.face.wrap(text, s.right-s.left-3*s.t, s.t, false, 2)
	for i, line := range lines {
		y := s.y + h/2 + 0.33*s.t + (float64(i)-float64(len(lines)-1)/2)*leading*s.t
		s.text(label{x: (s.left + s.right) / 2, y: y, text: line, size: s.t, role: look.Muted, anchor: middle})
	}
	s.y += h
}

// widest is the greatest width among texts.
func (s *sheet) widest(size float64, bold bool, texts ...string) float64 {
	w := 0.0
	for _, t := range texts {
		w = math.Max(w, s.face.width(t, size, bold))
	}
	return w
}
