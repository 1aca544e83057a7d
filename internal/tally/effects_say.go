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

// Name says which effect of a factor it is: "drives 4 instead of 0".
func (e Effect) Name() string {
	return fmt.Sprintf("%s %s instead of %s", e.Factor, e.Level, e.From)
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
		return fmt.Sprintf("The totals are not a plain sum of these effects (p = %.2g, Birge ratio %.1f); %s in %s lies %s off it. Two factors may act together there.",
			e.P, e.Birge, m.On.State, m.Sitting.Name, quantity.Format(m.Residual, quantity.Watt, 2))
	case e.LacksFit():
		return fmt.Sprintf("The totals are not a plain sum of these effects (p = %.2g, Birge ratio %.1f).", e.P, e.Birge)
	}
	return fmt.Sprintf("The totals agree with a plain sum of these effects (p = %.2g, Birge ratio %.1f).", e.P, e.Birge)
}
