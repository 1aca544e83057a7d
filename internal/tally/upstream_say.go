package tally

import (
	"fmt"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
)

// bandOf is the ends of an expected efficiency.
func bandOf(e quantity.Entry) (lo, hi float64) {
	switch {
	case e.Kind == quantity.Band:
		return e.Values[0], e.Values[1]
	case e.Tol != nil:
		return e.Value() - e.Tol.Minus, e.Value() + e.Tol.Plus
	}
	return e.Value() - e.Step/2, e.Value() + e.Step/2
}

// Fault says what is wrong with an efficiency, beyond what its interval leaves
// open; "" when nothing is.
func (u *Upstream) Fault() string {
	f := u.Efficiency
	if !f.Value.Valid() {
		return ""
	}
	switch {
	case f.Lo() > 1:
		return "more comes out than went in"
	case u.Band == nil:
		return ""
	}
	lo, hi := bandOf(*u.Band)
	switch {
	case f.Lo() > hi:
		return "more than the " + efficiencyText(lo, hi) + " expected"
	case f.Hi() < lo:
		return "less than the " + efficiencyText(lo, hi) + " expected"
	}
	return ""
}

func efficiencyText(lo, hi float64) string {
	return fmt.Sprintf("%s to %s", quantity.FormatPercent(lo, 3), quantity.FormatPercent(hi, 3))
}

// Sentence says how input and rails agree.
func (u *Upstream) Sentence() string {
	where := fmt.Sprintf("In %s (%s)", u.On, u.Sitting.Name)
	inputs := quantity.Join(u.Inputs)
	if len(u.Missing) > 0 {
		return fmt.Sprintf("%s %s was read, but not %s, so the two cannot be compared.", where, inputs, quantity.Join(u.Missing))
	}
	if !u.Efficiency.Value.Valid() {
		return fmt.Sprintf("%s no power above zero was read through %s.", where, inputs)
	}
	s := fmt.Sprintf("%s %s of the %s through %s arrive at %s; %s are left for the converters and whatever else draws.", where,
		percents(u.Efficiency), watts(u.In), inputs, quantity.Join(u.Rails), watts(u.Remainder))
	if f := u.Fault(); f != "" {
		s = s[:len(s)-1] + ": " + f + "."
	}
	return s
}

func percents(f Figure) string {
	return quantity.FormatU(100*f.Estimate, 100*f.Expanded, quantity.None) + " %"
}

// questionUpstream questions inputs and rails that do not agree.
func (t *Tally) questionUpstream() []sensing.Finding {
	var out []sensing.Finding
	for _, u := range t.Upstream {
		fault := u.Fault()
		if fault == "" {
			continue
		}
		sev := sensing.Doubtful
		if u.Efficiency.Lo() > 1 {
			sev = sensing.Wrong
		}
		out = append(out, sensing.Finding{
			Code: "input-disagrees", Severity: sev, Board: u.On.Board, Sitting: u.Sitting.Name, Rail: quantity.Join(u.Inputs), States: []string{u.On.State},
			Text: fmt.Sprintf("The rails behind it draw %s of what goes in: %s.", percents(u.Efficiency), fault),
			Do:   "Look for a wrong scale or number of turns, a rail counted twice or left out, or a part that draws beside the rails.",
		})
	}
	for _, c := range t.Changes {
		if !c.Ratio.Value.Valid() || c.Ratio.Lo() <= 1 {
			continue
		}
		out = append(out, sensing.Finding{
			Code: "input-change-disagrees", Severity: sensing.Wrong, Board: c.To.On.Board, Sitting: c.To.Sitting.Name,
			Rail: quantity.Join(c.To.Inputs), States: []string{c.To.On.State},
			Text: fmt.Sprintf("From %s the rails rise by %s and the input only by %s.", c.From.On.State, watts(c.Out), watts(c.In)),
			Do:   "Look for a reading taken in another state, or a range that was changed between the two.",
		})
	}
	return out
}

// questionTrees applies Kirchhoff's law to rails that hang on one another: what
// a rail carries cannot be less than what it feeds, and where it feeds nothing
// else it is the same.
func (t *Tally) questionTrees() []sensing.Finding {
	var out []sensing.Finding
	for _, b := range t.Boards {
		for _, s := range b.States {
			for _, r := range s.Rails {
				if r.Drawn.Value == r.Current.Value {
					continue
				}
				f := sensing.Finding{Board: b.Name, Rail: r.Name, States: []string{s.State.Name}}
				left := quantity.FormatU(r.Current.Estimate, r.Current.Expanded, quantity.Ampere)
				switch {
				case r.Current.Hi() < 0:
					f.Code, f.Severity = "tree-negative", sensing.Wrong
					f.Text = fmt.Sprintf("What hangs on the rail draws more than the rail carries: %s are left over.", left)
					f.Do = "Look for a wrong scale or number of turns on the rail or on what hangs on it, or for a second feed."
				case r.Aside && r.Current.Lo() > 0:
					f.Code, f.Severity = "tree-remainder", sensing.Note
					f.Text = fmt.Sprintf("The rail is said to feed only what hangs on it, but carries %s more.", left)
					f.Do = "Something else draws from it; find out what, or whether that enters the chip."
				default:
					continue
				}
				out = append(out, f)
			}
		}
	}
	return out
}
