package tally

import (
	"fmt"
	"slices"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// State is what was found for one state of one board.
type State struct {
	Board *study.Board
	State *study.State

	Taken []*Taken // one for each sitting in which it was measured
	Rails []*Rail  // combined over sittings, in the board's order

	// Total is the power of the chip. It is meaningful only when Complete.
	Total    Figure
	Complete bool
	Missing  []string // rails without a reading, when not Complete
}

// On names the state and its board.
func (s *State) On() study.StateOn {
	return study.StateOn{Board: s.Board.Name, State: s.State.Name}
}

// Rail is one rail of a state, combined over sittings.
type Rail struct {
	*study.Rail
	Voltage, Drawn, Current, Power Figure
	// Stands tells that the nominal voltage stands in for one not read.
	Stands bool
	// Sittings is how many sittings the figures are the mean of.
	Sittings int
}

// CurrentRange is the current of a rail that was not opened: between which
// amperes it is known to stay. A rectangle is stated by its ends; k·u would
// reach beyond them.
func (r *Rail) CurrentRange() (lo, hi float64) {
	if r.Bound.Kind == quantity.Band {
		return r.Bound.Values[0], r.Bound.Values[1]
	}
	lo, hi = r.Bound.Value(), r.Bound.Value()
	if t := r.Bound.Tol; t != nil {
		lo, hi = lo-t.Minus, hi+t.Plus
	}
	return lo, hi
}

// PowerRange is the power that goes with CurrentRange at the rail's voltage.
func (r *Rail) PowerRange() (lo, hi float64) {
	lo, hi = r.CurrentRange()
	v := r.Polarity() * r.Voltage.Estimate
	return min(v*lo, v*hi), max(v*lo, v*hi)
}

// Taken is one state of one board in one sitting.
type Taken struct {
	Sitting *study.Sitting
	Steps   []int // of the sitting, in order
	Rails   []*RailTaken
	Inputs  []*RailTaken
	Missing []string
	Total   gum.Value // sum over the rails that enter the chip; not Valid when rails are missing
}

// Rail returns a rail of the state, or nil.
func (s *State) Rail(name string) *Rail {
	for _, r := range s.Rails {
		if r.Name == name {
			return r
		}
	}
	return nil
}

// measure computes every state of a board, sitting by sitting: first all the
// rails, for what one state says of another, then their sums.
func (t *Tally) measure(b *sensing.Bench, board *study.Board) (*Board, error) {
	out := &Board{Board: board}
	for _, st := range t.Study.States {
		s := &State{Board: board, State: st}
		for _, sit := range t.Study.Sittings {
			if sit.Board != board.Name {
				continue
			}
			tk, err := t.take(b, board, sit, st)
			if err != nil {
				return nil, err
			}
			if tk != nil {
				s.Taken = append(s.Taken, tk)
			}
		}
		if len(s.Taken) > 0 {
			out.States = append(out.States, s)
		}
	}
	if err := t.bursts(out); err != nil {
		return nil, fmt.Errorf("%s: bursts: %w", board.Name, err)
	}
	for _, s := range out.States {
		for _, tk := range s.Taken {
			if err := t.sum(b, board, tk); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// take reads one state in one sitting; nil when it was not measured there.
func (t *Tally) take(b *sensing.Bench, board *study.Board, sit *study.Sitting, st *study.State) (*Taken, error) {
	tk := &Taken{Sitting: sit}
	for i, step := range sit.Steps {
		if step.State == st.Name && len(step.Rails) > 0 {
			tk.Steps = append(tk.Steps, i)
		}
	}
	if len(tk.Steps) == 0 {
		return nil, nil
	}
	place := sensing.Place{Sitting: sit, Board: board, State: st.Name, Step: tk.Steps[0]}
	for _, r := range board.Rails {
		place.Rail = r
		rt, err := t.takeRail(b, place, tk.Steps)
		if err != nil {
			return nil, err
		}
		if rt == nil {
			// A rail that only feeds or measures is missed when something is to be
			// taken off its parent by it.
			if !r.Aside || r.From != nil {
				tk.Missing = append(tk.Missing, r.Name)
			}
			continue
		}
		tk.Rails = append(tk.Rails, rt)
	}
	for _, r := range board.Inputs {
		place.Rail = r
		rt, err := t.takeRail(b, place, tk.Steps)
		if err != nil {
			return nil, err
		}
		if rt != nil {
			tk.Inputs = append(tk.Inputs, rt)
		}
	}
	return tk, nil
}

// sum takes off what each rail feeds beside the chip, and adds the rails up.
func (t *Tally) sum(b *sensing.Bench, board *study.Board, tk *Taken) error {
	byName := map[string]*RailTaken{}
	for _, rt := range tk.Rails {
		byName[rt.Rail.Name] = rt
	}
	place := sensing.Place{Sitting: tk.Sitting, Board: board, State: tk.Sitting.Steps[tk.Steps[0]].State, Step: tk.Steps[0]}
	var parts []gum.Value
	for _, rt := range tk.Rails {
		place.Rail = rt.Rail
		if err := t.net(b, place, byName); err != nil {
			return err
		}
		if !rt.Rail.Aside {
			parts = append(parts, rt.Power)
		}
	}
	if len(tk.Missing) == 0 && len(parts) > 0 {
		tk.Total = gum.Sum(parts...)
	}
	return nil
}

// combine takes the mean of a state's sittings, each with the effect of its
// sitting, and evaluates the state's figures.
func (t *Tally) combine(s *State) error {
	for _, r := range s.Board.Rails {
		c, err := t.combineRail(s, r)
		if err != nil {
			return fmt.Errorf("%s, %s: %w", s.On(), r.Name, err)
		}
		if c != nil {
			s.Rails = append(s.Rails, c)
		}
	}
	var totals []gum.Value
	missing := map[string]bool{}
	for _, tk := range s.Taken {
		if !tk.Total.Valid() {
			for _, m := range tk.Missing {
				missing[m] = true
			}
			continue
		}
		totals = append(totals, t.Sittings.with(t.Graph, tk))
	}
	if len(totals) == 0 {
		for _, r := range s.Board.Rails {
			if missing[r.Name] {
				s.Missing = append(s.Missing, r.Name)
			}
		}
		return nil
	}
	s.Complete = true
	var err error
	if s.Total, err = t.Figure(mean(totals)); err != nil {
		return fmt.Errorf("%s: %w", s.On(), err)
	}
	return nil
}

func (t *Tally) combineRail(s *State, r *study.Rail) (*Rail, error) {
	out := &Rail{Rail: r}
	var v, d, i, p []gum.Value
	for _, tk := range s.Taken {
		for _, rt := range tk.Rails {
			if rt.Rail != r {
				continue
			}
			v, d, i, p = append(v, rt.Voltage), append(d, rt.Drawn), append(i, rt.Current), append(p, rt.Power)
			out.Stands = out.Stands || rt.Stands
		}
	}
	if len(v) == 0 {
		return nil, nil
	}
	out.Sittings = len(v)
	for _, f := range []struct {
		dst *Figure
		of  []gum.Value
	}{{&out.Voltage, v}, {&out.Current, i}, {&out.Power, p}} {
		var err error
		if *f.dst, err = t.Figure(mean(f.of)); err != nil {
			return nil, err
		}
	}
	out.Drawn = out.Current
	if !slices.Equal(d, i) {
		var err error
		if out.Drawn, err = t.Figure(mean(d)); err != nil {
			return nil, err
		}
	}
	return out, nil
}
