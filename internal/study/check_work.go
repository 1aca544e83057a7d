package study

import "railtally/internal/quantity"

// work checks how the work is to be done and in which order.
func (c *checker) work() {
	if w := c.study.Work; w != nil {
		p := path{"work"}
		count := func(key string, n, lo, hi int) {
			if n < lo || n > hi {
				c.fault(p.with(key), "", "%d is outside %d to %d", n, lo, hi)
			}
		}
		if w.StatesPerZero != nil {
			count("states per zero", *w.StatesPerZero, 0, 1000)
		}
		count("repeats", w.Repeats, 0, 1000)
		count("passes", w.Passes, 0, 20)
		count("sittings", w.Sittings, 0, 50)
		if w.Seed != nil && *w.Seed < 0 {
			c.fault(p.with("seed"), "a whole number from 0", "%d is no seed", *w.Seed)
		}
	}
	seen := map[Turn]bool{}
	for _, t := range c.study.Order {
		p := path{"order", t.Board}
		k := Turn{Board: t.Board, State: t.State}
		switch {
		case c.study.Board(t.Board) == nil:
			c.fault(p, Accepting(t.Board, c.boardNames()), "no board called %q", t.Board)
		case c.study.State(t.State) == nil:
			c.fault(p, Accepting(t.State, c.stateNames()), "no state called %q", t.State)
		case seen[k]:
			c.fault(p, "each state once", "%s stands twice in the order", t.State)
		}
		seen[k] = true
	}
	if u := c.study.Usual; u != nil {
		p := path{"bench"}
		if u.VoltageMeter != "" {
			c.meter(p.with("meter", "voltage"), u.VoltageMeter, "", quantity.Volt)
		}
		if u.CurrentMeter != "" && u.CurrentMeter != u.VoltageMeter {
			c.meter(p.with("meter", "current"), u.CurrentMeter, "", quantity.Volt)
		}
		if u.Thermometer != "" {
			c.thermometer(p.with("thermometer"), u.Thermometer, "")
		}
		if u.Room != nil {
			c.celsius(p.with("room"), u.Room, coldRoom, hotRoom)
		}
	}
	both := map[Threaded]bool{}
	for _, x := range c.study.BothWays {
		p := path{"both ways", x.Board}
		b := c.study.Board(x.Board)
		if b == nil {
			c.fault(p, Accepting(x.Board, c.boardNames()), "no board called %q", x.Board)
			continue
		}
		var clamped []string
		for _, r := range b.Rails {
			if r.clamped() {
				clamped = append(clamped, r.Name)
			}
		}
		r := b.Rail(x.Rail)
		switch {
		case r == nil:
			c.fault(p, Accepting(x.Rail, clamped), "%s has no rail called %q", x.Board, x.Rail)
		case !r.clamped():
			c.fault(p, Accepting("", clamped), "no clamp sits on %s, so there is no other way to thread its wire", x.Rail)
		case both[*x]:
			c.fault(p, "each rail once", "%s stands there twice", x.Rail)
		}
		both[*x] = true
	}
}

func (r *Rail) clamped() bool {
	for _, t := range r.Taps {
		if t.Kind == TapClamp {
			return true
		}
	}
	return false
}
