package tally

import (
	"fmt"
	"slices"

	"railtally/gum"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// RailTaken is one rail in one state of one sitting, before it is combined
// with other sittings.
type RailTaken struct {
	Rail    *study.Rail
	Voltage gum.Value // at the chip's side of the loop
	Drawn   gum.Value // current through the rail's taps
	Current gum.Value // what of it enters the chip
	Power   gum.Value // Voltage times Current, positive where the rail delivers it, less Burst
	// Burst is what the product of means is too high by where the load bursts;
	// not Valid where nothing bounds it.
	Burst gum.Value
	// Joint is what the mean of v·i exceeds the product of the means by, in Power, where both were logged
	// together; not Valid where they were not.
	Joint gum.Value

	// Visits are the single readings that the values above are the means of,
	// in the order in which they were taken. Empty for a bounded rail.
	Visits []Visit
	// Stands tells that the nominal voltage stands in for one not read.
	Stands bool
}

// Visit is one reading of a rail: one voltage, and one current for each tap.
type Visit struct {
	Step    int // of the sitting
	Voltage sensing.Sensed
	Taps    []sensing.Sensed
	Note    string
}

// takeRail computes a rail from all its readings of one state in one sitting.
// It returns nil when the rail was neither read nor bounded.
func (t *Tally) takeRail(b *sensing.Bench, p sensing.Place, steps []int) (*RailTaken, error) {
	rt := &RailTaken{Rail: p.Rail}
	var volts, amps, watts, joint []gum.Value
	for _, i := range steps {
		rr := p.Sitting.Steps[i].Reading(p.Rail.Name)
		if rr == nil {
			continue
		}
		p.Step = i
		v, err := t.visit(b, p, rr)
		if err != nil {
			return nil, err
		}
		if v == nil {
			continue
		}
		rt.Visits = append(rt.Visits, *v)
		rt.Stands = rt.Stands || v.Voltage.Stands
		i := sumOf(v.Taps)
		if off := t.cutShort(p, rr, v); off.Valid() {
			i = i.Add(off)
		}
		volts, amps = append(volts, v.Voltage.Value), append(amps, i)
		watts = append(watts, power(p.Rail, v.Voltage.Value, i))
		for _, c := range v.Taps {
			if c.Together.Valid() {
				joint = append(joint, power(p.Rail, v.Voltage.Value, c.Together))
			}
		}
	}
	switch {
	case len(volts) > 0:
		rt.Voltage, rt.Drawn, rt.Power = mean(volts), mean(amps), mean(watts)
		if len(joint) > 0 {
			rt.Joint = gum.Sum(joint...).Scale(1 / float64(len(watts)))
			rt.Power = rt.Power.Add(rt.Joint)
		}
		if err := t.questionVisits(p, watts); err != nil {
			return nil, err
		}
	case p.Rail.Bound != nil:
		var err error
		if rt.Voltage, err = b.BoundVoltage(p, steps); err != nil {
			return nil, err
		}
		rt.Drawn = b.Bound(p)
		rt.Power = power(p.Rail, rt.Voltage, rt.Drawn)
	default:
		return nil, nil
	}
	rt.Current = rt.Drawn
	return rt, nil
}

// visit turns one reading of a rail into quantities; nil when the current of
// one of its taps was not read, since the others are not the rail's current,
// and for a rail that was not opened, of which only the voltage can be read.
func (t *Tally) visit(b *sensing.Bench, p sensing.Place, rr *study.RailReading) (*Visit, error) {
	if len(p.Rail.Taps) == 0 {
		return nil, nil
	}
	for _, tap := range p.Rail.Taps {
		if !slices.ContainsFunc(rr.Current, func(tr *study.TapReading) bool { return p.Rail.Tap(tr.Tap) == tap }) {
			return nil, nil
		}
	}
	b.CheckFeed(p)
	v := &Visit{Step: p.Step, Note: rr.Note}
	for _, tr := range rr.Current {
		c, err := b.Current(p, p.Rail.Tap(tr.Tap), tr)
		if err != nil {
			return nil, err
		}
		v.Taps = append(v.Taps, c)
	}
	var err error
	v.Voltage, err = b.Voltage(p, rr, v.Taps)
	return v, err
}

// power is V·I, positive on a rail of negative voltage too (see Polarity).
func power(r *study.Rail, v, i gum.Value) gum.Value {
	if r.Polarity() < 0 {
		v = v.Neg()
	}
	return v.Mul(i)
}

func sumOf(taps []sensing.Sensed) gum.Value {
	if len(taps) == 1 {
		return taps[0].Value
	}
	vs := make([]gum.Value, len(taps))
	for i, c := range taps {
		vs[i] = c.Value
	}
	return gum.Sum(vs...)
}

func mean(vs []gum.Value) gum.Value {
	if len(vs) == 1 {
		return vs[0]
	}
	return gum.Mean(vs...)
}

// net takes off what a rail's current feeds beside the chip: rails that hang
// on it, and other parts. What is left enters the chip.
func (t *Tally) net(b *sensing.Bench, p sensing.Place, rails map[string]*RailTaken) error {
	rt := rails[p.Rail.Name]
	var away []gum.Value
	for _, child := range p.Board.Rails {
		if child.From == nil || child.From.Rail != p.Rail.Name {
			continue
		}
		if c := rails[child.Name]; c != nil {
			if child.From.Through == study.ThroughConverter && rt.Voltage.Estimate() == 0 {
				return fmt.Errorf("%s, %s, %s: the voltage is 0 V, so what %s takes through its converter cannot be computed",
					p.Sitting.Name, p.State, rt.Rail.Name, child.Name)
			}
			q := p
			q.Rail = child
			away = append(away, b.DrawnFrom(q, rt.Voltage, c.Voltage, c.Drawn))
		}
	}
	for _, o := range p.Rail.Others {
		away = append(away, b.Other(p, o))
	}
	if len(away) == 0 {
		return nil
	}
	rest := rt.Drawn.Sub(gum.Sum(away...))
	rt.Current, rt.Power = rest, power(rt.Rail, rt.Voltage, rest)
	if rt.Burst.Valid() {
		rt.Power = rt.Power.Sub(rt.Burst)
	}
	if rt.Joint.Valid() {
		rt.Power = rt.Power.Add(rt.Joint)
	}
	return t.questionRest(p, rest)
}
