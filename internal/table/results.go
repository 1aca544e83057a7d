package table

import (
	"math"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// totals has one row for each state of each board, with the levels of its
// factors.
func totals(t *tally.Tally) *Table {
	out := &Table{Name: "totals", Title: "Power of the chip by state", Columns: []Column{
		{Key: "board", Title: "board"}, {Key: "chip", Title: "chip"}, {Key: "state", Title: "state"},
	}}
	taken := map[string]bool{"board": true, "chip": true, "state": true, "sittings": true, "missing": true, "total": true}
	for _, f := range t.Study.Factors {
		out.Columns = append(out.Columns, Column{Key: keyOf("level "+f.Name, taken), Title: f.Name})
	}
	out.Columns = append(out.Columns,
		Column{Key: "sittings", Title: "sittings"}, Column{Key: "missing", Title: "rails not read"},
		Column{Key: "total", Title: "power of the chip", Kind: Figure, Unit: quantity.Watt})
	for _, b := range t.Boards {
		for _, s := range b.States {
			row := []Cell{text(b.Name), text(b.Chip), text(s.State.Name)}
			for _, f := range t.Study.Factors {
				row = append(row, text(s.State.Level(f.Name)))
			}
			var sittings []string
			for _, tk := range s.Taken {
				sittings = append(sittings, tk.Sitting.Name)
			}
			out.add(append(row, text(strings.Join(sittings, "; ")), text(strings.Join(s.Missing, "; ")), figure(s.Total))...)
		}
	}
	return out
}

// keyOf makes a key of a name that nothing else is called: lower case, letters
// and figures, parted by low lines.
func keyOf(name string, taken map[string]bool) string {
	key := strings.Trim(strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '_'
	}, name), "_")
	for taken[key] || key == "" {
		key += "_"
	}
	taken[key] = true
	return key
}

// drawnColumn is where the current through the taps stands in the table rails.
const drawnColumn = 5

// rails has one row for each rail in each state of each board.
func rails(t *tally.Tally) *Table {
	out := &Table{Name: "rails", Title: "Voltage, current and power of each rail in each state", Columns: []Column{
		{Key: "board", Title: "board"}, {Key: "state", Title: "state"}, {Key: "rail", Title: "rail"},
		{Key: "voltage", Title: "voltage", Kind: Figure, Unit: quantity.Volt},
		{Key: "nominal_voltage", Title: "nominal voltage stands in", Kind: Yes},
		{Key: "drawn", Title: "current through the taps", Kind: Figure, Unit: quantity.Ampere},
		{Key: "current", Title: "current into the chip", Kind: Figure, Unit: quantity.Ampere},
		{Key: "power", Title: "power", Kind: Figure, Unit: quantity.Watt},
		{Key: "bounded", Title: "not opened, only bounded", Kind: Yes},
		{Key: "aside", Title: "does not enter the chip", Kind: Yes},
		{Key: "sittings", Title: "sittings", Kind: Whole},
	}}
	parts := false // whether a rail feeds anything beside the chip
	for _, b := range t.Boards {
		for _, s := range b.States {
			for _, r := range s.Rails {
				parts = parts || r.Drawn.Value != r.Current.Value
				drawn, current, power := figure(r.Drawn), figure(r.Current), figure(r.Power)
				if r.Bound != nil {
					drawn.Words = Between(r.CurrentRange, quantity.Ampere)
					current.Words, power.Words = drawn.Words, Between(r.PowerRange, quantity.Watt)
				}
				out.add(text(b.Name), text(s.State.Name), text(r.Name), figure(r.Voltage), yes(r.Stands), drawn, current, power,
					yes(r.Bound != nil), yes(r.Aside), whole(r.Sittings))
			}
		}
	}
	out.Columns[drawnColumn].ForPrograms = !parts
	return out
}

// Between states the ends of a range: "0 to 5 mA".
func Between(ends func() (lo, hi float64), u quantity.Unit) string {
	lo, hi := ends()
	from := "0"
	if lo != 0 {
		from = quantity.Format(lo, u, 2)
	}
	return from + " to " + quantity.Format(hi, u, 2)
}

// differences has one row for each difference the study asks for.
func differences(t *tally.Tally) *Table {
	out := &Table{Name: "differences", Title: "What one state draws more than another", Columns: []Column{
		{Key: "first_board", Title: "board"}, {Key: "first_state", Title: "state"},
		{Key: "second_board", Title: "against board"}, {Key: "second_state", Title: "against state"},
		{Key: "difference", Title: "difference", Kind: Figure, Unit: quantity.Watt}, {Key: "ratio", Title: "ratio", Kind: Figure},
		{Key: "verdict", Title: "verdict"}, {Key: "equal_within", Title: "equal within", Kind: Number, Unit: quantity.Watt, ForPrograms: true},
		{Key: "p", Title: "p", Kind: Number, ForPrograms: true}, {Key: "p_holm", Title: "p of all together", Kind: Number},
		{Key: "p_equal", Title: "p of equality", Kind: Number, ForPrograms: true},
		{Key: "detectable", Title: "least difference to be seen", Kind: Number, Unit: quantity.Watt, ForPrograms: true},
		{Key: "within", Title: "taken within"}, {Key: "sentence", Title: "in words"},
	}}
	for _, d := range t.Differences {
		margin, equal := nothing(), nothing()
		if d.Margin > 0 {
			margin, equal = number(d.Margin), probability(d.EqualP)
		}
		first, second := d.First.On(), d.Second.On()
		out.add(text(first.Board), text(first.State), text(second.Board), text(second.State), figure(d.Difference), figure(d.Ratio),
			text(string(d.Verdict)), margin, probability(d.P), probability(d.FamilyP), equal, number(d.Detectable),
			text(strings.Join(d.Within, "; ")), text(d.Sentence().String()))
	}
	return out
}

// effects has one row for the base of each board and for each effect.
func effects(t *tally.Tally) *Table {
	out := &Table{Name: "effects", Title: "What each factor adds", Columns: []Column{
		{Key: "board", Title: "board"}, {Key: "effect", Title: "effect"}, {Key: "factor", Title: "factor"}, {Key: "level", Title: "level"},
		{Key: "from", Title: "instead of"}, {Key: "power", Title: "adds", Kind: Figure, Unit: quantity.Watt},
		{Key: "carried_by", Title: "carried by"},
	}}
	for _, b := range t.Boards {
		e := b.Effects
		if e == nil || !e.Problem.IsZero() {
			continue
		}
		out.add(text(b.Name), text(e.BaseName().String()), nothing(), nothing(), nothing(), figure(e.Base.Power), text(string(e.Base.Carriers())))
		for _, x := range e.Terms {
			out.add(text(b.Name), text(x.Name().String()), text(x.Factor), text(x.Level), text(x.From), figure(x.Power), text(string(x.Carriers())))
		}
	}
	return out
}

// claims has one row for each claim of the study. Their figures have units of
// their own, so the fields carry none; Unit tells it.
func claims(t *tally.Tally) *Table {
	out := &Table{Name: "claims", Title: "What was claimed", Columns: []Column{
		{Key: "number", Title: "claim", Kind: Whole}, {Key: "kind", Title: "about"}, {Key: "statement", Title: "what is claimed"},
		{Key: "judgement", Title: "judgement"}, {Key: "unit", Title: "unit", ForPrograms: true}, {Key: "measured", Title: "measured"},
		{Key: "value", Title: "value", Kind: Number, ForPrograms: true}, {Key: "u", Title: "standard uncertainty", Kind: Number, ForPrograms: true},
		{Key: "expanded", Title: "expanded uncertainty", Kind: Number, ForPrograms: true}, {Key: "low", Title: "claimed from", Kind: Number, ForPrograms: true},
		{Key: "high", Title: "claimed to", Kind: Number, ForPrograms: true}, {Key: "probability", Title: "probability that it is so", Kind: Number},
		{Key: "rule", Title: "decided"}, {Key: "sentence", Title: "in words"},
	}}
	for _, c := range t.Claims {
		measured, value, u, expanded, p := nothing(), nothing(), nothing(), nothing(), nothing()
		if c.Known {
			f := c.Figure
			measured, value, u, expanded, p = text(string(c.FigureText())), number(f.Estimate), number(f.U), number(f.Expanded), Cell{Number: c.Probability, Words: c.ProbabilityText().String()}
		}
		out.add(whole(c.Number), text(string(c.Kind)), text(c.Statement().String()), text(string(c.Judgement)), text(c.Kind.Unit().Symbol()),
			measured, value, u, expanded, limit(c.Lo), limit(c.Hi), p, text(c.RuleText().String()), text(c.Sentence().String()))
	}
	return out
}

// limit is an end of what is claimed, empty where the claim is open.
func limit(x float64) Cell {
	if math.IsInf(x, 0) {
		return nothing()
	}
	return number(x)
}
