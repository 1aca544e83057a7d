package chart

import (
	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Totals draws the power of the chip in each state, the boards side by side.
// A state that lacks a rail has no bar and says which rail was not read.
func Totals(t *tally.Tally, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	groups, err := o.w.totalsData(t)
	if err != nil {
		return nil, err
	}
	sub := subject{
		kind: "totals", title: o.w.Text("Power of the chip in each state"),
		explained: o.w.Text("The tick is the estimate, the soft end its %s coverage interval.", o.w.soft(t.Level)),
		summary:   barsSummary(groups),
	}
	return compose(o, sub, func(s *sheet) {
		if len(groups) == 0 {
			s.nothing(o.w.Text("No state has been measured yet."))
			return
		}
		s.bars(groups, quantity.Watt, len(t.Boards) > 1)
	})
}

// totalsData is one group for each state, with a bar for each board where it
// was measured.
func (w words) totalsData(t *tally.Tally) ([]barGroup, error) {
	var groups []barGroup
	for _, st := range t.Study.States {
		g := barGroup{name: st.Name}
		for i, b := range t.Boards {
			for _, s := range b.States {
				if s.State.Name != st.Name {
					continue
				}
				row := bar{name: b.Name, solid: look.Board(i), soft: look.BoardSoft(i)}
				if s.Complete {
					if err := finite(s.Total, s.On().String()+": total"); err != nil {
						return nil, err
					}
					row.known, row.figure = true, s.Total
					row.tip = s.On().String() + ": " + w.written(s.Total, quantity.Watt)
				} else {
					row.none = w.noTotal(s)
					row.tip = s.On().String() + ": " + row.none
				}
				g.bars = append(g.bars, row)
			}
		}
		if len(g.bars) > 0 {
			groups = append(groups, g)
		}
	}
	return groups, nil
}
