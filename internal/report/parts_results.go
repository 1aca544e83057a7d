package report

import (
	"math"
	"slices"

	"railtally/gum"
	"railtally/internal/chart"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Pages that open figures which the report shows within others set them with
// what follows, so that they read as the report does.

// Column sets figures of one unit with one prefix: its symbol, and a cell for the
// template "num" for each figure; nil for a figure that does not exist.
func (p *Parts) Column(unit quantity.Unit, figures ...tally.Figure) (symbol string, cells []any) {
	var known []tally.Figure
	for _, f := range figures {
		if f.Value.Valid() {
			known = append(known, f)
		}
	}
	col := p.a.newColumn(unit, known...)
	for _, f := range figures {
		if f.Value.Valid() {
			cells = append(cells, col.add(f))
		} else {
			cells = append(cells, nil)
		}
	}
	col.align()
	return col.Symbol(), cells
}

// Stated is a figure with its interval as no line breaks it.
func Stated(f tally.Figure, unit quantity.Unit) string { return english().stated(f, unit) }

// Amount is a quantity without an interval, as no line breaks it.
func Amount(x float64, unit quantity.Unit, digits int) string {
	return english().amount(x, unit, digits)
}

// Percents is a ratio with its interval in percent.
func Percents(f tally.Figure) string {
	return english().firm(quantity.FormatU(100*f.Estimate, 100*f.Expanded, quantity.None) + " %")
}

// Verdict is for the template "verdict".
func (p *Parts) Verdict(d *tally.Difference) any { return p.a.verdict(d) }

// Judgement is for the template "verdict".
func (p *Parts) Judgement(c *tally.ClaimResult) any {
	v := verdict{Text: word(p.a.tongue, c.Judgement), Kind: "open"}
	switch c.Judgement {
	case tally.Holds:
		v.Kind = "resolved"
	case tally.Fails:
		v.Kind = "refuted"
	}
	return v
}

// Limits is what limits any figure of a unit: what the templates make of a
// budget.
func (p *Parts) Limits(f tally.Figure, unit quantity.Unit) (any, error) {
	b, err := p.a.t.Budget(f)
	if err != nil {
		return nil, err
	}
	v := p.a.budget(b, nil, f)
	v.Figure, v.Interval = p.a.stated(f, unit), p.a.coverageIn(f, unit)
	if unit == quantity.Watt {
		return v, nil
	}
	v.Groups = nil
	for _, g := range []struct {
		title string
		more  func(int, string) phrase.Phrase
		of    []gum.Share
	}{{p.a.say("By cause"), moreCauses, p.a.causes(b.Causes)}, {p.a.say("By instrument"), moreInstruments, p.a.named(b.Instruments)}, {p.a.say("Largest single inputs"), moreInputs, p.a.inputNames(b.Inputs)}} {
		set := p.a.topShares(g.of, budgetShares, g.more)
		next := 0 // rows are the list's, in its order, without those of no part
		for _, s := range g.of {
			if s.Fraction != 0 && next < len(set.Rows) {
				set.Rows[next].U = p.a.amount(s.U, unit, 2)
				next++
			}
		}
		if len(set.Rows) > 0 {
			v.Groups = append(v.Groups, budgetGroup{g.title, set})
		}
	}
	return v, nil
}

// named says of what belongs to no instrument that it does.
func (t tongue) named(list []gum.Share) []gum.Share {
	list = slices.Clone(list)
	for i := range list {
		if list[i].Name == "" {
			list[i].Name = t.say("no instrument")
		}
	}
	return list
}

// Interval says how the ± of a figure of a unit came about.
func Interval(f tally.Figure, unit quantity.Unit) string { return english().coverageIn(f, unit) }

// Picture draws a chart for the template "picture". The id makes its identifiers
// unlike those of other charts on the page.
func (p *Parts) Picture(id string, chartOf func(chart.Options) (*chart.Drawing, error)) (any, error) {
	return p.a.draw(p.a.anchors.part(id), chartOf)
}

// Signed prints a plain number with a minus sign of that name, to so many
// significant digits.
func Signed(x float64, digits int) string {
	if x == 0 || math.IsNaN(x) {
		return "0"
	}
	return english().firm(quantity.Format(x, quantity.None, digits))
}
