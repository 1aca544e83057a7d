package chart

import (
	"fmt"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Waterfall draws the way from a board's barest state to its fullest: the first
// total, then what each step adds on top of the one before, then the last total.
func Waterfall(t *tally.Tally, board string, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	b := t.Board(board)
	if b == nil {
		return nil, fmt.Errorf("chart: no board called %q", board)
	}
	groups, err := o.w.waterfallData(b)
	if err != nil {
		return nil, err
	}
	sub := subject{
		kind: "waterfall", title: o.w.Text("%s: step by step", board),
		explained: o.w.Text("Each step begins where the one before ends. The tick is the estimate, the soft end the step's %s coverage interval.", o.w.soft(t.Level)),
		summary:   barsSummary(groups),
	}
	if why := o.w.Say(b.StepsText()); why != "" {
		sub.explained += " " + why
	}
	return compose(o, sub, func(s *sheet) {
		if len(groups) == 0 {
			s.nothing(o.w.Text("No two states of %s differ in a single factor.", board))
			return
		}
		s.bars(groups, quantity.Watt, false)
	})
}

func (w words) waterfallData(b *tally.Board) ([]barGroup, error) {
	if len(b.Steps) == 0 {
		return nil, nil
	}
	first, last := b.Steps[0].Second, b.Steps[len(b.Steps)-1].First
	total := func(s *tally.State) (barGroup, error) {
		tip := s.State.Name + ": " + w.written(s.Total, quantity.Watt)
		return barGroup{name: s.State.Name, bars: []bar{{figure: s.Total, known: true, solid: look.Accent, soft: look.AccentSoft, tip: tip}}},
			finite(s.Total, s.On().String()+": total")
	}
	g, err := total(first)
	if err != nil {
		return nil, err
	}
	out, at := []barGroup{g}, first.Total.Estimate
	for _, x := range b.Steps {
		d := x.Difference.Difference
		what := w.Text("%s, %s %s to %s", x.First.State.Name, x.Factor, x.From, x.To)
		if err := finite(d, what); err != nil {
			return nil, err
		}
		out = append(out, barGroup{name: fmt.Sprintf("%s %s", x.Factor, x.To), bars: []bar{{
			figure: d, base: at, known: true, solid: look.Accent, soft: look.AccentSoft, tip: what + ": " + w.written(d, quantity.Watt),
		}}})
		at += d.Estimate
	}
	if g, err = total(last); err != nil {
		return nil, err
	}
	return append(out, g), nil
}
