package tally

import (
	"railtally/internal/phrase"
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
func (u *Upstream) Fault() phrase.Phrase {
	f := u.Efficiency
	if !f.Value.Valid() {
		return phrase.Phrase{}
	}
	switch {
	case f.Lo() > 1:
		return phrase.New("more comes out than went in")
	case u.Band == nil:
		return phrase.Phrase{}
	}
	lo, hi := bandOf(*u.Band)
	switch {
	case f.Lo() > hi:
		return phrase.New("more than the %s expected", efficiencyText(lo, hi))
	case f.Hi() < lo:
		return phrase.New("less than the %s expected", efficiencyText(lo, hi))
	}
	return phrase.Phrase{}
}

func efficiencyText(lo, hi float64) phrase.Phrase {
	return phrase.New("%s to %s", phrase.Number(quantity.FormatPercent(lo, 3)), phrase.Number(quantity.FormatPercent(hi, 3)))
}

// Sentence says how input and rails agree.
func (u *Upstream) Sentence() phrase.Phrase {
	where := phrase.New("In %s (%s)", u.On, u.Sitting.Name)
	inputs := u.Inputs
	if len(u.Missing) > 0 {
		return phrase.New("%s %s was read, but not %s, so the two cannot be compared.", where, inputs, u.Missing)
	}
	if !u.Efficiency.Value.Valid() {
		return phrase.New("%s no power above zero was read through %s.", where, inputs)
	}
	if f := u.Fault(); !f.IsZero() {
		return phrase.New("%s %s of the %s through %s arrive at %s; %s are left for the converters and whatever else draws: %s.", where,
			percents(u.Efficiency), watts(u.In), inputs, u.Rails, watts(u.Remainder), f)
	}
	return phrase.New("%s %s of the %s through %s arrive at %s; %s are left for the converters and whatever else draws.", where,
		percents(u.Efficiency), watts(u.In), inputs, u.Rails, watts(u.Remainder))
}

func percents(f Figure) phrase.Number {
	return phrase.Number(quantity.FormatU(100*f.Estimate, 100*f.Expanded, quantity.None) + " %")
}

// questionUpstream questions inputs and rails that do not agree.
func (t *Tally) questionUpstream() []sensing.Finding {
	var out []sensing.Finding
	for _, u := range t.Upstream {
		fault := u.Fault()
		if fault.IsZero() {
			continue
		}
		sev := sensing.Doubtful
		if u.Efficiency.Lo() > 1 {
			sev = sensing.Wrong
		}
		out = append(out, sensing.Finding{
			Code: "input-disagrees", Severity: sev, Board: u.On.Board, Sitting: u.Sitting.Name, Rail: quantity.Join(u.Inputs), States: []string{u.On.State},
			Text: phrase.New("The rails behind it draw %s of what goes in: %s.", percents(u.Efficiency), fault),
			Do:   phrase.New("Look for a wrong scale or number of turns, a rail counted twice or left out, or a part that draws beside the rails."),
		})
	}
	for _, c := range t.Changes {
		if !c.Ratio.Value.Valid() || c.Ratio.Lo() <= 1 {
			continue
		}
		out = append(out, sensing.Finding{
			Code: "input-change-disagrees", Severity: sensing.Wrong, Board: c.To.On.Board, Sitting: c.To.Sitting.Name,
			Rail: quantity.Join(c.To.Inputs), States: []string{c.To.On.State},
			Text: phrase.New("From %s the rails rise by %s and the input only by %s.", c.From.On.State, watts(c.Out), watts(c.In)),
			Do:   phrase.New("Look for a reading taken in another state, or a range that was changed between the two."),
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
				left := phrase.Number(quantity.FormatU(r.Current.Estimate, r.Current.Expanded, quantity.Ampere))
				switch {
				case r.Current.Hi() < 0:
					f.Code, f.Severity = "tree-negative", sensing.Wrong
					f.Text = phrase.New("What hangs on the rail draws more than the rail carries: %s are left over.", left)
					f.Do = phrase.New("Look for a wrong scale or number of turns on the rail or on what hangs on it, or for a second feed.")
				case r.Aside && r.Current.Lo() > 0:
					f.Code, f.Severity = "tree-remainder", sensing.Note
					f.Text = phrase.New("The rail is said to feed only what hangs on it, but carries %s more.", left)
					f.Do = phrase.New("Something else draws from it; find out what, or whether that enters the chip.")
				default:
					continue
				}
				out = append(out, f)
			}
		}
	}
	return out
}
