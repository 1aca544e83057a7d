package tally

import (
	"fmt"
	"slices"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Upstream compares what was read before the converters with the rails behind
// them, in one state of one sitting.
type Upstream struct {
	On      study.StateOn
	Sitting *study.Sitting
	Inputs  []string // that were read
	Rails   []string // that they supply
	Missing []string // of those rails, not read; the rest is then empty

	In, Out Figure // power into the converters, and out of them through the taps
	// Efficiency is Out/In. Above 1 it cannot be: a scale, a number of turns or
	// something counted twice is wrong.
	Efficiency Figure
	// Remainder is In − Out: the converters' losses, and whatever else draws.
	Remainder Figure
	// Band is where the study expects the efficiency; nil: nothing is expected.
	Band *quantity.Entry
}

// UpstreamChange compares how far the input changes from one state to another
// of the same sitting with how far the rails do. Constant errors of both drop
// out of it.
type UpstreamChange struct {
	From, To *Upstream
	In, Out  Figure
	// Ratio is Out/In, the efficiency of what was added; not Valid where the
	// change of the input is not resolved.
	Ratio Figure
}

// upstream evaluates every input that was read.
func (t *Tally) upstream() error {
	for _, b := range t.Boards {
		for _, set := range supplies(b.Board) {
			bySitting := map[*study.Sitting][]*Upstream{}
			var order []*study.Sitting
			for _, s := range b.States {
				for _, tk := range s.Taken {
					u, err := t.upstreamOf(b.Board, s, tk, set)
					if err != nil {
						return fmt.Errorf("%s, %s: upstream: %w", s.On(), tk.Sitting.Name, err)
					}
					if u == nil {
						continue
					}
					t.Upstream = append(t.Upstream, u)
					if len(u.Missing) > 0 {
						continue
					}
					if bySitting[tk.Sitting] == nil {
						order = append(order, tk.Sitting)
					}
					bySitting[tk.Sitting] = append(bySitting[tk.Sitting], u)
				}
			}
			for _, sit := range order {
				if err := t.changes(bySitting[sit]); err != nil {
					return fmt.Errorf("%s: upstream: %w", sit.Name, err)
				}
			}
		}
	}
	return nil
}

// supply is a set of inputs with the rails behind them.
type supply struct {
	inputs, rails []*study.Rail
}

// supplies lists what feeds what on a board: each input that names its rails by
// itself, and all others together for every rail that hangs on no other.
func supplies(b *study.Board) []supply {
	var out []supply
	var all supply
	for _, in := range b.Inputs {
		if len(in.Feeds) == 0 {
			all.inputs = append(all.inputs, in)
			continue
		}
		s := supply{inputs: []*study.Rail{in}}
		for _, name := range in.Feeds {
			s.rails = append(s.rails, b.Rail(name))
		}
		out = append(out, s)
	}
	if len(all.inputs) == 0 {
		return out
	}
	for _, r := range b.Rails {
		if r.From == nil {
			all.rails = append(all.rails, r)
		}
	}
	return append([]supply{all}, out...)
}

// upstreamOf evaluates one set of inputs in one state of one sitting; nil when
// not all of the set were read.
func (t *Tally) upstreamOf(b *study.Board, s *State, tk *Taken, set supply) (*Upstream, error) {
	u := &Upstream{On: s.On(), Sitting: tk.Sitting}
	var in, out []gum.Value
	for _, r := range set.inputs {
		rt := taken(tk.Inputs, r)
		if rt == nil {
			return nil, nil
		}
		u.Inputs, in = append(u.Inputs, r.Name), append(in, rt.Power)
		if u.Band == nil {
			u.Band = r.Efficiency
		}
	}
	for _, r := range set.rails {
		u.Rails = append(u.Rails, r.Name)
		rt := taken(tk.Rails, r)
		if rt == nil {
			u.Missing = append(u.Missing, r.Name)
			continue
		}
		// What hangs on the rail has come through the converter too.
		out = append(out, power(rt.Rail, rt.Voltage, rt.Drawn))
	}
	if len(u.Missing) > 0 || len(out) == 0 {
		return u, nil
	}
	pin, pout := gum.Sum(in...), gum.Sum(out...)
	var err error
	if u.In, err = t.Figure(pin); err != nil {
		return nil, err
	}
	if u.Out, err = t.Figure(pout); err != nil {
		return nil, err
	}
	if u.Remainder, err = t.Figure(pin.Sub(pout)); err != nil {
		return nil, err
	}
	if u.In.Estimate > 0 {
		u.Efficiency, err = t.Figure(pout.Div(pin))
	}
	return u, err
}

func taken(list []*RailTaken, r *study.Rail) *RailTaken {
	i := slices.IndexFunc(list, func(rt *RailTaken) bool { return rt.Rail == r })
	if i < 0 {
		return nil
	}
	return list[i]
}

// changes compares every state of a sitting with the one whose rails draw
// least.
func (t *Tally) changes(us []*Upstream) error {
	if len(us) < 2 {
		return nil
	}
	least := us[0]
	for _, u := range us {
		if u.Out.Estimate < least.Out.Estimate {
			least = u
		}
	}
	for _, u := range us {
		if u == least {
			continue
		}
		c := &UpstreamChange{From: least, To: u}
		in, out := u.In.Value.Sub(least.In.Value), u.Out.Value.Sub(least.Out.Value)
		var err error
		if c.In, err = t.Figure(in); err != nil {
			return err
		}
		if c.Out, err = t.Figure(out); err != nil {
			return err
		}
		if c.In.Lo() > 0 {
			if c.Ratio, err = t.Figure(out.Div(in)); err != nil {
				return err
			}
		}
		t.Changes = append(t.Changes, c)
	}
	return nil
}
