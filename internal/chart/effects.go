package chart

import (
	"fmt"

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
	groups, said, err := effectsData(t)
	if err != nil {
		return nil, err
	}
	sub := subject{
		kind: "effects", title: "What each factor adds",
		explained: "From all states together. The tick is the estimate, the soft end its " + tally.Percent(t.Level) + " coverage interval." + said,
		summary:   barsSummary(groups),
	}
	return compose(o, sub, func(s *sheet) {
		if len(groups) == 0 {
			s.nothing("The states measured do not tell what any factor adds.")
			return
		}
		s.bars(groups, quantity.Watt, len(t.Boards) > 1)
	})
}

// effectsData is one group for each effect, and what being on costs in words.
func effectsData(t *tally.Tally) (groups []barGroup, said string, err error) {
	for _, b := range t.Boards {
		if e := b.Effects; e != nil && e.Problem == "" {
			if err := finite(e.Base.Power, b.Name+": base"); err != nil {
				return nil, "", err
			}
			said += fmt.Sprintf(" %s draws %s %s.", b.Name, written(e.Base.Power, quantity.Watt), e.BaseName())
		}
	}
	for _, name := range effectNames(t) {
		g := barGroup{name: name}
		for i, b := range t.Boards {
			if b.Effects == nil {
				continue
			}
			for _, x := range b.Effects.Terms {
				if x.Short() != name {
					continue
				}
				what := b.Name + ", " + x.Name()
				if err := finite(x.Power, what); err != nil {
					return nil, "", err
				}
				g.bars = append(g.bars, bar{
					name: b.Name, figure: x.Power, known: true, solid: look.Board(i), soft: look.BoardSoft(i),
					tip: what + ": " + written(x.Power, quantity.Watt),
				})
			}
		}
		groups = append(groups, g)
	}
	return groups, said, nil
}

// effectNames are the effects of any board: levels of factors in the study's
// order, then what levels add together.
func effectNames(t *tally.Tally) []string {
	told := map[string]bool{}
	var together []string
	for _, b := range t.Boards {
		if b.Effects == nil {
			continue
		}
		for _, x := range b.Effects.Terms {
			if !told[x.Short()] && len(x.Together) > 0 {
				together = append(together, x.Short())
			}
			told[x.Short()] = true
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
