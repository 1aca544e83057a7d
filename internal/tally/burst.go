package tally

import (
	"math"
	"slices"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// A load that comes in bursts pulls its rail's voltage down while it draws, so
// the product of mean voltage and mean current is too high:
//
//	⟨v·i⟩ = ⟨v⟩·⟨i⟩ + cov(v, i),  cov(v, i) = −R·var(i)
//
// with R the resistance behind the rail. Where a display's flicker bounds the
// variance of the current, and other states show R as ΔV/ΔI, the term enters as
// a rectangle from zero to R·var(i), on the one side that it can lie on.
//
// Flicker is what the display showed; what the meter averaged away before it
// displayed anything is not in it.

// burstShare is the least part of a rail's standard uncertainty that a bound
// must reach to be worth an input (a hundredth: less would not show in two
// digits of it; our own choice).
const burstShare = 0.01

// bursts takes the bound off the power of each rail whose current flickered.
func (t *Tally) bursts(b *Board) error {
	for _, r := range b.Rails {
		if !flickers(b, r) {
			continue
		}
		ohms, err := t.sourceResistance(b, r)
		if err != nil {
			return err
		}
		if ohms <= 0 {
			continue
		}
		for _, s := range b.States {
			for _, tk := range s.Taken {
				rt := taken(tk.Rails, r)
				if rt == nil || len(rt.Visits) == 0 {
					continue
				}
				if err := t.burst(s, tk, rt, ohms); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// flickers tells whether any current of a rail was read as a band or with a
// tolerance. Without one there is nothing to bound.
func flickers(b *Board, r *study.Rail) bool {
	return slices.ContainsFunc(b.States, func(s *State) bool { return s.flickers(r) })
}

// flickers tells the same of one state; of all its rails when r is nil.
func (s *State) flickers(r *study.Rail) bool {
	for _, tk := range s.Taken {
		for _, i := range tk.Steps {
			for _, st := range tk.Sitting.Steps[i].Rails {
				if (r == nil || st.Rail == r.Name) && slices.ContainsFunc(st.Current, wide) {
					return true
				}
			}
		}
	}
	return false
}

// wide tells whether a tap was read as more than one steady value, either way
// of the wire.
func wide(tr *study.TapReading) bool {
	band := func(rd *study.Reading) bool {
		return rd != nil && (rd.Kind == quantity.Band || rd.Tol != nil && rd.Tol.DOF == 0)
	}
	return band(&tr.Reading) || band(tr.Back)
}

func (t *Tally) burst(s *State, tk *Taken, rt *RailTaken, ohms float64) error {
	var bound float64
	for _, v := range rt.Visits {
		half, err := t.flicker(v)
		if err != nil {
			return err
		}
		// No distribution on ±half has a variance above half² (T. Popoviciu, 1935).
		bound += ohms * half * half / float64(len(rt.Visits))
	}
	if bound == 0 {
		return nil
	}
	p, err := t.Graph.Result(rt.Power)
	if err != nil {
		return err
	}
	if bound < burstShare*p.U {
		return nil
	}
	rt.Burst = t.bench.Input(s.On().String()+", "+rt.Rail.Name+": bursts", gum.Rectangular{Lo: 0, Hi: bound}, []gum.Tag{
		{Key: sensing.TagCause, Value: sensing.CauseBurst}, {Key: sensing.TagRail, Value: rt.Rail.Name},
		{Key: sensing.TagBoard, Value: s.Board.Name}, {Key: sensing.TagSitting, Value: tk.Sitting.Name},
	})
	rt.Power = rt.Power.Sub(rt.Burst)
	return nil
}

// flicker is the half-width, in amperes through the rail, of what its display
// wandered over; several phases are taken to wander together.
func (t *Tally) flicker(v Visit) (float64, error) {
	var half float64
	for _, c := range v.Taps {
		inputs, err := t.Graph.Budget(c.Value)
		if err != nil {
			return 0, err
		}
		for _, sh := range inputs {
			if tag(sh, sensing.TagCause) == sensing.CauseBand {
				half += math.Sqrt(3) * sh.U // a rectangle's half-width
			}
		}
	}
	return half, nil
}

// sourceResistance is the upper end of the interval of −ΔV/ΔI over the two
// readings of a rail in one sitting whose currents lie farthest apart. It is 0
// where no two currents are apart by more than their uncertainty, or where the
// voltage was not read: then nothing is known of R.
func (t *Tally) sourceResistance(b *Board, r *study.Rail) (float64, error) {
	bySitting := map[*study.Sitting][]*RailTaken{}
	var order []*study.Sitting
	for _, s := range b.States {
		for _, tk := range s.Taken {
			if rt := taken(tk.Rails, r); rt != nil && len(rt.Visits) > 0 && !rt.Stands {
				if bySitting[tk.Sitting] == nil {
					order = append(order, tk.Sitting)
				}
				bySitting[tk.Sitting] = append(bySitting[tk.Sitting], rt)
			}
		}
	}
	var lo, hi *RailTaken
	widest := 0.0
	for _, sit := range order {
		for _, x := range bySitting[sit] {
			for _, y := range bySitting[sit] {
				if d := y.Drawn.Estimate() - x.Drawn.Estimate(); d > widest {
					lo, hi, widest = x, y, d
				}
			}
		}
	}
	if lo == nil {
		return 0, nil
	}
	di := hi.Drawn.Sub(lo.Drawn)
	amps, err := t.Figure(di)
	if err != nil || amps.Lo() <= 0 {
		return 0, err
	}
	ohms, err := t.Figure(lo.Voltage.Sub(hi.Voltage).Div(di))
	if err != nil {
		return 0, err
	}
	return math.Max(0, ohms.Hi()), nil
}
