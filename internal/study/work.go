package study

import "railtally/internal/quantity"

// Work is how the work at the bench is to be done, where somebody chose it. What
// is nil or 0 is left to the plan.
type Work struct {
	StatesPerZero *int // states between two zeros; 0: one zero at the start
	ClosingZero   *bool
	Repeats       int   // readings written down where the display does not stand still
	Passes        int   // times that a sitting goes through its states
	Sittings      int   // days on which each board is measured
	ByState       *bool // all rails in a state before the next one
	FirstAgain    *bool // the first rail is read once more at the end
	Seed          *int64
}

// Turn is one state's place in the order in which a board's states are gone
// through. The turns of a board stand in that order; a state without a turn comes
// behind those that have one.
type Turn struct {
	Board, State string
	Pinned       bool // stays in its place when the others are ordered anew
}

// Threaded is a rail whose currents are read with the wire threaded forward and
// back through the jaw.
type Threaded struct{ Board, Rail string }

// Turns lists the turns of one board, in order.
func (s *Study) Turns(board string) (out []*Turn) {
	for _, t := range s.Order {
		if t.Board == board {
			out = append(out, t)
		}
	}
	return out
}

// Usual is what sittings have that say nothing else: it is kept as long as a study
// has no sitting, whose own it then becomes.
type Usual struct {
	VoltageMeter, CurrentMeter, Thermometer, By string
	Room                                        *quantity.Entry
}
