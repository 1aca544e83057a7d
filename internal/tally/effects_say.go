package tally

import (
	"math"
	"strings"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// BaseName says what the base is: being on, or, where the board was never
// measured with every factor at its first level, with which levels.
func (e *Effects) BaseName() phrase.Phrase {
	if e.Plain {
		return phrase.New("being on")
	}
	var levels []string
	for _, l := range e.Levels {
		levels = append(levels, l.Factor+" "+l.Value)
	}
	return phrase.New("being on with %s", levels)
}

// Name says which effect it is: "drives 4 instead of 0", with load none where
// the two act together; or "drives 4 with load copy, beyond each alone".
func (e Effect) Name() phrase.Phrase {
	together := len(e.Together) > 0
	switch {
	case together && len(e.At) > 0:
		return phrase.New("%s, beyond each alone, with %s", e.Short(), levels(e.At))
	case together:
		return phrase.New("%s, beyond each alone", e.Short())
	case len(e.At) > 0:
		return phrase.New("%s %s instead of %s, with %s", e.Factor, e.Level, e.From, levels(e.At))
	}
	return phrase.New("%s %s instead of %s", e.Factor, e.Level, e.From)
}

// levels names levels for a list.
func levels(ls []study.Level) []string {
	var out []string
	for _, l := range ls {
		out = append(out, l.Factor+" "+l.Value)
	}
	return out
}

// Short names an effect where room is scarce: "drives 4", "drives 4 with load
// copy"; nothing for the base.
func (e Effect) Short() phrase.Phrase {
	if e.Factor != "" {
		return phrase.Name(e.Factor + " " + e.Level)
	}
	out := phrase.Phrase{}
	for i, c := range e.Together {
		part := phrase.Name(c.Factor + " " + c.Level)
		if i == 0 {
			out = part
			continue
		}
		out = phrase.New("%s with %s", out, part)
	}
	return out
}

// Carriers names the rails that carry most of an effect: those with a resolved
// part of at least a tenth of it.
func (e Effect) Carriers() phrase.Number {
	var out []string
	for _, r := range e.Rails {
		if math.Abs(r.Power.Estimate) < 0.1*math.Abs(e.Power.Estimate) || Judge(r.Power, 0) != Resolved {
			continue
		}
		out = append(out, r.Rail+" "+string(watts(r.Power)))
	}
	return phrase.Number(strings.Join(out, ", "))
}

// ShareText says what the base makes of the highest total; "" where there is
// none.
func (e *Effects) ShareText() phrase.Phrase {
	if !e.Share.Value.Valid() {
		return phrase.Phrase{}
	}
	return phrase.New("%s makes %s of the total in %s.", e.BaseName().Capital(), percents(e.Share), e.Fullest.State.Name)
}

// Consistency says whether the totals are a sum of effects.
func (e *Effects) Consistency() phrase.Phrase {
	switch {
	case math.IsNaN(e.P):
		return phrase.New("There are as many effects as totals, so nothing tests whether they simply add up.")
	case e.LacksFit() && len(e.Misfits) > 0:
		m := e.Misfits[0]
		off := phrase.Number(quantity.Format(m.Residual, quantity.Watt, 2))
		if len(e.Together) > 0 {
			return phrase.New("The totals are not the sum of these effects (p = %.2g, Birge ratio %.1f); %s in %s lies %s off it. Factors may act together there that the study does not name as interactions.",
				e.P, e.Birge, m.On.State, m.Sitting.Name, off)
		}
		return phrase.New("The totals are not a plain sum of these effects (p = %.2g, Birge ratio %.1f); %s in %s lies %s off it. Factors may act together there that the study does not name as interactions.",
			e.P, e.Birge, m.On.State, m.Sitting.Name, off)
	case e.LacksFit() && len(e.Together) > 0:
		return phrase.New("The totals are not the sum of these effects (p = %.2g, Birge ratio %.1f).", e.P, e.Birge)
	case e.LacksFit():
		return phrase.New("The totals are not a plain sum of these effects (p = %.2g, Birge ratio %.1f).", e.P, e.Birge)
	case len(e.Together) > 0:
		return phrase.New("The totals agree with the sum of these effects (p = %.2g, Birge ratio %.1f).", e.P, e.Birge)
	}
	return phrase.New("The totals agree with a plain sum of these effects (p = %.2g, Birge ratio %.1f).", e.P, e.Birge)
}
