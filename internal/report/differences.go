package report

import (
	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// differencesView is the table of what one state draws more than another.
type differencesView struct {
	Chart  *picture
	Unit   string
	Margin string // δ, where the study has one
	Rows   []differenceRow
	Family string // what p alone and p together mean; empty for a single difference
}

type differenceRow struct {
	ID         string
	Name       string
	Shared     string
	Difference *cell
	Ratio      *cell
	Verdict    *verdict
	P          string // its probability, alone and among all
	Alone      string // said of one that is resolved alone and not among all
	Within     string // said of a difference that is resolved and yet within δ
	Factors    string
	Budget     string
}

func (a *assembler) differences() (*differencesView, error) {
	v := &differencesView{}
	if e := a.t.Study.EqualWithin; e != nil {
		v.Margin = a.firm(written(*e))
	}
	var ds, ratios []tally.Figure
	for _, d := range a.t.Differences {
		ds, ratios = append(ds, d.Difference), append(ratios, d.Ratio)
	}
	watts, ratio := a.newColumn(quantity.Watt, ds...), a.newColumn(quantity.None, ratios...)
	v.Unit = watts.Symbol()
	seen := map[string]bool{}
	for _, d := range a.t.Differences {
		row := differenceRow{ID: a.differenceID(d), Difference: watts.add(d.Difference), Verdict: a.verdict(d)}
		var first, second string
		first, second, row.Shared = d.Names()
		row.Name = a.lessText(first, second)
		row.Budget = "#" + a.anchors.part("budget", row.ID)
		if len(d.Factors) > 0 {
			row.Factors = a.List(d.Factors)
		}
		if seen[row.ID] {
			row.ID = "" // the study asks for it twice
		}
		seen[row.ID] = true
		if d.Ratio.Value.Valid() {
			row.Ratio = ratio.add(d.Ratio)
		} else {
			row.Ratio = &cell{Words: a.say("none")}
		}
		if len(a.t.Differences) > 1 {
			row.P = a.say("p %s alone, %s together", a.probability(d.P), a.probability(d.FamilyP))
			if d.Verdict == tally.Resolved && !d.ResolvedTogether(a.t.Level) {
				row.Alone = a.say("resolved alone, not together")
			}
		}
		if d.Verdict == tally.Resolved && tally.Within(d.Difference, d.Margin) {
			row.Within = a.say("yet within %s", a.amount(d.Margin, quantity.Watt, 2))
		}
		v.Rows = append(v.Rows, row)
	}
	watts.align()
	ratio.align()
	if n := len(a.t.Differences); n > 1 {
		v.Family = a.say("p is the probability of so large a difference were there none: alone, and with the %d of this table judged together (Holm).", n)
	}
	var err error
	v.Chart, err = a.differencesChart()
	return v, err
}

// differenceByRail shares the variance of a difference among the rails, as
// tally.StateBudget does for a total: the covariance of what a rail adds to
// the difference with the difference itself. Covariance is linear, so the two
// states' parts are taken one by one.
func (a *assembler) differenceByRail(d *tally.Difference) ([]gum.Share, error) {
	variance := d.Difference.U * d.Difference.U
	if variance == 0 {
		return nil, nil
	}
	parts := map[string]float64{}
	var order []string
	for _, side := range []struct {
		of   *tally.State
		sign float64
	}{{d.First, 1}, {d.Second, -1}} {
		for _, r := range side.of.Rails {
			if r.Aside {
				continue
			}
			c, err := a.t.Graph.Cov(r.Power.Value, d.Difference.Value)
			if err != nil {
				return nil, err
			}
			if _, seen := parts[r.Name]; !seen {
				order = append(order, r.Name)
			}
			parts[r.Name] += side.sign * c / variance
		}
	}
	return railShareList(order, parts, d.Difference.U), nil
}

// lessText names a difference: "Otter less Marten".
func (t tongue) lessText(first, second string) string { return t.say("%s less %s", first, second) }
