package sensing

import (
	"math"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Bound is the current of a rail that was not opened: the rectangle it is known
// to lie in. It may differ from state to state, so it is shared only by the
// sittings of one state.
func (b *Bench) Bound(p Place) gum.Value {
	return b.once(sharedKey{what: "bound " + p.State, board: p.Board.Name, rail: p.Rail.Name}, func() gum.Value {
		return b.Input(p.name("not opened"), Within(*p.Rail.Bound, 0),
			tags(TagRail, p.Rail.Name, TagCause, CauseBound, TagBoard, p.Board.Name))
	})
}

// BoundVoltage is the voltage of a rail that was not opened: as read in the
// given steps, or nominal within its tolerance.
func (b *Bench) BoundVoltage(p Place, steps []int) (gum.Value, error) {
	for _, i := range steps {
		if rr := p.Sitting.Steps[i].Reading(p.Rail.Name); rr != nil && rr.Voltage != nil {
			p.Step = i
			v, err := b.Voltage(p, rr, nil)
			return v.Value, err
		}
	}
	return b.once(sharedKey{what: "bound voltage " + p.State, board: p.Board.Name, rail: p.Rail.Name}, func() gum.Value {
		d, _ := nominalWithin(p.Rail.Nominal)
		return b.Input(p.name("voltage, nominal"), d,
			tags(TagRail, p.Rail.Name, TagCause, CauseBound, TagBoard, p.Board.Name))
	}), nil
}

// nominalWithin is the distribution of a nominal voltage, and whether its
// tolerance was stated.
func nominalWithin(e quantity.Entry) (d gum.Distribution, stated bool) {
	if e.Tol != nil || e.Kind == quantity.Band {
		return Within(e, 0), true
	}
	half := assumedTolerance * math.Abs(e.Value())
	return gum.Rectangular{Lo: e.Value() - half, Hi: e.Value() + half}, false
}

// Other is what a part beside the chip draws from a rail. Like a bound it may
// differ from state to state.
func (b *Bench) Other(p Place, o *study.Other) gum.Value {
	key := sharedKey{what: "other " + o.Part + " " + p.State, board: p.Board.Name, rail: p.Rail.Name}
	return b.once(key, func() gum.Value {
		return b.Input(p.name(o.Part+"'s share"), Within(o.Draws, o.Draws.Step),
			tags(TagRail, p.Rail.Name, TagCause, CauseOthers, TagBoard, p.Board.Name))
	})
}

// DrawnFrom is the current that a rail which hangs on another takes from it.
// p names the hanging rail, parent is the parent's voltage, v and i are the
// hanging rail's own voltage and current.
//
//	through wire       i
//	linear regulator   i + its own current
//	converter          |v·i / (η · parent)|
func (b *Bench) DrawnFrom(p Place, parent, v, i gum.Value) gum.Value {
	s := p.Rail.From
	switch s.Through {
	case study.ThroughConverter:
		eta := b.once(sharedKey{what: "efficiency " + p.State, board: p.Board.Name, rail: p.Rail.Name}, func() gum.Value {
			return b.Input(p.name("efficiency of its converter"), Within(*s.Efficiency, s.Efficiency.Step),
				tags(TagRail, p.Rail.Name, TagCause, CauseEfficiency, TagBoard, p.Board.Name))
		})
		// An inverting converter hangs on a rail of the other sign.
		turn := p.Rail.Polarity() * p.Board.Rail(s.Rail).Polarity()
		return v.Mul(i).Div(eta.Mul(parent)).Scale(turn)
	case study.ThroughLinear:
		if s.Own == nil {
			return i
		}
		own := b.once(sharedKey{what: "own current " + p.State, board: p.Board.Name, rail: p.Rail.Name}, func() gum.Value {
			return b.Input(p.name("its regulator's own current"), Within(*s.Own, s.Own.Step),
				tags(TagRail, p.Rail.Name, TagCause, CauseEfficiency, TagBoard, p.Board.Name))
		})
		return i.Add(own)
	}
	return i
}
