package plan

import (
	"math/rand/v2"
	"slices"

	"railtally/internal/study"
)

// orderStates puts a board's states into an order that needs few changes of the
// set-up and keeps the states of each asked difference close together, so that
// little can drift between them. Among orders that are equally good the seed
// chooses, so that no order of the tester's own making is mistaken for an
// effect.
//
// It starts from a random order and swaps or reverses parts of it as long as
// that makes it better.
func orderStates(s *study.Study, states []*study.State, pairs [][2]string, rng *rand.Rand) []*study.State {
	at := slices.Clone(states)
	rng.Shuffle(len(at), func(i, j int) { at[i], at[j] = at[j], at[i] })
	n := len(at)
	index := make(map[string]int, n)
	cost := func() float64 {
		c := 0.0
		for i, st := range at {
			index[st.Name] = i
			if i > 0 {
				c += handling(st, at[i-1])
			}
		}
		for _, p := range pairs {
			i, ok1 := index[p[0]]
			j, ok2 := index[p[1]]
			if ok1 && ok2 {
				c += apartWeight * abs(float64(i-j))
			}
		}
		return c
	}
	best := cost()
	for improved := true; improved; {
		improved = false
		for i := range n {
			for j := i + 1; j < n; j++ {
				slices.Reverse(at[i : j+1])
				if c := cost(); c < best-1e-9 {
					best, improved = c, true
					continue
				}
				slices.Reverse(at[i : j+1])
				at[i], at[j] = at[j], at[i]
				if c := cost(); c < best-1e-9 {
					best, improved = c, true
					continue
				}
				at[i], at[j] = at[j], at[i]
			}
		}
	}
	return at
}

// apartWeight is what one state between two that are compared costs, in changes
// of one factor (our own choice).
const apartWeight = 0.5

// handling is how many factors change from one state to the next; states without
// factors count as one change.
func handling(a, b *study.State) float64 {
	if len(a.Levels) == 0 {
		return 1
	}
	return float64(len(a.DiffersIn(b)))
}

// comparedOn lists the pairs of states of one board whose difference is a target.
func comparedOn(board string, ts []Target) (pairs [][2]string) {
	for _, t := range ts {
		if t.Kind == study.ClaimDifference && t.First.Board == board && t.Against.Board == board {
			pairs = append(pairs, [2]string{t.First.State, t.Against.State})
		}
	}
	return pairs
}
