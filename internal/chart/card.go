package chart

import (
	"math"
	"strings"

	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Card draws the one figure that a reader takes away, large enough for a
// thumbnail: the first comparison of the answer with its verdict, or the highest
// total where nothing is compared. The question stands above it.
func Card(t *tally.Tally, o Options) (*Drawing, error) {
	if o.Width > 0 && o.Height == 0 {
		o.Height = math.Round(o.Width * 9 / 16)
	}
	if o.Type == 0 && o.Width > 0 {
		o.Type = o.Width / cardLetters
	}
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	c, err := o.w.headline(t)
	if err != nil {
		return nil, err
	}
	if o.Title == "" {
		o.Title = t.Study.Question
	}
	return compose(o, subject{
		kind: "card", title: o.Title, explained: strings.ReplaceAll(o.w.Say(t.LevelText())+".", " %", phrase.NoBreak+"%"), summary: c.label + ": " + o.w.written(c.figure, quantity.Watt) + " " + c.verdict,
	}, func(s *sheet) {
		if c.label == "" {
			s.nothing(o.w.Text("Nothing has been measured completely yet."))
			return
		}
		s.card(c)
	})
}

// cardLetters is the width of a card in letters' sizes: type that is still read
// where the card is as wide as a phone.
const cardLetters = 38

// headline is the figure of a card.
type headline struct {
	label, verdict string
	figure         tally.Figure
	kind           tally.Verdict
}

func (w words) headline(t *tally.Tally) (headline, error) {
	if ds := t.Headlines(); len(ds) > 0 {
		d := ds[0]
		first, second, shared := d.Names()
		label := w.Text("%s less %s", first, second)
		if shared != "" {
			label += ", " + shared
		}
		return headline{label, w.Say(d.VerdictText()), d.Difference, d.Verdict}, finite(d.Difference, label)
	}
	for _, b := range t.Boards {
		if s := tally.Fullest(b); s != nil {
			return headline{label: w.Say(phrase.Name(s.On().String())), figure: s.Total}, finite(s.Total, s.On().String())
		}
	}
	return headline{}, nil
}

// card sets the figure as large as its width allows.
func (s *sheet) card(c headline) {
	col := s.newColumn(quantity.Watt, s.t, c.figure)
	value, u := col.split(c.figure)
	size := 4.6 * s.t
	if s.o.Bare {
		s.y += 0.4 * s.t
	}
	for s.face.width(value+" ", size, true)+s.face.width(u, 0.5*size, false) > s.right-s.left && size > s.t {
		size *= 0.95
	}
	for _, line := range s.face.balance(c.label, s.right-s.left, 1.15*s.t, true, 2) {
		s.y += 1.35 * s.t
		s.text(label{x: s.left, y: s.y, text: line, size: 1.15 * s.t, bold: true, role: look.Ink})
	}
	s.y += 1.05 * size
	s.text(label{x: s.left, y: s.y, text: value, size: size, bold: true, role: look.Ink, tail: u, tailSize: 0.5 * size})
	s.y += 0.5*s.t + descent*size/2
	if c.verdict == "" {
		return
	}
	s.y += 1.7 * s.t
	m := 0.85 * s.t
	box := rectangle(s.left, s.y-m, m, m)
	line := math.Max(1.5, 0.12*s.t)
	switch c.kind {
	case tally.Resolved:
		s.fill(box, look.Accent)
	case tally.Equal:
		s.fill(rectangle(s.left, s.y-m, m, 0.3*m), look.Accent)
		s.fill(rectangle(s.left, s.y-0.3*m, m, 0.3*m), look.Accent)
	default:
		s.stroke(circle(s.left+m/2, s.y-m/2, m/2-line/2), look.Accent, line)
	}
	s.text(label{x: s.left + m + 0.5*s.t, y: s.y, text: c.verdict, size: 1.2 * s.t, bold: true, role: look.Ink})
	s.y += 0.4 * s.t
}
