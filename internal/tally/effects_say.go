package tally

import (
	"fmt"
	"math"
	"strings"

	"railtally/internal/quantity"
)

// BaseName says what the base is: being on, or, where the board was never
// measured with every factor at its first level, with which levels.
func (e *Effects) BaseName() string {
	if e.Plain {
		return "being on"
	}
	var levels []string
	for _, l := range e.Levels {
		levels = append(levels, l.Factor+" "+l.Value)
	}
	return "being on with " + quantity.Join(levels)
}

// Name says which effect it is: "drives 4 instead of 0", with load none where
// the two act together; or "drives 4 with load copy, beyond each alone".
func (e Effect) Name() string {
	at := ""
	for i, l := range e.At {
		at += []string{", with ", " and "}[min(i, 1)] + l.Factor + " " + l.Value
	}
	if len(e.Together) > 0 {
		return e.Short() + ", beyond each alone" + at
	}
	return fmt.Sprintf("%s %s instead of %s%s", e.Factor, e.Level, e.From, at)
}

// Short names an effect where room is scarce: "drives 4", "drives 4 with load
// copy"; "" for the base.
func (e Effect) Short() string {
	if e.Factor != "" {
		return e.Factor + " " + e.Level
	}
	var parts []string
	for _, c := range e.Together {
		parts = append(parts, c.Factor+" "+c.Level)
	}
	return strings.Join(parts, " with ")
}

// sum says what the effects add up as: plain, or with what factors do together.
func (e *Effects) sum() string {
	if len(e.Together) == 0 {
		return "a plain sum of these effects"
	}
	return "the sum of these effects"
}

// Carriers names the rails that carry most of an effect: those with a resolved
// part of at least a tenth of it.
func (e Effect) Carriers() string {
	var out []string
	for _, r := range e.Rails {
		if math.Abs(r.Power.Estimate) < 0.1*math.Abs(e.Power.Estimate) || Judge(r.Power, 0) != Resolved {
			continue
		}
		out = append(out, fmt.Sprintf("%s %s", r.Rail, watts(r.Power)))
	}
	return strings.Join(out, ", ")
}

// ShareText says what the base makes of the highest total; "" where there is
// none.
func (e *Effects) ShareText() string {
	if !e.Share.Value.Valid() {
		return ""
	}
	return fmt.Sprintf("%s makes %s of the total in %s.", capital(e.BaseName()), percents(e.Share), e.Fullest.State.Name)
}

// Consistency says whether the totals are a sum of effects.
func (e *Effects) Consistency() string {
	switch {
	case math.IsNaN(e.P):
		return "There are as many effects as totals, so nothing tests whether they simply add up."
	case e.LacksFit() && len(e.Misfits) > 0:
		m := e.Misfits[0]
		return fmt.Sprintf("The totals are not %s (p = %.2g, Birge ratio %.1f); %s in %s lies %s off it. Factors may act together there that the study does not name as interactions.",
			e.sum(), e.P, e.Birge, m.On.State, m.Sitting.Name, quantity.Format(m.Residual, quantity.Watt, 2))
	case e.LacksFit():
		return fmt.Sprintf("The totals are not %s (p = %.2g, Birge ratio %.1f).", e.sum(), e.P, e.Birge)
	}
	return fmt.Sprintf("The totals agree with %s (p = %.2g, Birge ratio %.1f).", e.sum(), e.P, e.Birge)
}
