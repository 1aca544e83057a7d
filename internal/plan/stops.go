package plan

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// The names of the two sittings in which nothing but a board's inputs is read:
// before anything is opened, and with every loop closed and no clamp on. Together
// they show whether the surgery changed the board. Where a study has several
// boards the name of the board stands before.
const (
	BeforeOpening = "before opening"
	LoopsClosed   = "loops closed"
)

// called tells whether a sitting has one of the two names.
func called(sitting, name string) bool {
	return sitting == name || strings.HasSuffix(sitting, " "+name)
}

// KindOf tells which of the two sittings one of that name is; empty: neither.
func KindOf(sitting string) string {
	for _, name := range []string{BeforeOpening, LoopsClosed} {
		if called(sitting, name) {
			return name
		}
	}
	return ""
}

// InputsOnly tells whether only a board's inputs are read in a sitting of that name.
func InputsOnly(sitting string) bool {
	return KindOf(sitting) != ""
}

// SittingFor is the name for the next sitting of a board in which only its inputs
// are read: name is BeforeOpening or LoopsClosed.
func SittingFor(s *study.Study, board, name string) string {
	if len(s.Boards) > 1 {
		return board + " " + name
	}
	return name
}

// Stop is one halt of a sitting, as the person at the bench is led to it.
type Stop struct {
	State string // empty: zeros
	Text  string // what to do, in sentences
	Rails []string
	Both  []string // those of Rails that are read with the wire threaded both ways
	Zeros []study.Zero
	Again bool // the first rail once more: a trial
	// Repeats is how many readings are written down where the display does not
	// stand still.
	Repeats  int
	Cautions []Caution
	Wait     time.Duration // until the state is steady; 0 where it was set before
	Takes    time.Duration
}

// Planned tells whether somebody chose how the work is to be done, so that the
// bench follows it.
func Planned(s *study.Study) bool { return s.Work != nil || len(s.Order) > 0 || len(s.BothWays) > 0 }

// Stops is the order of work of one sitting of a board: the same visits that are
// predicted from and printed. It is nil for a board without taps.
func Stops(s *study.Study, board, sitting string) (out []Stop) {
	b := s.Board(board)
	if b == nil {
		return nil
	}
	sc := SchemeOf(s)
	if InputsOnly(sitting) {
		return inputStops(s, b, sc, called(sitting, LoopsClosed))
	}
	states := orders(s, targets(s), sc, SeedOf(s), false)[board]
	before := "" // what is to be done before a halt, where nothing is read
	for _, x := range visits(b, states, sc, s.Proofs) {
		t := x.task()
		if x.State == "" && len(x.Zeros) == 0 {
			before += t.Text
			continue
		}
		t.Text, before = before+t.Text, ""
		stop := Stop{State: x.State, Text: t.Text, Rails: t.Rails, Again: x.Again, Takes: x.Takes, Repeats: sc.Repeats, Cautions: t.Cautions}
		if x.Fresh {
			stop.Wait = sc.Times.Settle
		}
		stop.Zeros = x.zeros()
		for _, r := range x.Rails {
			if slices.ContainsFunc(r.Taps, func(t *study.Tap) bool { return sc.BothWays[[2]string{board + "/" + r.Name, t.Name}] }) {
				stop.Both = append(stop.Both, r.Name)
			}
		}
		out = append(out, stop)
	}
	return out
}

// zeros lists what a visit takes zeros of.
func (x visit) zeros() (out []study.Zero) {
	for i, tap := range x.Zeros {
		z := study.Zero{Rail: x.ZeroOf[i].Name, Tap: tap.Name}
		if tap.Kind == study.TapClamp {
			z = study.Zero{Instrument: tap.Instrument, Range: tap.Range}
		}
		out = append(out, z)
	}
	return out
}

// inputStops reads the inputs in the states in which they are compared, before
// anything is opened or with all loops closed.
func inputStops(s *study.Study, b *study.Board, sc Scheme, closed bool) (out []Stop) {
	m := &maker{scheme: sc, expect: expectations{study: s}}
	var names []string
	for _, in := range b.Inputs {
		names = append(names, in.Name)
	}
	// An input that is read with a clamp or a resistor has a zero; one in series has none.
	c := &clocked{board: b.Name, scheme: sc}
	c.zero(b.Inputs, nil)
	for _, x := range c.list {
		out = append(out, Stop{Text: x.task().Text, Zeros: x.zeros(), Takes: x.Takes})
	}
	for _, st := range m.baseline(&Board{Board: b}) {
		text := (visit{State: st, Fresh: true, Rails: b.Inputs}).task().Text
		if closed {
			text = "Every loop closed, no clamp on any of them. " + text
		}
		out = append(out, Stop{State: st, Text: text, Rails: names, Cautions: []Caution{CautionHot}, Wait: sc.Times.Settle, Takes: sc.Times.State + sc.Times.Settle + sc.Times.Reading})
	}
	return out
}

// Todo says what is to be done at a halt before anything is read: where the clamps
// go, what is set, how long to wait, how to write down what will not stand still.
func (x Stop) Todo() string {
	out := x.Text
	if x.Wait > 0 {
		out += fmt.Sprintf(" Steady after about %s.", Minutes(x.Wait))
	}
	if x.State != "" && x.Repeats > 1 {
		out += fmt.Sprintf(" Where the display does not stand still, write down %d readings.", x.Repeats)
	}
	if len(x.Both) > 0 {
		out += fmt.Sprintf(" Turn the wire of %s round in the jaw and read it that way too.", quantity.Join(x.Both))
	}
	for _, c := range x.Cautions {
		out += " " + c.Short()
	}
	return out
}

// OrderOf is the order in which a board's states are gone through.
func OrderOf(s *study.Study, board string) (out []string) {
	for _, st := range orders(s, targets(s), SchemeOf(s), SeedOf(s), false)[board] {
		out = append(out, st.Name)
	}
	return out
}

// OrderAnew orders a board's states by a seed, those that are pinned staying in
// their places.
func OrderAnew(s *study.Study, board string, seed uint64) []*study.Turn {
	states, pinned := chosen(s, board)
	i := slices.IndexFunc(s.Boards, func(b *study.Board) bool { return b.Name == board })
	var out []*study.Turn
	for _, st := range orderStates(states, pinned, comparedOn(board, targets(s)), rand.New(rand.NewPCG(seed, uint64(i)))) {
		out = append(out, &study.Turn{Board: board, State: st.Name, Pinned: pinned[st.Name]})
	}
	return out
}
