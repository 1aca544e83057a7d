package study

import (
	"slices"
	"strconv"

	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
)

// claims checks that each claim is about something known and has a limit.
func (c *checker) claims() {
	if r := c.study.Rule; r != nil {
		c.rule(path{"decision rule"}, *r)
	}
	for i, x := range c.study.Claims {
		p := path{"claims", strconv.Itoa(i + 1)}
		switch x.Kind {
		case ClaimTotal, ClaimThroughput:
			c.stateOn(p.with(string(x.Kind)), x.First)
		case ClaimTemperature:
			c.stateOn(p.with("temperature"), x.First)
			if x.Point == "" {
				c.fault(p, "point: case", "nothing says which temperature is meant")
			}
		case ClaimPredicted:
			c.predicted(p, x)
		case ClaimDifference, ClaimRatio:
			q := p.with(string(x.Kind))
			c.stateOn(q.with("first"), x.First)
			c.stateOn(q.with("against"), x.Against)
			if x.First == x.Against {
				c.fault(q, "two states, or two boards", "%s is compared with itself", x.First)
			}
		case ClaimEffect, ClaimShare:
			c.effect(p.with(string(x.Kind)), x)
		default:
			c.fault(p, "total, difference, ratio, effect, share, throughput, temperature or predicted", "the claim is about nothing")
			continue
		}
		if x.Point != "" && x.Kind != ClaimTemperature && x.Kind != ClaimPredicted {
			c.fault(p.with("point"), "", "only a claim about a temperature has a point")
		}
		c.limits(p, x)
		if x.Rule != nil {
			c.rule(p.with("rule"), *x.Rule)
		}
	}
}

// predicted checks for what a temperature is predicted; the formulas' own ranges
// hold, so that what is accepted here can be computed.
func (c *checker) predicted(p path, x *Claim) {
	if x.Point == "" {
		c.fault(p, "point: case", "nothing says which temperature is meant")
	}
	p = p.with(string(ClaimPredicted))
	if c.study.Board(x.Predicted.Board) == nil {
		c.fault(p.with("board"), Accepting(x.Predicted.Board, c.boardNames()), "no board called %q", x.Predicted.Board)
	}
	c.amount(p.with("power"), x.Predicted.Power, quantity.Watt)
	if e := x.Predicted.Room; e != nil {
		c.celsius(p.with("room"), e, coldRoom, hotRoom)
	}
	if e := x.Predicted.Altitude; e != nil && c.entry(p.with("altitude"), e, quantity.Metre) {
		c.problems(p, heat.CheckAltitude(e.Value()))
	}
}

// effect checks the factor and the levels of an effect.
func (c *checker) effect(p path, x *Claim) {
	e := x.Effect
	if c.study.Board(e.Board) == nil {
		c.fault(p.with("board"), Accepting(e.Board, c.boardNames()), "no board called %q", e.Board)
	}
	if e.Factor == "" {
		if x.Kind == ClaimEffect {
			c.fault(p, "factor: and its name", "the factor is missing")
		} else if e.Level != "" || e.From != "" || len(e.With) > 0 {
			c.fault(p, "factor: and its name", "a level without a factor")
		}
		return
	}
	f := c.factor(e.Factor)
	if f == nil {
		var known []string
		for _, f := range c.study.Factors {
			known = append(known, f.Name)
		}
		c.fault(p.with("factor"), Accepting(e.Factor, known), "no factor called %q", e.Factor)
		return
	}
	if !slices.Contains(f.Levels, e.Level) {
		c.fault(p.with("level"), Accepting(e.Level, f.Levels), "%s has no level %q", f.Name, e.Level)
	}
	from := e.From
	if from == "" && len(f.Levels) > 0 {
		from = f.Levels[0]
	} else if !slices.Contains(f.Levels, from) {
		c.fault(p.with("from"), Accepting(from, f.Levels), "%s has no level %q", f.Name, from)
	}
	if from == e.Level {
		c.fault(p.with("from"), "another level", "%s %s is counted from itself", f.Name, e.Level)
	}
	for i, l := range e.With {
		q := p.with("with").with(l.Factor)
		other := c.factor(l.Factor)
		switch {
		case other == nil:
			var known []string
			for _, f := range c.study.Factors {
				known = append(known, f.Name)
			}
			c.fault(q, Accepting(l.Factor, known), "no factor called %q", l.Factor)
		case l.Factor == e.Factor:
			c.fault(q, "another factor", "the level of %s stands under level", l.Factor)
		case slices.ContainsFunc(e.With[:i], func(x Level) bool { return x.Factor == l.Factor }):
			c.fault(q, "one level", "%s comes twice", l.Factor)
		case !slices.Contains(other.Levels, l.Value):
			c.fault(q, Accepting(l.Value, other.Levels), "%s has no level %q", l.Factor, l.Value)
		}
	}
}

// limits checks that a claim has one kind of limit, in its unit.
func (c *checker) limits(p path, x *Claim) {
	unit, given := x.Kind.Unit(), 0
	for _, l := range []struct {
		key string
		e   *quantity.Entry
	}{{"above", x.Above}, {"below", x.Below}, {"within", x.Within}} {
		if l.e == nil {
			continue
		}
		given++
		q := p.with(l.key)
		if !c.entry(q, l.e, unit) {
			continue
		}
		if l.key != "within" {
			c.single(q, l.e)
			if l.e.Tol != nil {
				c.fault(q, "a value without ±", "%s has a tolerance, and a limit has none", shown(l.e))
			}
			continue
		}
		if !(l.e.Kind == quantity.Band && l.e.Values[0] < l.e.Values[1]) && !(l.e.Kind == quantity.Single && l.e.Tol != nil && l.e.Tol.Limits() && l.e.Tol.Minus+l.e.Tol.Plus > 0) {
			c.fault(q, "a band, as in 5..6 W, or 5.5 ± 0.5 W", "%s has no two ends", shown(l.e))
		}
	}
	if given != 1 {
		c.fault(p, "one of above, below and within", "the claim has %d limits", given)
	}
}

// maxGuard is the widest guard band that is accepted, in expanded
// uncertainties.
const maxGuard = 10

func (c *checker) rule(p path, r Rule) {
	const forms = "none, guard band 1 U, or risk 5 %"
	switch r.Kind {
	case RuleNone:
		if r.Guard != 0 || r.Risk != 0 {
			c.fault(p, forms, "no rule has a guard band or a risk")
		}
	case RuleGuard:
		if !(r.Guard > 0 && r.Guard <= maxGuard) {
			c.fault(p, "more than 0 U, up to 10 U", "a guard band of %g U", r.Guard)
		}
	case RuleRisk:
		if !(r.Risk > 0 && r.Risk < 0.5) {
			c.fault(p, "more than 0 %, less than 50 %", "a risk of %s", percent(r.Risk))
		}
	default:
		c.fault(p, forms, "no decision rule called %q", r.Kind)
	}
}

// carried checks what is known of the effect of a sitting from earlier studies.
func (c *checker) carried() {
	x := c.study.SittingEffect
	if x == nil {
		return
	}
	p := path{"sitting effect"}
	q := p.with("sd")
	if c.entry(q, &x.SD, quantity.Watt) && c.single(q, &x.SD) {
		c.notNegative(q, &x.SD)
	}
	if !(x.DOF >= 1 && x.DOF <= 1e6) {
		c.fault(p.with("degrees of freedom"), "1 or more", "%g degrees of freedom", x.DOF)
	}
}
