package table

import (
	"fmt"

	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Published is one figure that a study publishes, with the name by which it is
// known: "total Otter idle", "power Otter idle core", "difference Otter busy
// against Otter idle".
type Published struct {
	Name   string
	Unit   quantity.Unit
	Figure tally.Figure
	Stated string // as it is published, to the last digit
}

// Figures lists every figure that a study publishes.
func Figures(t *tally.Tally) []Published {
	var out []Published
	add := func(f tally.Figure, unit quantity.Unit, format string, args ...any) {
		if f.Value.Valid() {
			out = append(out, Published{fmt.Sprintf(format, args...), unit, f, Stated(f, unit)})
		}
	}
	for _, b := range t.Boards {
		for _, s := range b.States {
			add(s.Total, quantity.Watt, "total %s", s.On())
			for _, r := range s.Rails {
				add(r.Voltage, quantity.Volt, "voltage %s %s", s.On(), r.Name)
				if r.Drawn.Value != r.Current.Value {
					add(r.Drawn, quantity.Ampere, "drawn %s %s", s.On(), r.Name)
				}
				add(r.Current, quantity.Ampere, "current %s %s", s.On(), r.Name)
				add(r.Power, quantity.Watt, "power %s %s", s.On(), r.Name)
				if r.Bound != nil {
					n := len(out)
					out[n-2].Stated, out[n-1].Stated = Between(r.CurrentRange, quantity.Ampere), Between(r.PowerRange, quantity.Watt)
				}
			}
		}
	}
	for _, d := range t.Differences {
		add(d.Difference, quantity.Watt, "difference %s against %s", d.First.On(), d.Second.On())
		add(d.Ratio, quantity.None, "ratio %s against %s", d.First.On(), d.Second.On())
	}
	for _, b := range t.Boards {
		if e := b.Effects; e != nil && e.Problem.IsZero() {
			add(e.Base.Power, quantity.Watt, "effect %s %s", b.Name, e.BaseName())
			if add(e.Share, quantity.None, "share %s %s", b.Name, e.BaseName()); e.Share.Value.Valid() {
				out[len(out)-1].Stated = quantity.FormatU(100*e.Share.Estimate, 100*e.Share.Expanded, quantity.None) + " %"
			}
			for _, x := range e.Terms {
				add(x.Power, quantity.Watt, "effect %s %s", b.Name, x.Name())
			}
		}
	}
	for _, u := range t.Upstream {
		what := fmt.Sprintf("%s %s", u.On, u.Sitting.Name)
		if len(u.Inputs) > 0 {
			what += " " + quantity.Join(u.Inputs)
		}
		add(u.In, quantity.Watt, "input %s", what)
		add(u.Out, quantity.Watt, "output %s", what)
		add(u.Efficiency, quantity.None, "efficiency %s", what)
		add(u.Remainder, quantity.Watt, "remainder %s", what)
	}
	for _, r := range t.Sittings.Repeated {
		add(r.Difference, quantity.Watt, "repeat %s in %s against %s", r.On, r.Second.Name, r.First.Name)
	}
	if x := t.Sittings; x.Assessed || x.Carried != nil {
		out = append(out, Published{"sitting effect", quantity.Watt, tally.Figure{Estimate: x.SD, DOF: x.DOF},
			fmt.Sprintf("%s with %.3g degrees of freedom", quantity.Format(x.SD, quantity.Watt, 2), x.DOF)})
	}
	for _, c := range t.Claims {
		if c.Known {
			out = append(out, Published{fmt.Sprintf("claim %d", c.Number), c.Kind.Unit(), c.Figure, string(c.FigureText()) + ": " + string(c.Judgement)})
		}
	}
	return out
}

// figures has one row for every figure that is published. Their units differ, so
// the fields carry none; Unit tells it.
func figures(t *tally.Tally) *Table {
	out := &Table{Name: "figures", Title: "Every figure that is published", Columns: []Column{
		{Key: "figure", Title: "figure"}, {Key: "stated", Title: "as it is stated"}, {Key: "unit", Title: "unit", ForPrograms: true},
		{Key: "value", Title: "value", Kind: Number, ForPrograms: true}, {Key: "u", Title: "standard uncertainty", Kind: Number, ForPrograms: true},
		{Key: "expanded", Title: "expanded uncertainty", Kind: Number, ForPrograms: true},
	}}
	for _, p := range Figures(t) {
		out.add(text(p.Name), text(p.Stated), text(p.Unit.Symbol()), number(p.Figure.Estimate), number(p.Figure.U), number(p.Figure.Expanded))
	}
	return out
}
