package table

import (
	"fmt"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Kind is what the cells of a column hold.
type Kind int

// The kinds of column.
const (
	Text   Kind = iota
	Whole       // a whole number
	Number      // a number in the column's unit, SI
	Yes         // yes or no
	Figure      // a result with its uncertainty
)

// Column is one column of a table.
type Column struct {
	Key   string // for programs: lower case, without the unit
	Title string // for people
	Kind  Kind
	Unit  quantity.Unit // of Number and Figure
	// ForPrograms tells that the column says nothing to people that another does
	// not say better; Markdown leaves it out.
	ForPrograms bool
}

// Cell is one cell. Only the field of its column's kind is looked at; Empty
// tells that there is nothing to say.
type Cell struct {
	Empty  bool
	Text   string
	Whole  int64
	Number float64
	Yes    bool
	Figure tally.Figure
	// Words are how the cell is stated where its number alone would say too much
	// or too little: the ends of a rail that was only bounded, a very small
	// probability.
	Words string
}

// Table is one table of a study.
type Table struct {
	Name    string // "rails"
	Title   string
	Columns []Column
	Rows    [][]Cell
}

// builders makes each table by name, in the order in which they are offered.
var builders = [...]struct {
	name, about string
	make        func(*tally.Tally) *Table
}{
	{"totals", "the chip's power in each state", totals},
	{"rails", "voltage, current and power of each rail in each state", rails},
	{"differences", "what one state draws more than another, with its verdict", differences},
	{"effects", "what each factor adds", effects},
	{"claims", "what was claimed, and whether it holds", claims},
	{"readings", "everything that was read, as it was written", readings},
	{"instruments", "what it was read with, range by range", instruments},
	{"figures", "every figure that is published, as it is stated", figures},
}

// Names lists the tables there are.
func Names() []string {
	out := make([]string, len(builders))
	for i, b := range builders {
		out[i] = b.name
	}
	return out
}

// About says in a few words what a table holds; "" when there is no such table.
func About(name string) string {
	for _, b := range builders {
		if b.name == name {
			return b.about
		}
	}
	return ""
}

// Of returns the table of that name.
func Of(t *tally.Tally, name string) (*Table, error) {
	for _, b := range builders {
		if b.name == name {
			return b.make(t), nil
		}
	}
	return nil, fmt.Errorf("no table is called %q: %s are accepted", name, quantity.Join(Names()))
}

// add appends a row; its cells are those of the columns, in order.
func (t *Table) add(cells ...Cell) { t.Rows = append(t.Rows, cells) }

// Keep leaves only the rows that have a text in a column; it fails where the
// table has no such column, or none of its rows that text.
func (t *Table) Keep(key, text string) error {
	at := -1
	for i, c := range t.Columns {
		if c.Key == key && c.Kind == Text {
			at = i
		}
	}
	if at < 0 {
		return fmt.Errorf("the table %s has no column %s", t.Name, key)
	}
	var kept [][]Cell
	var seen []string
	for _, r := range t.Rows {
		if r[at].Text == text {
			kept = append(kept, r)
		} else if len(seen) == 0 || seen[len(seen)-1] != r[at].Text {
			seen = append(seen, r[at].Text)
		}
	}
	if len(kept) == 0 {
		return fmt.Errorf("the table %s has no %s %q: it has %s", t.Name, key, text, some(seen))
	}
	t.Rows = kept
	return nil
}

// some lists distinct texts, not too many of them.
func some(texts []string) string {
	var out []string
	seen := map[string]bool{"": true}
	for _, s := range texts {
		if !seen[s] {
			out, seen[s] = append(out, s), true
		}
		if len(out) == 12 {
			return strings.Join(append(out, "…"), ", ")
		}
	}
	if len(out) == 0 {
		return "none"
	}
	return quantity.Join(out)
}

func text(s string) Cell { return Cell{Text: s, Empty: s == ""} }

func whole(n int) Cell { return Cell{Whole: int64(n)} }

func number(x float64) Cell { return Cell{Number: x} }

// probability is a number between 0 and 1.
func probability(x float64) Cell {
	c := Cell{Number: x, Words: fmt.Sprintf("%.2g", x)}
	if x < 0.0001 {
		c.Words = "< 0.0001"
	}
	return c
}

func yes(b bool) Cell { return Cell{Yes: b} }

func nothing() Cell { return Cell{Empty: true} }

// figure is a result; one that does not exist is empty.
func figure(f tally.Figure) Cell { return Cell{Figure: f, Empty: !f.Value.Valid()} }

// Stated is a figure as it is published, rounded by its uncertainty: "6.68 ±
// 0.10 W".
func Stated(f tally.Figure, unit quantity.Unit) string {
	return quantity.FormatU(f.Estimate, f.Expanded, unit)
}
