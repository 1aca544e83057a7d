package plan

import (
	"fmt"
	"time"
)

// workChanges are changes of how the work is done: zeros, repeats, passes, days.
func (m *maker) workChanges(v variant, boards []string) (out []change) {
	sc := v.scheme
	took := func(sc Scheme) (d time.Duration) {
		for _, name := range boards {
			if b := v.study.Board(name); b != nil {
				d += time.Duration(max(1, sc.Sittings)) * lasts(visits(b, m.order[name], sc, m.expect.study.Proofs))
			}
		}
		return d
	}
	base := took(sc)
	add := func(k Kind, text string, set func(*Scheme)) {
		next := sc.clone()
		set(&next)
		out = append(out, change{kind: k, text: text, group: string(k), effort: max(time.Minute, took(next)-base),
			apply: func(v *variant) { set(&v.scheme) }})
	}
	if sc.StatesPerZero != 1 {
		add(MoreZeros, "take a zero before each state", func(s *Scheme) { s.StatesPerZero = 1 })
	}
	if !sc.ClosingZero {
		add(LastZero, "take a zero after the last state too", func(s *Scheme) { s.ClosingZero = true })
	}
	for _, n := range []int{5, 10, 20} {
		if n > sc.Repeats {
			add(MoreRepeats, fmt.Sprintf("write down %d readings where the display does not stand still, instead of %s", n, times(sc.Repeats)),
				func(s *Scheme) { s.Repeats = n })
		}
	}
	if sc.Passes < 2 {
		add(MorePasses, "go through the states twice, the second time backwards", func(s *Scheme) { s.Passes = 2 })
	}
	for _, n := range []int{2, 4} {
		if n > sc.Sittings {
			add(MoreDays, fmt.Sprintf("measure on %d days, with the clamps put on anew", n), func(s *Scheme) { s.Sittings = n })
		}
	}
	return out
}

func times(n int) string {
	if n <= 1 {
		return "one"
	}
	return fmt.Sprint(n)
}
