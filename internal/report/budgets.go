package report

import (
	"cmp"
	"math"
	"slices"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// budgetView is what limits one figure.
type budgetView struct {
	ID, Title string
	Figure    string
	Interval  string
	Of        string // anchor of the figure
	Open      bool
	Leads     string // the largest cause, in a sentence
	Groups    []budgetGroup
}

// budgetGroup is one view of the variance: by cause, instrument, rail, input.
type budgetGroup struct {
	Title  string
	Shares *shares
}

// budgets lists what limits the highest total of each board and each
// difference.
func (a *assembler) budgets() ([]*budgetView, error) {
	var out []*budgetView
	for _, b := range a.t.Boards {
		s := tally.Fullest(b)
		if s == nil {
			continue
		}
		full, err := a.t.StateBudget(s)
		if err != nil {
			return nil, err
		}
		var rails []gum.Share
		for _, r := range full.Rails {
			rails = append(rails, gum.Share{Name: r.Rail, Fraction: r.Fraction, U: s.Total.U * math.Sqrt(math.Abs(r.Fraction))})
		}
		v := a.budget(full, rails, s.Total)
		v.ID, v.Title, v.Of, v.Open = a.anchors.part("budget", b.Name, s.State.Name), on(s.On()), "#"+a.stateID(s), true
		out = append(out, v)
	}
	seen := map[string]bool{}
	for _, d := range a.t.Differences {
		if id := a.differenceID(d); seen[id] {
			continue // the study asks for it twice
		} else {
			seen[id] = true
		}
		full, err := a.t.Budget(d.Difference)
		if err != nil {
			return nil, err
		}
		rails, err := a.differenceByRail(d)
		if err != nil {
			return nil, err
		}
		v := a.budget(full, rails, d.Difference)
		first, second, shared := d.Names()
		v.Title = a.lessText(first, second)
		if shared != "" {
			v.Title += " (" + shared + ")"
		}
		v.ID, v.Of = a.anchors.part("budget", a.differenceID(d)), "#"+a.differenceID(d)
		out = append(out, v)
	}
	return out, nil
}

func (a *assembler) budget(b tally.Budget, rails []gum.Share, f tally.Figure) *budgetView {
	v := &budgetView{Figure: a.stated(f, quantity.Watt), Interval: a.coverage(f)}
	if len(b.Causes) > 0 && b.Causes[0].Fraction > 0 {
		cause, part := phrase.Word(b.Causes[0].Name), a.percent(b.Causes[0].Fraction)
		v.Leads = a.say("Most of the variance, %s, comes from %s.", part, cause)
		if b.Causes[0].Fraction < 0.5 {
			v.Leads = a.say("The largest cause is %s, %s of the variance.", cause, part)
		}
	}
	instruments := slices.Clone(b.Instruments)
	for i := range instruments {
		if instruments[i].Name == "" {
			instruments[i].Name = a.say("no instrument")
		}
	}
	for _, g := range []budgetGroup{
		{a.say("By cause"), a.topShares(a.causes(b.Causes), budgetShares, moreCauses)},
		{a.say("By instrument"), a.topShares(instruments, budgetShares, moreInstruments)},
		{a.say("By rail"), a.railShares(rails, f.U)},
		{a.say("Largest single inputs"), a.topShares(a.inputNames(b.Inputs), budgetShares, moreInputs)},
	} {
		if len(g.Shares.Rows) > 0 {
			v.Groups = append(v.Groups, g)
		}
	}
	return v
}

// railShares lists every rail's part, and what belongs to no rail.
func (t tongue) railShares(rails []gum.Share, u float64) *shares {
	left := 1.0
	for _, r := range rails {
		left -= r.Fraction
	}
	if left > 0.0005 && len(rails) > 0 {
		rails = append(slices.Clone(rails), gum.Share{Name: t.say("no rail: the sitting"), Fraction: left, U: u * math.Sqrt(left)})
	}
	return t.topShares(rails, len(rails), nil)
}

// railShareList puts the parts of the rails in order, largest first.
func railShareList(order []string, parts map[string]float64, u float64) []gum.Share {
	var out []gum.Share
	for _, name := range order {
		out = append(out, gum.Share{Name: name, Fraction: parts[name], U: u * math.Sqrt(math.Abs(parts[name]))})
	}
	slices.SortStableFunc(out, func(x, y gum.Share) int { return cmp.Compare(y.Fraction, x.Fraction) })
	return out
}
