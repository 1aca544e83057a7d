package plan

import (
	"fmt"
	"strings"
	"time"

	"railtally/gum"
	"railtally/internal/quantity"
)

// Sentence says what is expected of a target, and what to do about it.
func (c Counsel) Sentence() string {
	name := c.Target.Name()
	if !c.Possible() {
		return fmt.Sprintf("%s cannot be predicted: %s.", name, quantity.Join(c.Missing))
	}
	head := fmt.Sprintf("%s is expected to come out with ±%s", name, watts(c.Figure.Expanded))
	if c.Limit == 0 {
		return head + "; no aim is stated."
	}
	head += fmt.Sprintf(" against an aim of %s", c.Target.LimitText(c.Figure.Estimate))
	switch {
	case c.Reached():
		return head + ": the plan reaches it."
	case !c.Searched:
		return fmt.Sprintf("%s: too wide, limited by %s.", head, c.limits())
	case c.Reachable:
		var what []string
		for _, a := range c.Together {
			what = append(what, a.Text)
		}
		return fmt.Sprintf("%s: too wide, limited by %s. It would do to %s: ±%s.", head, c.limits(), quantity.Join(what), watts(c.reach()))
	}
	tail := "no choice on the shelf helps."
	if len(c.Together) > 0 {
		tail = fmt.Sprintf("with everything that helps the shelf reaches ±%s.", watts(c.reach()))
	}
	return fmt.Sprintf("%s: too wide, limited by %s; %s %s", head, c.limits(), tail, c.beyondText())
}

// Verdict says in a word or two whether the aim is reached.
func (c Counsel) Verdict() string {
	switch {
	case !c.Possible():
		return "not predicted"
	case c.Limit == 0:
		return ""
	case c.Reached():
		return "reached"
	case c.Reachable:
		return "missed, can be reached"
	}
	return "missed"
}

// reach is the half-width with all changes that help together.
func (c Counsel) reach() float64 {
	if n := len(c.Together); n > 0 {
		return c.Together[n-1].After
	}
	return c.Figure.Expanded
}

// beyondText says what class of instruments would reach the aim.
func (c Counsel) beyondText() string {
	if len(c.Beyond) == 0 {
		return ""
	}
	last := c.Beyond[len(c.Beyond)-1]
	if last.Reaches {
		return fmt.Sprintf("What would: %s, ±%s.", last.Name, watts(last.After))
	}
	return fmt.Sprintf("Nor do %s (±%s): what is left is no matter of instruments. Aim less high, or ask less of one figure.", last.Name, watts(last.After))
}

// limits names what makes most of a target's variance.
func (c Counsel) limits() string {
	what := leading(c.Causes)
	if len(c.Rails) > 0 && c.Rails[0].Fraction >= 0.5 {
		return fmt.Sprintf("%s, most of it on %s %s", what, c.Rails[0].Board, c.Rails[0].Rail)
	}
	return what
}

// leading names the largest causes: those of a fifth and more, at most three.
func leading(list []gum.Share) string {
	var out []string
	for _, s := range list {
		if s.Fraction < 0.2 && len(out) > 0 || len(out) == 3 {
			break
		}
		out = append(out, fmt.Sprintf("%s (%.0f %%)", s.Name, 100*s.Fraction))
	}
	return quantity.Join(out)
}

// Effect says what a change does: "0.21 → 0.12 W".
func (a Advice) Effect() string {
	p := quantity.Scale(quantity.Watt, a.Before)
	return p.Number(a.Before, 2) + " → " + p.Format(a.After, 2)
}

// Minutes writes a time as a bench clock is read: "5 min", "1 h 20 min".
func Minutes(d time.Duration) string {
	m := int(d.Round(time.Minute).Minutes())
	switch h := m / 60; {
	case m < 1:
		return "under 1 min"
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m%60 == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m%60)
	}
}

// OrderText writes an order of states for reading.
func (b *Board) OrderText() string { return strings.Join(b.Order, " → ") }
