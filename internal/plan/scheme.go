package plan

import (
	"time"

	"railtally/internal/study"
)

// Scheme is how the work at the bench is to be done, as far as it changes what
// the readings are worth or how long they take.
type Scheme struct {
	// StatesPerZero is how many states are read before a fresh zero; 0: one zero
	// at the start only.
	StatesPerZero int
	ClosingZero   bool
	// Repeats is how many single readings are written down where the display is
	// expected to scatter, at least 1.
	Repeats int
	// Passes is how often a sitting goes through its states; every second pass
	// goes backwards, so that a drift falls on both sides of each difference.
	Passes int
	// Sittings is on how many days each board is measured, with its clamps put on
	// anew.
	Sittings int
	// ByState reads all rails in a state before the next state, moving clamps that
	// several rails share each time. Otherwise all states are read with a clamp on
	// one rail before it moves to the next.
	ByState bool
	// FirstAgain reads the first rail in the first state once more at the end: what
	// it has changed by is what drifted.
	FirstAgain bool
	// AsListed keeps the study's order of states.
	AsListed bool
	// BothWays names taps (board/rail, phase) that are read with the wire threaded
	// forward and back.
	BothWays map[[2]string]bool
	Times    Times
}

// Times are how long the parts of the work take.
type Times struct {
	WarmUp, Zero, State, Settle, Reading, Repeat, Mount, Solder time.Duration
}

// DefaultTimes are common practice, no source: half an hour until board, meters
// and clamps are warm, five minutes until a state is steady.
func DefaultTimes() Times {
	return Times{
		WarmUp: 30 * time.Minute, Zero: 4 * time.Minute, State: time.Minute, Settle: 5 * time.Minute,
		Reading: 40 * time.Second, Repeat: 5 * time.Second, Mount: 3 * time.Minute, Solder: 10 * time.Minute,
	}
}

// DefaultScheme is what a careful person does without being told: a zero every
// two states and one at the end, five readings where the display will not stand
// still, one pass, one sitting.
func DefaultScheme() Scheme {
	return Scheme{StatesPerZero: 2, ClosingZero: true, Repeats: 5, Passes: 1, Sittings: 1, FirstAgain: true, Times: DefaultTimes()}
}

// SchemeOf is how a study says that the work is to be done; where it says nothing,
// as a careful person would.
func SchemeOf(s *study.Study) Scheme {
	out := DefaultScheme()
	if w := s.Work; w != nil {
		set(&out.StatesPerZero, w.StatesPerZero)
		set(&out.ClosingZero, w.ClosingZero)
		set(&out.ByState, w.ByState)
		set(&out.FirstAgain, w.FirstAgain)
		for _, x := range []struct {
			to   *int
			said int
		}{{&out.Repeats, w.Repeats}, {&out.Passes, w.Passes}, {&out.Sittings, w.Sittings}} {
			if x.said > 0 {
				*x.to = x.said
			}
		}
	}
	out.BothWays = map[[2]string]bool{}
	for _, x := range s.BothWays {
		b := s.Board(x.Board)
		if b == nil || b.Rail(x.Rail) == nil {
			continue
		}
		for _, t := range b.Rail(x.Rail).Taps {
			out.BothWays[[2]string{x.Board + "/" + x.Rail, t.Name}] = true
		}
	}
	return out
}

func set[T any](to, said *T) {
	if said != nil {
		*to = *said
	}
}

// SeedOf is the seed that a study names, or 1.
func SeedOf(s *study.Study) uint64 {
	if s.Work != nil && s.Work.Seed != nil {
		return uint64(*s.Work.Seed)
	}
	return 1
}

// clone returns a copy that can be changed.
func (s Scheme) clone() Scheme {
	b := make(map[[2]string]bool, len(s.BothWays))
	for k, v := range s.BothWays {
		b[k] = v
	}
	s.BothWays = b
	return s
}
