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
// that makes it better. States that are pinned stay where they stand.
func orderStates(states []*study.State, pinned map[string]bool, pairs [][2]string, rng *rand.Rand) []*study.State {
	at := slices.Clone(states)
	var free []int // places that are not taken by pinned states
	for i, st := range at {
		if !pinned[st.Name] {
			free = append(free, i)
		}
	}
	n := len(free)
	swap := func(i, j int) { at[free[i]], at[free[j]] = at[free[j]], at[free[i]] }
	reverse := func(i, j int) {
		for ; i < j; i, j = i+1, j-1 {
			swap(i, j)
		}
	}
	rng.Shuffle(n, swap)
	index := make(map[string]int, len(at))
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
				reverse(i, j)
				if c := cost(); c < best-1e-9 {
					best, improved = c, true
					continue
				}
				reverse(i, j)
				swap(i, j)
				if c := cost(); c < best-1e-9 {
					best, improved = c, true
					continue
				}
				swap(i, j)
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

// orders are the states of every board in the order in which they are gone
// through: as somebody chose it (states without a place behind the others), else
// as the seed gives. anew orders a chosen order once more, but for its pinned
// states.
func orders(s *study.Study, ts []Target, sc Scheme, seed uint64, anew bool) map[string][]*study.State {
	out := map[string][]*study.State{}
	// One source of order for each board, so that another board changes nothing.
	for i, b := range s.Boards {
		states, pinned := chosen(s, b.Name)
		if !sc.AsListed && (len(pinned) == 0 || anew) {
			states = orderStates(states, pinned, comparedOn(b.Name, ts), rand.New(rand.NewPCG(seed, uint64(i))))
		}
		out[b.Name] = states
	}
	return out
}

// chosen lists a board's states in the order that was chosen for it. pinned has
// every state of a chosen order, true for those that are pinned; without one it is
// empty.
func chosen(s *study.Study, board string) (states []*study.State, pinned map[string]bool) {
	pinned = map[string]bool{}
	for _, t := range s.Turns(board) {
		if st := s.State(t.State); st != nil {
			states = append(states, st)
			pinned[t.State] = t.Pinned
		}
	}
	for _, st := range s.States {
		if _, has := pinned[st.Name]; !has {
			states = append(states, st)
		}
	}
	return states, pinned
}
