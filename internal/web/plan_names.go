package web

import (
	"slices"

	"railtally/internal/study"
)

// renamed lets what a plan says elsewhere follow new names of boards, states and
// factors: comparisons and claims. A name that is not in a map stays.
func renamed(p *study.Study, boards, states, factors map[string]string) {
	to := func(names map[string]string, name *string) {
		if n, ok := names[*name]; ok {
			*name = n
		}
	}
	on := func(s *study.StateOn) {
		to(boards, &s.Board)
		to(states, &s.State)
	}
	for i := range p.Comparisons {
		on(&p.Comparisons[i].First)
		on(&p.Comparisons[i].Second)
	}
	for _, c := range p.Claims {
		on(&c.First)
		on(&c.Against)
		to(boards, &c.Effect.Board)
		to(factors, &c.Effect.Factor)
	}
}

// dropDangling takes out comparisons and claims about boards, states or factors
// that the plan does not have any more, and returns how many.
func dropDangling(p *study.Study) (n int) {
	gone := func(s study.StateOn) bool {
		return s.Board != "" && p.Board(s.Board) == nil || s.State != "" && p.State(s.State) == nil
	}
	before := len(p.Comparisons) + len(p.Claims)
	p.Comparisons = slices.DeleteFunc(p.Comparisons, func(c study.Comparison) bool { return gone(c.First) || gone(c.Second) })
	p.Claims = slices.DeleteFunc(p.Claims, func(c *study.Claim) bool {
		e := c.Effect
		level := func(name string) bool {
			return name == "" || slices.ContainsFunc(p.Factors, func(f *study.Factor) bool { return f.Name == e.Factor && slices.Contains(f.Levels, name) })
		}
		return gone(c.First) || gone(c.Against) || e.Board != "" && p.Board(e.Board) == nil || e.Factor != "" && (!level(e.Level) || !level(e.From))
	})
	return before - len(p.Comparisons) - len(p.Claims)
}
