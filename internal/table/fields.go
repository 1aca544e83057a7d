package table

import (
	"math"
	"strings"

	"railtally/internal/quantity"
)

// Field is one column of a table for programs.
type Field struct {
	Key  string
	Kind Kind // Text, Whole, Number or Yes
	Unit string
}

// unitEnds are what a key ends in for its unit, where its symbol would not do
// as a name.
var unitEnds = map[quantity.Unit]string{
	quantity.Ohm: "ohm", quantity.Celsius: "celsius", quantity.BytePerSecond: "byte_per_s", quantity.AmperePerVolt: "a_per_v",
	quantity.AmperePerSecond: "a_per_s", quantity.PerKelvin: "per_k",
}

// end is what the key of a quantity of that unit ends in.
func end(u quantity.Unit) string {
	if e, ok := unitEnds[u]; ok {
		return "_" + e
	}
	if s := u.Symbol(); s != "" {
		return "_" + strings.ToLower(s)
	}
	return ""
}

// Fields lists the columns for programs: a figure is eight of them.
func (t *Table) Fields() []Field {
	var out []Field
	for _, c := range t.Columns {
		with := end(c.Unit)
		symbol := c.Unit.Symbol()
		switch c.Kind {
		case Figure:
			out = append(out,
				Field{c.Key + with, Number, symbol}, Field{c.Key + "_u" + with, Number, symbol}, Field{c.Key + "_dof", Number, ""},
				Field{c.Key + "_k", Number, ""}, Field{c.Key + "_expanded" + with, Number, symbol},
				Field{c.Key + "_low" + with, Number, symbol}, Field{c.Key + "_high" + with, Number, symbol}, Field{c.Key + "_stated", Text, ""})
		case Number:
			out = append(out, Field{c.Key + with, Number, symbol})
		default:
			out = append(out, Field{c.Key, c.Kind, ""})
		}
	}
	return out
}

// Values gives a row for programs, one value for each of Fields: string, int64,
// float64 or bool; nil where there is nothing, and for what is not finite.
func (t *Table) Values(row int) []any {
	var out []any
	for i, c := range t.Columns {
		out = append(out, values(c, t.Rows[row][i])...)
	}
	return out
}

func values(c Column, x Cell) []any {
	if x.Empty {
		if c.Kind == Figure {
			return make([]any, 8)
		}
		return []any{nil}
	}
	switch c.Kind {
	case Whole:
		return []any{x.Whole}
	case Number:
		return []any{finite(x.Number)}
	case Yes:
		return []any{x.Yes}
	case Figure:
		f, stated := x.Figure, x.Words
		if stated == "" {
			stated = Stated(f, c.Unit)
		}
		return []any{finite(f.Estimate), finite(f.U), finite(f.DOF), finite(f.K), finite(f.Expanded), finite(f.Lo()), finite(f.Hi()), stated}
	}
	return []any{x.Text}
}

func finite(x float64) any {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return x
}
