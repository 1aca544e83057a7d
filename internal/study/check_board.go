package study

import (
	"slices"
	"strings"

	"railtally/internal/quantity"
)

// board checks one board: its rails, how they are tapped, and how they hang on
// one another.
func (c *checker) board(b *Board) {
	p := path{"boards", b.Name}
	if len(b.Rails) == 0 {
		c.fault(p.with("rails"), "at least one rail, as in core: {nominal: 0.95 V ±3 %, …}", "the board has no rails")
	} else if !slices.ContainsFunc(b.Rails, func(r *Rail) bool { return !r.Aside }) {
		c.fault(p.with("rails"), "at least one rail that does, enters the chip: yes", "none of the board's rails enters the chip")
	}
	var names []string
	for _, r := range b.Rails {
		names = append(names, r.Name)
		c.rail(p.with("rails", r.Name), b, r)
	}
	c.names(p.with("rails"), "rail", names)
	for _, r := range b.Rails {
		if len(r.Feeds) > 0 || r.Efficiency != nil {
			c.fault(p.with("rails", r.Name), "hangs on: at the rail that is fed", "feeds and efficiency belong to inputs")
		}
	}
	var inputs []string
	for _, r := range b.Inputs {
		inputs = append(inputs, r.Name)
		q := p.with("inputs", r.Name)
		if slices.Contains(names, r.Name) {
			c.fault(q, "another name", "the board has a rail called %q too", r.Name)
		}
		c.rail(q, b, r)
		c.feeds(q, b, r)
	}
	c.names(p.with("inputs"), "input", inputs)
	c.circles(p, b)
}

func (c *checker) rail(p path, b *Board, r *Rail) {
	c.reserved(p, "rail", r.Name, "zero", "state", "at", "temperatures", "throughput", "note")
	if strings.Contains(r.Name, "/") {
		c.fault(p, "a name without /", "the stroke in %q stands between a rail and a phase elsewhere", r.Name)
	}
	for _, in := range c.study.Instruments {
		for _, rg := range append([]*Range{{}}, in.Ranges...) {
			full := strings.TrimSpace(in.Name + " " + rg.Name)
			if r.Name == full {
				c.fault(p, "another name", "%q is the name of an instrument too", r.Name)
			}
			for _, t := range r.Taps {
				if t.Name != "" && r.Name+"/"+t.Name == full {
					c.fault(p.with("taps", t.Name), "another name", "%q is the name of an instrument too", full)
				}
			}
		}
	}
	q := p.with("nominal")
	if c.entry(q, &r.Nominal, quantity.Volt) && c.single(q, &r.Nominal) && r.Nominal.Value() == 0 {
		c.fault(q, "1.8 V ±2 %", "a rail of zero volts")
	}
	if r.Feed != "" && !slices.Contains(Feeds, r.Feed) {
		c.fault(p.with("feed"), Accepting(string(r.Feed), words(Feeds)), "no feed called %q", r.Feed)
	}
	if r.Converter != "" && !slices.Contains(Converters, r.Converter) {
		c.fault(p.with("converter"), Accepting(string(r.Converter), words(Converters)), "no converter called %q", r.Converter)
	}
	switch {
	case len(r.Taps) == 0 && r.Bound == nil:
		c.fault(p, "tap: and how it is sensed, or not opened: 0..25 mA", "nothing says how the rail's current is known")
	case len(r.Taps) > 0 && r.Bound != nil:
		c.fault(p.with("not opened"), "a tap, or the bound of a rail that was not opened", "the rail has a tap and was not opened")
	case r.Bound != nil:
		c.bound(p.with("not opened"), r.Bound)
	}
	c.taps(p, r)
	if r.From != nil {
		c.supply(p.with("hangs on"), b, r)
	}
	var parts []string
	for _, o := range r.Others {
		parts = append(parts, o.Part)
		q := p.with("also feeds", o.Part)
		if c.entry(q, &o.Draws, quantity.Ampere) {
			c.notNegative(q, &o.Draws)
		}
	}
	c.names(p.with("also feeds"), "part", parts)
}

// feeds checks what an input supplies, and how well.
func (c *checker) feeds(p path, b *Board, r *Rail) {
	var rails []string
	for _, x := range b.Rails {
		rails = append(rails, x.Name)
	}
	seen := make(map[string]bool)
	for _, name := range r.Feeds {
		q := p.with("feeds")
		switch {
		case b.measuredRail(name) == nil:
			c.fault(q, Accepting(name, rails), "%s has no rail called %q", b.Name, name)
		case seen[name]:
			c.fault(q, "each rail once", "%s is named twice", name)
		}
		seen[name] = true
	}
	if e := r.Efficiency; e != nil {
		q := p.with("efficiency")
		if c.entry(q, e, quantity.None) && (slices.Min(e.Values) <= 0 || slices.Max(e.Values) > 1) {
			c.fault(q, "above 0 and up to 100 %", "an efficiency of %s", shown(e))
		}
	}
}

// bound checks what the current of a rail that was not opened stays within.
func (c *checker) bound(p path, e *quantity.Entry) {
	if !c.entry(p, e, quantity.Ampere) {
		return
	}
	if e.Kind != quantity.Band {
		c.fault(p, "a band, as in 0..25 mA", "%s does not say what the current stays within", shown(e))
		return
	}
	c.notNegative(p, e)
}

func words[T ~string](of []T) []string {
	out := make([]string, len(of))
	for i, w := range of {
		out[i] = string(w)
	}
	return out
}

// supply checks what a rail hangs on.
func (c *checker) supply(p path, b *Board, r *Rail) {
	f := r.From
	var measured []string
	var parent *Rail
	for _, x := range b.Rails {
		if x.Name == f.Rail {
			parent = x
		}
		if len(x.Taps) > 0 && x != r {
			measured = append(measured, x.Name)
		}
	}
	switch {
	case parent == nil:
		c.fault(p.with("rail"), Accepting(f.Rail, measured), "%s has no rail called %q", b.Name, f.Rail)
	case parent == r:
		c.fault(p.with("rail"), Accepting("", measured), "the rail hangs on itself")
	case len(parent.Taps) == 0:
		c.fault(p.with("rail"), Accepting("", measured), "%s was not opened, so nothing is counted twice", f.Rail)
	}
	if !slices.Contains(Throughs, f.Through) {
		c.fault(p.with("through"), "wire, linear regulator, converter", "nothing says through what it hangs on %s", f.Rail)
	}
	q := p.with("efficiency")
	switch e := f.Efficiency; {
	case e == nil && f.Through == ThroughConverter:
		c.fault(q, "82..92 %", "a converter's efficiency is missing")
	case e == nil:
	case f.Through != ThroughConverter:
		c.fault(q, "", "only a converter has an efficiency")
	case c.entry(q, e, quantity.None):
		if slices.Min(e.Values) <= 0 || slices.Max(e.Values) > 1 {
			c.fault(q, "above 0 and up to 100 %", "an efficiency of %s", shown(e))
		}
	}
	if e := f.Own; e != nil {
		q := p.with("own current")
		if f.Through != ThroughLinear {
			c.fault(q, "", "only a linear regulator has a current of its own")
		} else if c.entry(q, e, quantity.Ampere) {
			c.notNegative(q, e)
		}
	}
}

// circles reports rails that hang on one another in a circle, once for each.
func (c *checker) circles(p path, b *Board) {
	done := make(map[*Rail]bool)
	for _, r := range b.Rails {
		walked := make(map[*Rail]bool)
		var names []string
		for x := r; x != nil && !done[x]; {
			if walked[x] {
				if x == r && len(names) > 1 { // one that hangs on itself was reported
					c.fault(p.with("rails", r.Name, "hangs on"), "", "%s hang on one another in a circle", strings.Join(names, ", "))
				}
				break
			}
			walked[x] = true
			names = append(names, x.Name)
			if x.From == nil {
				break
			}
			x = b.measuredRail(x.From.Rail)
		}
		if walked[r] {
			done[r] = true
		}
	}
}

// measuredRail returns a rail by name, never an input.
func (b *Board) measuredRail(name string) *Rail {
	for _, r := range b.Rails {
		if r.Name == name {
			return r
		}
	}
	return nil
}
