package report

import (
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// cell is one figure in a table: a value with its tolerance, or words in its
// place.
type cell struct {
	Href     string // what the figure opens to
	Value, U string // without the unit, which the head of the column carries
	Pad      string // class that lines the decimal points up
	Width    string // class that gives the tolerances of a column one width
	Words    string // instead of a value
	Mark     string // what a reader must know of this figure: "nominal"
}

// column sets the figures of one column with one prefix, so that they can be
// compared down the page.
type column struct {
	t      tongue
	Prefix quantity.Prefix
	cells  []*cell
}

// newColumn chooses the prefix that suits the largest of the figures to come.
func (t tongue) newColumn(unit quantity.Unit, figures ...tally.Figure) *column {
	var xs []float64
	for _, f := range figures {
		xs = append(xs, f.Estimate)
	}
	return &column{t: t, Prefix: quantity.Scale(unit, xs...)}
}

// Symbol is the unit of the column.
func (c *column) Symbol() string { return c.Prefix.Symbol() }

// add sets a figure in the column.
func (c *column) add(f tally.Figure) *cell {
	out := &cell{}
	out.Value, out.U, _ = strings.Cut(c.Prefix.NumberU(f.Estimate, f.Expanded), " ± ")
	out.Value, out.U = minus(c.t.Number(out.Value)), c.t.Number(out.U)
	c.cells = append(c.cells, out)
	return out
}

// between sets two limits in the column: "0 to 83".
func (c *column) between(lo, hi float64) *cell {
	from := "0"
	if lo != 0 {
		from = c.t.firm(c.Prefix.Number(lo, 2))
	}
	return &cell{Words: c.t.Text("%s to %s", from, c.t.firm(c.Prefix.Number(hi, 2)))}
}

// align gives every figure of the column as many places after the point, the
// missing ones as space, and every tolerance the same width.
func (c *column) align() {
	decimals, width := 0, 0
	for _, x := range c.cells {
		decimals = max(decimals, places(x.Value))
		width = max(width, len(x.U))
	}
	for _, x := range c.cells {
		if lack := decimals - places(x.Value); lack > 0 {
			x.Pad = "d" + digit(lack)
			if places(x.Value) == 0 {
				x.Pad += " dp"
			}
		}
		x.Width = "w" + digit(width)
	}
}

func places(number string) int {
	if i := strings.IndexAny(number, ".,"); i >= 0 {
		return len(number) - i - 1
	}
	return 0
}

// digit is n as the style sheet's class names count, which end at 9.
func digit(n int) string { return string(rune('0' + min(n, 9))) }
