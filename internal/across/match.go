package across

import (
	"fmt"
	"math"
	"slices"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// nameBoards gives boards that both studies have a name each.
func (m *Merged) nameBoards(a, b *side) {
	for _, x := range a.Boards {
		y := b.Board(x.Name)
		if y == nil {
			continue
		}
		a.boards[x.Name], b.boards[x.Name] = labelled(x.Name, a.label), labelled(x.Name, b.label)
		for _, pair := range [][2]*study.Board{{x, y}, {y, x}} {
			for _, r := range pair[0].Rails {
				if !slices.ContainsFunc(pair[1].Rails, func(o *study.Rail) bool { return o.Name == r.Name }) {
					which := a.label
					if pair[0] == y {
						which = b.label
					}
					m.note("board %s has the rail %s only in %s", x.Name, r.Name, which)
				}
			}
		}
		if slices.ContainsFunc(x.Rails, onBoard) {
			m.note("what senses current on %s itself (a sense resistor, a winding) counts as another in %s: if it is one board, its differences are better known than is said here", x.Name, b.label)
		}
	}
}

// onBoard tells whether a rail is sensed by a part of the board.
func onBoard(r *study.Rail) bool {
	return slices.ContainsFunc(r.Taps, func(t *study.Tap) bool {
		return t.Instrument == "" && (t.Kind == study.TapSense || t.Kind == study.TapInductor)
	})
}

// matchStates puts the states of both studies into one list: those of one name
// once, unless a factor that both studies have says that they are two.
func (m *Merged) matchStates(a, b *side) {
	plain := func(s *study.State, name string) *study.State {
		return &study.State{Name: name, Cycle: s.Cycle, Note: s.Note}
	}
	for _, x := range a.States {
		m.Study.States = append(m.Study.States, plain(x, x.Name))
	}
	for _, y := range b.States {
		x := a.State(y.Name)
		if x == nil {
			m.Study.States = append(m.Study.States, plain(y, y.Name))
			continue
		}
		differs := ""
		for _, l := range y.Levels {
			if was := x.Level(l.Factor); was != "" && was != l.Value {
				differs = fmt.Sprintf("%s %s in %s and %s in %s", l.Factor, was, a.label, l.Value, b.label)
			}
		}
		if differs == "" {
			continue
		}
		m.note("the state %s is not compared: it means %s", y.Name, differs)
		b.states[y.Name] = labelled(y.Name, b.label)
		m.Study.States = append(m.Study.States, plain(y, b.states[y.Name]))
	}
}

// rename gives instruments, boards and states of a study their new names
// wherever they are named.
func (s *side) rename() {
	instrument := func(names ...*string) {
		for _, n := range names {
			if to, ok := s.instruments[*n]; ok {
				*n = to
			}
		}
	}
	for _, in := range s.Instruments {
		instrument(&in.Name)
	}
	for _, b := range s.Boards {
		if to, ok := s.boards[b.Name]; ok {
			b.Name = to
		}
		for _, r := range slices.Concat(b.Rails, b.Inputs) {
			for _, t := range r.Taps {
				instrument(&t.Instrument, &t.Meter)
			}
		}
	}
	for _, x := range s.Sittings {
		if to, ok := s.boards[x.Board]; ok {
			x.Board = to
		}
		instrument(&x.VoltageMeter, &x.CurrentMeter, &x.Thermometer)
		for _, st := range x.Steps {
			if to, ok := s.states[st.State]; ok {
				st.State = to
			}
			for _, z := range st.Zeros {
				instrument(&z.Instrument, &z.Reading.Meter)
			}
			for _, r := range st.Rails {
				for _, c := range r.Current {
					instrument(&c.Reading.Meter)
					if c.Back != nil {
						instrument(&c.Back.Meter)
					}
				}
				if r.Voltage != nil {
					instrument(&r.Voltage.Meter)
				}
			}
			for _, t := range st.Temperatures {
				instrument(&t.Reading.Meter)
			}
		}
	}
}

// compareBoards asks for every state that was measured on both boards of a pair:
// of boards that had one name, or, where none had, of all pairs.
func (m *Merged) compareBoards(a, b *side) error {
	var pairs [][2]string
	for _, x := range a.Boards {
		for _, y := range b.Boards {
			if baseName(a.boards, x.Name) == baseName(b.boards, y.Name) {
				pairs = append(pairs, [2]string{x.Name, y.Name})
			}
		}
	}
	if len(pairs) == 0 {
		for _, x := range a.Boards {
			for _, y := range b.Boards {
				pairs = append(pairs, [2]string{x.Name, y.Name})
			}
		}
	}
	for _, p := range pairs {
		for _, s := range m.Study.States {
			if m.measured(p[0], s.Name) && m.measured(p[1], s.Name) {
				m.Study.Comparisons = append(m.Study.Comparisons, study.Comparison{
					First: study.StateOn{Board: p[1], State: s.Name}, Second: study.StateOn{Board: p[0], State: s.Name}})
			}
		}
	}
	if len(m.Study.Comparisons) == 0 {
		return fmt.Errorf("no state was measured in both studies: the first has %s, the second %s", join(stateNames(a)), join(stateNames(b)))
	}
	return nil
}

// baseName is what a board was called before it was told apart.
func baseName(renamed map[string]string, name string) string {
	for was, is := range renamed {
		if is == name {
			return was
		}
	}
	return name
}

func (m *Merged) measured(board, state string) bool {
	return slices.ContainsFunc(m.Study.Sittings, func(x *study.Sitting) bool {
		return x.Board == board && slices.ContainsFunc(x.Steps, func(st *study.Step) bool { return st.State == state && len(st.Rails) > 0 })
	})
}

func stateNames(s *side) []string {
	var out []string
	for _, x := range s.States {
		out = append(out, x.Name)
	}
	return out
}

// began is when the first sitting of a study was.
func began(s *study.Study) time.Time {
	first := s.Sittings[0].On
	for _, x := range s.Sittings {
		if x.On.Before(first) {
			first = x.On
		}
	}
	return first
}

// sittingEffect pools what both studies take over from earlier ones, once where
// that is the same. What they find themselves is found again from their sittings
// together.
func (m *Merged) sittingEffect(a, b *side) {
	x, y := a.SittingEffect, b.SittingEffect
	switch {
	case x == nil:
		m.Study.SittingEffect = y
	case y == nil || x.DOF == y.DOF && x.From == y.From && x.SD.Value() == y.SD.Value():
		m.Study.SittingEffect = x
	default:
		m.Study.SittingEffect = pooled(x, y)
	}
	if m.Study.SittingEffect != nil {
		m.note("what is taken over of the effect of a sitting counts besides what these sittings show; if it was found from one of these two studies, leave it out of the other")
	}
}

// pooled weighs two variances by their degrees of freedom.
func pooled(x, y *study.CarriedEffect) *study.CarriedEffect {
	dof := x.DOF + y.DOF
	variance := (x.DOF*x.SD.Value()*x.SD.Value() + y.DOF*y.SD.Value()*y.SD.Value()) / dof
	return &study.CarriedEffect{SD: quantity.Entry{Values: []float64{math.Sqrt(variance)}, Unit: quantity.Watt}, DOF: dof, From: join([]string{x.Source(), y.Source()})}
}
