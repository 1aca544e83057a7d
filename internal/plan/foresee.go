package plan

import (
	"fmt"

	"railtally/internal/study"
	"railtally/internal/tally"
)

// Foreseen tallies the planned readings of one state: the rails as they are
// expected to come out, by the same code as real ones. An empty state is the one
// in which the board is expected to draw most. The error says what is not
// expected.
func (p *Plan) Foreseen(board, state string) (*tally.Tally, study.StateOn, error) {
	on := study.StateOn{Board: board, State: state}
	b := p.Study.Board(board)
	if b == nil {
		return nil, on, fmt.Errorf("no board called %q", board)
	}
	if state == "" {
		on.State = p.made.m.expect.fullest(b)
	}
	want := []study.StateOn{on}
	s := p.made.m.planned(p.made.v, want)
	s.Comparisons = []study.Comparison{{First: on, Second: on}}
	only(s, want)
	t, err := tally.Run(s, tally.Options{})
	if err != nil {
		return nil, on, err
	}
	if t.State(on) == nil {
		return nil, on, fmt.Errorf("nothing is expected of %s", on)
	}
	return t, on, nil
}

// Own tells whether a piece of advice can be put into the study itself: what is
// to be done at the bench. A calibration or a spacer must be made first.
func (a Advice) Own() bool { return a.Kind != Calibrate && a.Kind != Spacer && a.change.apply != nil }

// Adopt puts a piece of advice into the study that it was given for.
func (a Advice) Adopt(s *study.Study) error {
	if !a.Own() {
		return fmt.Errorf("%s: it must be made and recorded first", a.Text)
	}
	was := SchemeOf(s)
	v := variant{study: s, scheme: was}.clone()
	a.change.apply(&v)
	if a.Kind == OpenRail {
		for i, b := range s.Boards {
			for j, r := range b.Rails {
				if r.Bound != nil && v.study.Boards[i].Rails[j].Bound == nil {
					s.Expected = append(s.Expected, &study.Expected{Board: b.Name, Rail: r.Name, Current: *r.Bound})
				}
			}
		}
	}
	s.Boards = v.study.Boards
	w := study.Work{}
	if s.Work != nil {
		w = *s.Work
	}
	now := v.scheme
	if now.StatesPerZero != was.StatesPerZero {
		w.StatesPerZero = &now.StatesPerZero
	}
	if now.ClosingZero != was.ClosingZero {
		w.ClosingZero = &now.ClosingZero
	}
	for _, x := range []struct {
		to       *int
		was, now int
	}{{&w.Repeats, was.Repeats, now.Repeats}, {&w.Passes, was.Passes, now.Passes}, {&w.Sittings, was.Sittings, now.Sittings}} {
		if x.now != x.was {
			*x.to = x.now
		}
	}
	if w != (study.Work{}) {
		s.Work = &w
	}
	for _, b := range s.Boards {
		for _, r := range b.Rails {
			for _, t := range r.Taps {
				k := [2]string{b.Name + "/" + r.Name, t.Name}
				if now.BothWays[k] && !was.BothWays[k] {
					s.BothWays = append(s.BothWays, &study.Threaded{Board: b.Name, Rail: r.Name})
					break
				}
			}
		}
	}
	return nil
}
