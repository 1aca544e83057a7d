package chart

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// finite refuses a figure that cannot be drawn. of names the series and the
// point, as "Otter one-busy, core: power".
func finite(f tally.Figure, of string) error {
	for _, v := range []struct {
		what string
		x    float64
	}{{"estimate", f.Estimate}, {"interval", f.Expanded}} {
		if math.IsNaN(v.x) || math.IsInf(v.x, 0) {
			return fmt.Errorf("chart: %s: the %s is %g", of, v.what, v.x)
		}
	}
	if f.Expanded < 0 {
		return fmt.Errorf("chart: %s: the interval is negative (%g)", of, f.Expanded)
	}
	return nil
}

// column prints figures of one column: one prefix, decimal points below each
// other.
type column struct {
	w      words
	prefix quantity.Prefix
	size   float64
	whole  float64 // width before the point
	rest   float64 // width from the point on, with interval and unit
}

// newColumn measures a column of figures.
func (s *sheet) newColumn(unit quantity.Unit, size float64, figures ...tally.Figure) column {
	xs := make([]float64, 0, len(figures))
	for _, f := range figures {
		xs = append(xs, f.Estimate)
	}
	c := column{w: s.o.w, prefix: quantity.Scale(unit, xs...), size: size}
	for _, f := range figures {
		value, u := c.split(f)
		whole, part := cutPoint(value)
		c.whole = math.Max(c.whole, s.face.width(whole, size, true))
		c.rest = math.Max(c.rest, s.face.width(part+" ", size, true)+s.face.width(u, size, false))
	}
	return c
}

func (c column) width() float64 { return c.whole + c.rest }

// longest is how many letters a figure may take with the column's prefix; one
// that is too small for it keeps a prefix of its own.
const longest = 17

// split prints a figure's value, and its interval with the unit.
func (c column) split(f tally.Figure) (value, u string) {
	text := c.prefix.FormatU(f.Estimate, f.Expanded)
	if utf8.RuneCountInString(c.prefix.NumberU(f.Estimate, f.Expanded)) > longest {
		text = quantity.FormatU(f.Estimate, f.Expanded, c.prefix.Unit())
	}
	value, u, _ = strings.Cut(text, " ± ")
	return c.w.number(value), "± " + c.w.Number(u)
}

// cutPoint splits a number before its decimal sign.
func cutPoint(number string) (whole, part string) {
	if i := strings.IndexAny(number, ".,"); i >= 0 {
		return number[:i], number[i:]
	}
	return number, ""
}

// figure prints a figure in a column that begins at x.
func (s *sheet) figure(c column, f tally.Figure, x, y float64) {
	value, u := c.split(f)
	whole, _ := cutPoint(value)
	left := x + c.whole - s.face.width(whole, c.size, true)
	s.text(label{x: left, y: y, text: value, size: c.size, bold: true, role: look.Ink, tail: u, tailSize: c.size})
}

// minus sets a leading hyphen as the minus sign that it is.
func minus(text string) string {
	if rest, ok := strings.CutPrefix(text, "-"); ok {
		return "−" + rest
	}
	return text
}

// softBar draws a figure as a bar from a base, mostly zero: solid as far as the
// interval leaves no doubt, soft over the interval, a tick at the estimate.
func (s *sheet) softBar(a axis, base float64, f tally.Figure, y, h float64, solid, soft look.Role) {
	lo, hi := a.at(base+f.Lo()), a.at(base+f.Hi())
	if hi > lo {
		s.fill(rectangle(lo, y, hi-lo, h), soft)
	}
	switch zero := a.at(base); {
	case f.Lo() > 0:
		s.fill(rectangle(zero, y, lo-zero, h), solid)
	case f.Hi() < 0:
		s.fill(rectangle(hi, y, zero-hi, h), solid)
	}
	s.tick(a.at(base+f.Estimate), y, h)
}

// tick marks an estimate across a bar.
func (s *sheet) tick(x, y, h float64) {
	w, over := math.Max(1.6, 0.13*s.t), 0.2*s.t
	s.fill(rectangle(x-w/2, y-over, w, h+2*over), look.Ink)
}
