package plan

import (
	"slices"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Expectation is what a rail is expected to carry and to have in one state.
type Expectation struct {
	Amps    float64 // through the taps together; planned for
	Highest float64 // the most that it may be; checked against
	Scatter float64 // one standard deviation of single readings, amperes; 0: the display stands still
	Volts   float64
	Known   bool // something was said or read
	Read    bool // taken from readings
}

// expectations knows what every rail is expected to carry.
type expectations struct {
	study *study.Study
	known []*tally.Tally // earlier readings, the most trusted first
}

// of returns what is expected of a rail in a state. The study's own word counts
// first, then what was read.
func (x expectations) of(b *study.Board, r *study.Rail, state string) Expectation {
	e := Expectation{Volts: r.Nominal.Value()}
	for _, t := range x.known {
		s, k := likeRail(t, b.Name, r.Name, state)
		if k != nil {
			e.Amps, e.Highest, e.Known, e.Read = k.Drawn.Estimate, k.Drawn.Hi(), true, true
			if !k.Stands {
				e.Volts = k.Voltage.Estimate
			}
			e.Scatter = scatterRead(s, r)
			break
		}
	}
	said := x.said(b.Name, r.Name, state)
	if said == nil && r.Checks != "" {
		said = x.said(b.Name, r.Checks, state)
	}
	if said != nil {
		e.Amps, e.Highest, e.Known, e.Read = said.Current.Value(), upper(said.Current), true, false
		e.Scatter = 0
		if said.Scatter != nil {
			e.Scatter = said.Scatter.Value()
		}
	}
	// Also of a rail that is to be opened after all.
	if was := x.study.Board(b.Name).Rail(r.Name); !e.Known && was != nil && was.Bound != nil {
		e.Amps, e.Highest, e.Known = was.Bound.Value(), upper(*was.Bound), true
	}
	return e
}

// likeRail finds what a tally holds of a rail in a state: on the board of that name,
// or, where the tally is of other boards, on the first that has such a rail.
func likeRail(t *tally.Tally, board, rail, state string) (*tally.State, *tally.Rail) {
	names := []string{board}
	if t.Study.Board(board) == nil {
		names = nil
		for _, b := range t.Boards {
			names = append(names, b.Name)
		}
	}
	for _, name := range names {
		if s := t.State(study.StateOn{Board: name, State: state}); s != nil {
			if k := s.Rail(rail); k != nil {
				return s, k
			}
		}
	}
	return nil, nil
}

// ExpectLike writes down in a study what the rails of another one carried, for
// every rail and state of the same names (of a board of another name too, where the
// other study does not know this one), and returns how many lines that are.
func ExpectLike(s *study.Study, t *tally.Tally) (n int) {
	for _, b := range s.Boards {
		for _, r := range slices.Concat(b.Rails, b.Inputs) {
			for _, st := range s.States {
				found, k := likeRail(t, b.Name, r.Name, st.Name)
				if k == nil || len(r.Taps) == 0 || !(k.Drawn.Estimate > 0) {
					continue
				}
				line := &study.Expected{Board: b.Name, Rail: r.Name, State: st.Name, Current: roundedEntry(k.Drawn.Estimate, quantity.Ampere, 4)}
				if sd := scatterRead(found, r); sd > 0 {
					line.Scatter = new(roundedEntry(sd, quantity.Ampere, 2))
				}
				s.Expected = slices.DeleteFunc(s.Expected, func(e *study.Expected) bool {
					return e.Board == b.Name && e.Rail == r.Name && e.State == st.Name
				})
				s.Expected = append(s.Expected, line)
				n++
			}
		}
	}
	return n
}

// roundedEntry is a value as a person would write it, to some digits.
func roundedEntry(x float64, u quantity.Unit, digits int) quantity.Entry {
	e, err := quantity.Parse(quantity.Format(x, u, digits), u, "")
	if err != nil {
		return quantity.Entry{Values: []float64{x}, Unit: u}
	}
	return e
}

// said returns the study's line for a rail and state, or for the rail in any
// state, or nil.
func (x expectations) said(board, rail, state string) *study.Expected {
	var any *study.Expected
	for _, e := range x.study.Expected {
		if e.Board != board || e.Rail != rail {
			continue
		}
		switch e.State {
		case state:
			return e
		case "":
			any = e
		}
	}
	return any
}

// upper is the highest value that a quantity allows.
func upper(e quantity.Entry) float64 {
	if e.Tol != nil {
		return e.Value() + e.Tol.Plus
	}
	return slices.Max(e.Values)
}

// scatterRead is the scatter of single readings of a rail in a state that was
// read, as amperes through the rail; 0 where nothing was repeated.
func scatterRead(s *tally.State, r *study.Rail) float64 {
	for _, tk := range s.Taken {
		for _, rt := range tk.Rails {
			if rt.Rail != r && rt.Rail.Name != r.Name {
				continue
			}
			for _, v := range rt.Visits {
				for _, tap := range v.Taps {
					e := tap.Reading.Entry
					if e.Kind == quantity.Repeats && e.Value() != 0 {
						return spread(e.Values) * rt.Drawn.Estimate() / abs(e.Value())
					}
				}
			}
		}
	}
	return 0
}

// highest is the most that a rail is expected to carry in any of the states.
func (x expectations) highest(b *study.Board, r *study.Rail) (amps float64, known bool) {
	for _, s := range x.study.States {
		if e := x.of(b, r, s.Name); e.Known {
			known, amps = true, max(amps, e.Highest)
		}
	}
	return amps, known
}

// fullest is the state in which a board is expected to draw the most power.
func (x expectations) fullest(b *study.Board) string {
	best, most := "", -1.0
	for _, s := range x.study.States {
		p := 0.0
		for _, r := range b.Rails {
			e := x.of(b, r, s.Name)
			p += e.Amps * e.Volts
		}
		if p > most {
			best, most = s.Name, p
		}
	}
	return best
}
