package chart

import (
	"fmt"
	"math"
	"strings"

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

// column prints figures of one column: one prefix, aligned at the ± sign.
type column struct {
	prefix   quantity.Prefix
	size     float64
	value, u float64 // widths of the two halves
	gap      float64
}

// newColumn measures a column of figures.
func (s *sheet) newColumn(unit quantity.Unit, size float64, figures ...tally.Figure) column {
	xs := make([]float64, 0, len(figures))
	for _, f := range figures {
		xs = append(xs, f.Estimate)
	}
	c := column{prefix: quantity.Scale(unit, xs...), size: size, gap: 0.28 * size}
	for _, f := range figures {
		v, u := c.split(f)
		c.value = math.Max(c.value, s.face.width(v, size, true))
		c.u = math.Max(c.u, s.face.width(u, size, false))
	}
	return c
}

func (c column) width() float64 { return c.value + c.gap + c.u }

// split prints a figure's value, and its interval with the unit.
func (c column) split(f tally.Figure) (value, u string) {
	value, u, _ = strings.Cut(c.prefix.NumberU(f.Estimate, f.Expanded), " ± ")
	return minus(value), "± " + u + " " + c.prefix.Symbol()
}

// figure prints a figure in a column that begins at x.
func (s *sheet) figure(c column, f tally.Figure, x, y float64) {
	value, u := c.split(f)
	s.text(label{x: x + c.value, y: y, text: value, size: c.size, bold: true, role: look.Ink, anchor: end})
	s.text(label{x: x + c.value + c.gap, y: y, text: u, size: c.size, role: look.Muted})
}

// written is a figure in words, for tips and summaries.
func written(f tally.Figure, unit quantity.Unit) string {
	return minus(quantity.FormatU(f.Estimate, f.Expanded, unit))
}

// minus sets a leading hyphen as the minus sign that it is.
func minus(text string) string {
	if rest, ok := strings.CutPrefix(text, "-"); ok {
		return "−" + rest
	}
	return text
}

// softBar draws a figure as a bar from zero: solid as far as the interval
// leaves no doubt, soft over the interval, a tick at the estimate.
func (s *sheet) softBar(a axis, f tally.Figure, y, h float64, solid, soft look.Role) {
	lo, hi := a.at(f.Lo()), a.at(f.Hi())
	if hi > lo {
		s.fill(rectangle(lo, y, hi-lo, h), soft)
	}
	switch zero := a.at(0); {
	case f.Lo() > 0:
		s.fill(rectangle(zero, y, lo-zero, h), solid)
	case f.Hi() < 0:
		s.fill(rectangle(hi, y, zero-hi, h), solid)
	}
	s.tick(a.at(f.Estimate), y, h)
}

// tick marks an estimate across a bar.
func (s *sheet) tick(x, y, h float64) {
	w, over := math.Max(1.6, 0.13*s.t), 0.2*s.t
	s.fill(rectangle(x-w/2, y-over, w, h+2*over), look.Ink)
}
