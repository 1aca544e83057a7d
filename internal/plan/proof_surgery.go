package plan

import (
	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/tally"
)

// surgery compares a board's input power before anything was opened with that
// after all loops were closed: the only trial that shows whether opening the
// rails changed the board. What the loops themselves turn into heat is taken off.
func (j judge) surgery() (out []Proof, err error) {
	for _, b := range j.t.Boards {
		for _, s := range b.States {
			before, after, carried := halves(s)
			if before == nil || after == nil {
				continue
			}
			for _, in := range b.Inputs {
				was, is := railIn(before, in.Name), railIn(after, in.Name)
				if was == nil || is == nil {
					continue
				}
				var loss gum.Value
				if carried != nil {
					loss = j.loops(carried)
				}
				more := is.Power.Sub(was.Power)
				if loss.Valid() {
					more = more.Sub(loss)
				}
				p, err := j.agree(Proof{Code: "surgery", Board: b.Name, Rail: in.Name, State: s.State.Name,
					What: phrase.New("power into %s before (%s) and after (%s) the rails were opened", in.Name, before.Sitting.Name, after.Sitting.Name)}, more, quantity.Watt)
				if err != nil {
					return nil, err
				}
				switch {
				case p.Holds && loss.Valid():
					p.Text = phrase.New("Opening the rails changed nothing that can be seen: %s beyond the %s that the loops themselves take.", p.difference(), phrase.Number(watts(loss.Estimate())))
				case p.Holds:
					p.Text = phrase.New("Opening the rails changed nothing that can be seen: %s.", p.difference())
				case loss.Valid():
					p.Text = phrase.New("The board takes %s more beyond the %s that the loops themselves take: a joint, a pad or a part has suffered, or another day makes that much.", p.difference(), phrase.Number(watts(loss.Estimate())))
				default:
					p.Text = phrase.New("The board takes %s more: a joint, a pad or a part has suffered, or another day makes that much.", p.difference())
				}
				if !p.Holds {
					p.Do = phrase.New("With the power off look at every joint and measure the resistance of each loop; then read the input once more, before anything else is trusted.")
				}
				if carried == nil {
					p.Text = p.Text.Then(phrase.New("What the loops themselves take is not off it yet: no rail was read in %s.", s.State.Name))
				}
				out = append(out, p)
			}
		}
	}
	return out, nil
}

// halves finds what is compared of a state: the last reading of the inputs before
// anything was opened, and the one with all loops closed; where there is none, the
// first in which rails were read too. carried is where rails were read, which tells
// what the loops carry.
func halves(s *tally.State) (before, after, carried *tally.Taken) {
	for _, tk := range s.Taken {
		read, closed := !untouched(tk), called(tk.Sitting.Name, LoopsClosed)
		if read && carried == nil {
			carried = tk
		}
		switch {
		case len(tk.Inputs) == 0:
		case closed && !read:
			if after == nil || !called(after.Sitting.Name, LoopsClosed) {
				after = tk
			}
		case !read && after == nil:
			before = tk
		case read && after == nil:
			after = tk
		}
	}
	return before, after, carried
}

// untouched tells whether no rail was read.
func untouched(tk *tally.Taken) bool {
	for _, rt := range tk.Rails {
		if len(rt.Visits) > 0 {
			return false
		}
	}
	return true
}

// loops is what the loops of the rails turn into heat, I²R, with R ±20 % where it
// was computed; not Valid without any.
func (j judge) loops(tk *tally.Taken) gum.Value {
	var parts []gum.Value
	for _, rt := range tk.Rails {
		if rt.Rail.Checks != "" {
			continue // it reads a current that is counted already
		}
		for _, v := range rt.Visits {
			for _, c := range v.Taps {
				if c.Tap == nil || c.Tap.Loop == nil {
					continue
				}
				r := sensing.LoopResistance(*c.Tap.Loop)
				d := gum.Distribution(gum.Rectangular{Lo: 0.8 * r, Hi: 1.2 * r})
				if e := c.Tap.Loop.Resistance; e != nil {
					d = sensing.Within(*e, 0)
				}
				ohm := j.t.Graph.Input(gum.Input{Name: rt.Rail.Name + ": resistance of the loop", Dist: d})
				parts = append(parts, c.Value.Mul(c.Value).Mul(ohm).Scale(1/float64(len(rt.Visits))))
			}
		}
	}
	if len(parts) == 0 {
		return gum.Value{}
	}
	return gum.Sum(parts...)
}
