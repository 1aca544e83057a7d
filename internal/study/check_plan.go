package study

import (
	"slices"
	"strconv"

	"railtally/internal/quantity"
)

// plan checks aims, what is expected, openings and proofs.
func (c *checker) plan() {
	for i, a := range c.study.Aims {
		c.aim(path{"aims", strconv.Itoa(i + 1)}, a)
	}
	for _, e := range c.study.Expected {
		c.expected(path{"expected", e.Board, e.Rail}, e)
	}
	for i, k := range c.study.Proofs {
		c.knownLoad(path{"proofs", strconv.Itoa(i + 1)}, k)
	}
	for _, in := range c.study.Instruments {
		if in.Jaw == nil {
			continue
		}
		p := path{"instruments", in.Name, "jaw"}
		if in.Kind != Clamp {
			c.fault(p, "", "only a clamp has a jaw")
		} else if c.entry(p, in.Jaw, quantity.Metre) {
			c.positive(p, in.Jaw)
		}
	}
	for _, b := range c.study.Boards {
		for _, r := range slices.Concat(b.Rails, b.Inputs) {
			p := path{"boards", b.Name, "rails", r.Name}
			if slices.Contains(b.Inputs, r) {
				p[2] = "inputs"
			}
			c.opening(p, r)
			c.checks(p, b, r)
		}
	}
}

func (c *checker) aim(p path, a *Aim) {
	switch a.Kind {
	case ClaimTotal:
		c.stateOn(p.with("total"), a.First)
	case ClaimDifference:
		q := p.with("difference")
		c.stateOn(q.with("first"), a.First)
		c.stateOn(q.with("against"), a.Against)
		if a.First == a.Against {
			c.fault(q, "two states, or two boards", "%s is compared with itself", a.First)
		}
	default:
		c.fault(p, "total or difference", "the aim is about nothing")
		return
	}
	q := p.with("to")
	unit := quantity.Watt
	if a.Kind == ClaimTotal && a.To.Unit == quantity.None {
		unit = quantity.None
	}
	if c.entry(q, &a.To, unit) && c.single(q, &a.To) {
		c.positive(q, &a.To)
		if a.To.Tol != nil {
			c.fault(q, "a value without ±", "%s has a tolerance, and an aim has none", shown(&a.To))
		}
	}
}

// expected checks one line of what a rail is expected to carry.
func (c *checker) expected(p path, e *Expected) {
	b := c.study.Board(e.Board)
	if b == nil {
		c.fault(path{"expected", e.Board}, Accepting(e.Board, c.boardNames()), "no board called %q", e.Board)
		return
	}
	r := b.Rail(e.Rail)
	if r == nil {
		var known []string
		for _, r := range b.Rails {
			known = append(known, r.Name)
		}
		c.fault(p, Accepting(e.Rail, known), "%s has no rail called %q", e.Board, e.Rail)
		return
	}
	if e.State != "" {
		p = p.with(e.State)
		if c.study.State(e.State) == nil {
			c.fault(p, Accepting(e.State, c.stateNames()), "no state called %q", e.State)
		}
	}
	for _, o := range c.study.Expected {
		if o == e {
			break
		}
		if o.Board == e.Board && o.Rail == e.Rail && o.State == e.State {
			c.fault(p, "one line for each", "%s is expected twice", e.Rail)
		}
	}
	if c.entry(p, &e.Current, quantity.Ampere) {
		c.notNegative(p, &e.Current)
		if e.Current.Kind == quantity.Repeats {
			c.fault(p, "one value, or a band", "%s is no expectation", shown(&e.Current))
		}
	}
	if s := e.Scatter; s != nil && c.entry(p.with("scatter"), s, quantity.Ampere) && c.single(p.with("scatter"), s) {
		c.notNegative(p.with("scatter"), s)
	}
}

// opening checks what is said of the place where a rail is opened.
func (c *checker) opening(p path, r *Rail) {
	o := r.Opening
	if o == nil {
		return
	}
	p = p.with("opening")
	word := func(key, given string, of []string) {
		if given != "" && !slices.Contains(of, given) {
			c.fault(p.with(key), Accepting(given, of), "%q is not known here", given)
		}
	}
	word("side", string(o.Side), words(Sides))
	word("feedback", string(o.Feedback), words(FeedbackPoints))
	word("winding sensing", string(o.Sensing), words(WindingSenses))
	word("load", string(o.Load), words(Loads))
	if o.Side != "" && r.Feed != InductorLeg {
		c.fault(p.with("side"), "feed: inductor leg", "only an inductor has a capacitor side and a switch side")
	}
	if o.Phases < 0 || o.Phases > 32 {
		c.fault(p.with("phases"), "1 to 32", "%d phases", o.Phases)
	}
	for _, x := range []struct {
		key  string
		e    *quantity.Entry
		unit quantity.Unit
	}{{"winding", o.Winding, quantity.Ohm}, {"inductor", o.Inductor, quantity.Henry}, {"step", o.Step, quantity.Ampere},
		{"step time", o.StepTime, quantity.Second}, {"capacitor", o.Capacitor, quantity.Farad}} {
		if x.e != nil && c.entry(p.with(x.key), x.e, x.unit) {
			c.positive(p.with(x.key), x.e)
		}
	}
	if (o.Step == nil) != (o.StepTime == nil) {
		c.fault(p.with("step"), "step: 2 A and step time: 1 µs", "a step and its time go together")
	}
}

// checks tests that a rail which checks another has one to check.
func (c *checker) checks(p path, b *Board, r *Rail) {
	if r.Checks == "" {
		return
	}
	p = p.with("checks")
	o := b.Rail(r.Checks)
	var known []string
	for _, x := range b.Rails {
		if x != r && x.Checks == "" && len(x.Taps) > 0 {
			known = append(known, x.Name)
		}
	}
	switch {
	case o == nil:
		c.fault(p, Accepting(r.Checks, known), "%s has no rail called %q", b.Name, r.Checks)
	case o == r || o.Checks != "" || len(o.Taps) == 0:
		c.fault(p, Accepting("", known), "%s cannot be checked by %s", o.Name, r.Name)
	case len(r.Taps) == 0:
		c.fault(p, "tap: and how it is sensed", "a rail that was not opened checks nothing")
	case !r.Aside:
		c.fault(p, "enters the chip: no", "the same current would be counted twice")
	}
}

func (c *checker) knownLoad(p path, k *KnownLoad) {
	b := c.study.Board(k.Board)
	switch {
	case b == nil:
		c.fault(p.with("board"), Accepting(k.Board, c.boardNames()), "no board called %q", k.Board)
	case b.Rail(k.Rail) == nil:
		c.fault(p.with("rail"), "a rail of the board", "%s has no rail called %q", k.Board, k.Rail)
	}
	for _, x := range []struct{ key, state string }{{"with", k.With}, {"without", k.Without}} {
		if c.study.State(x.state) == nil {
			c.fault(p.with(x.key), Accepting(x.state, c.stateNames()), "no state called %q", x.state)
		}
	}
	if k.With == k.Without {
		c.fault(p, "two states", "the load is on in both states")
	}
	q := p.with("resistance")
	if c.entry(q, &k.Resistance, quantity.Ohm) && c.positive(q, &k.Resistance) && k.Resistance.Tol == nil {
		c.fault(q, "10 Ω ±1 %", "the load's resistance has no tolerance")
	}
}
