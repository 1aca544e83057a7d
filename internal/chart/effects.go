package chart

import (
	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Effects draws what each level of each factor adds, and what levels add
// together, the boards side by side.
// The base that they add to is far larger and stands in the words above.
func Effects(t *tally.Tally, o Options) (*Drawing, error) {
	o, err := o.settle()
	if err != nil {
		return nil, err
	}
	groups, said, err := o.w.effectsData(t)
	if err != nil {
		return nil, err
	}
	sub := subject{
		kind: "effects", title: o.w.Text("What each factor adds"),
		explained: o.w.Text("From all states together. The tick is the estimate, the soft end its %s coverage interval.", o.w.soft(t.Level)) + said,
		summary:   barsSummary(groups),
	}
	return compose(o, sub, func(s *sheet) {
		if len(groups) == 0 {
			s.nothing(o.w.Text("The states measured do not tell what any factor adds."))
			return
		}
		s.bars(groups, quantity.Watt, len(t.Boards) > 1)
	})
}

// effectsData is one group for each effect, and what being on costs in words.
func (w words) effectsData(t *tally.Tally) (groups []barGroup, said string, err error) {
	for _, b := range t.Boards {
		if e := b.Effects; e != nil && e.Problem.IsZero() {
			if err := finite(e.Base.Power, b.Name+": base"); err != nil {
				return nil, "", err
			}
			said += " " + w.Text("%s draws %s %s.", b.Name, w.written(e.Base.Power, quantity.Watt), e.BaseName())
		}
	}
	for _, name := range effectNames(t) {
		g := barGroup{name: name}
		for i, b := range t.Boards {
			if b.Effects == nil {
				continue
			}
			for _, x := range b.Effects.Terms {
				if x.Short().String() != name {
					continue
				}
				g.name = w.Say(x.Short())
				what := b.Name + ", " + w.Say(x.Name())
				if err := finite(x.Power, what); err != nil {
					return nil, "", err
				}
				g.bars = append(g.bars, bar{
					name: b.Name, figure: x.Power, known: true, solid: look.Board(i), soft: look.BoardSoft(i),
					tip: what + ": " + w.written(x.Power, quantity.Watt),
				})
			}
		}
		groups = append(groups, g)
	}
	return groups, said, nil
}

// effectNames are the English names of the effects of any board: levels of factors in the study's
// order, then what levels add together.
func effectNames(t *tally.Tally) []string {
	told := map[string]bool{}
	var together []string
	for _, b := range t.Boards {
		if b.Effects == nil {
			continue
		}
		for _, x := range b.Effects.Terms {
			short := x.Short().String()
			if !told[short] && len(x.Together) > 0 {
				together = append(together, short)
			}
			told[short] = true
		}
	}
	var out []string
	for _, f := range t.Study.Factors {
		for _, level := range f.Levels {
			if name := f.Name + " " + level; told[name] {
				out = append(out, name)
			}
		}
	}
	return append(out, together...)
}
