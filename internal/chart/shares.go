package chart

import (
	"fmt"
	"strings"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Shares draws each rail's part in the power of one state, in per cent.
func Shares(t *tally.Tally, on study.StateOn, o Options) (*Drawing, error) {
	st := t.State(on)
	if st == nil {
		return nil, fmt.Errorf("chart: %s was not measured", on)
	}
	parts, err := t.RailParts(st)
	if err != nil {
		return nil, err
	}
	return shares(on, parts, t.Level, o)
}

func shares(on study.StateOn, parts []tally.RailPart, level float64, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	var groups []barGroup
	bounded := false
	for i, r := range parts {
		f := r.Share
		f.Estimate, f.Expanded = 100*f.Estimate, 100*f.Expanded
		if err := finite(f, on.String()+", "+r.Name+": share"); err != nil {
			return nil, err
		}
		x := bar{figure: f, known: true, solid: look.Accent, soft: look.AccentSoft,
			tip: fmt.Sprintf("%s: %s %%", r.Name, strings.TrimSpace(o.w.written(f, quantity.None)))}
		if r.Bound != nil {
			bounded = true
			x.solid = x.soft
		}
		groups = append(groups, barGroup{name: parts[i].Name, bars: []bar{x}})
	}
	sub := subject{
		kind: "shares", title: o.w.Text("%s: the part of each rail", on),
		explained: o.w.Text("Per cent of the chip's power. The tick is the estimate, the soft end its %s coverage interval.", o.w.soft(level)),
		summary:   barsSummary(groups),
	}
	if bounded {
		sub.explained += " " + o.w.Text("Soft throughout: not opened.")
	}
	return compose(o, sub, func(s *sheet) {
		if len(groups) == 0 {
			s.nothing(o.w.Text("%s has no total above zero.", on))
			return
		}
		s.bars(groups, quantity.None, false)
	})
}
