// Package studygen draws random studies for property tests. Every study it
// draws is sound: study.Check finds nothing in it. Names and notes are on the
// nasty side (quotes, colons, words that YAML takes for something else), and
// quantities come in every form that a person writes.
package studygen

import (
	"railtally/internal/study"

	"pgregory.net/rapid"
)

// Studies returns a generator of sound studies.
func Studies() *rapid.Generator[*study.Study] {
	return rapid.Custom(func(t *rapid.T) *study.Study {
		g := &gen{T: t, taken: map[string]bool{"500 mv": true, "5 v": true, "50 v": true, "10 a": true}}
		s := &study.Study{
			Question: g.prose("question"),
			Note:     g.maybeProse("note"),
			Words:    g.maybeProse("words"),
			Level:    rapid.SampledFrom([]float64{study.DefaultLevel, 0.5, 0.6827, 0.9545, 0.99, 0.9999}).Draw(t, "level"),
		}
		if g.yes("equal within") {
			s.EqualWithin = g.entry("0.5 W", "30 mW", "1,5 W")
		}
		if g.yes("stale zero") {
			s.StaleZero = g.entry("30 min", "1 h", "900 s")
		}
		g.instruments(s)
		for range g.count("boards", 1, 2) {
			g.board(s)
		}
		g.states(s)
		g.comparisons(s)
		g.claims(s)
		g.plan(s)
		g.cooling(s)
		if len(s.States) > 0 {
			for range g.count("sittings", 0, 3) {
				g.sitting(s)
			}
		}
		if len(s.Sittings) == 0 && g.yes("usual") {
			s.Usual = g.usual(s)
		}
		s.NameSittings()
		return s
	})
}
