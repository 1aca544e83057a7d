package report

import (
	"fmt"
	"math"
	"slices"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
)

// How many inputs a figure's list names; the rest are added up.
const (
	ofRail       = 4
	totalShares  = 6
	budgetShares = 8
)

// share is one line of a budget.
type share struct {
	Name, Percent string
	U             string // its own standard uncertainty, in watts
	Bar           string // width of its bar, "34.2%"
	Against       bool   // the part is negative: it makes the whole smaller
}

// shares are the largest lines of a budget, and what the others come to.
type shares struct {
	Rows []share
	Rest string
	// Against tells that one of the parts is negative.
	Against bool
}

// topShares lists the n largest of the shares; more says how many others there
// are and what they come to.
func (t tongue) topShares(all []gum.Share, n int, more func(int, string) phrase.Phrase) *shares {
	out := &shares{}
	rest := 0.0
	for i, s := range all {
		if i < n && s.Fraction != 0 {
			out.Rows = append(out.Rows, t.shareOf(s.Name, s.Fraction, s.U))
			out.Against = out.Against || s.Fraction < 0
			continue
		}
		rest += s.Fraction
	}
	if left := len(all) - len(out.Rows); left > 0 && len(out.Rows) > 0 && more != nil {
		out.Rest = t.tell(more(left, t.percent(rest)))
	}
	return out
}

func (t tongue) shareOf(name string, fraction, u float64) share {
	return share{
		Name: t.prose(name), Percent: t.percent(fraction), U: t.amount(u, quantity.Watt, 2),
		Against: fraction < 0,
		Bar:     fmt.Sprintf("%.1f%%", 100*math.Min(1, math.Abs(fraction))),
	}
}

// percent sets a part of a variance; a part that rounds to nothing is said to
// be below what is shown.
func (t tongue) percent(fraction float64) string {
	switch x := 100 * fraction; {
	case x == 0:
		return t.firm("0 %")
	case math.Abs(x) < 0.05:
		return t.firm("< 0.1 %")
	case math.Abs(x) < 9.95:
		return t.firm(fmt.Sprintf("%.1f %%", x))
	default:
		return t.firm(fmt.Sprintf("%.0f %%", x))
	}
}

func moreCauses(n int, part string) phrase.Phrase {
	return phrase.Count(n, "One more cause: %s.", "%s more causes: %s together.", part).Capital()
}

func moreInstruments(n int, part string) phrase.Phrase {
	return phrase.Count(n, "One more instrument: %s.", "%s more instruments: %s together.", part).Capital()
}

func moreInputs(n int, part string) phrase.Phrase {
	return phrase.Count(n, "One more input: %s.", "%s more inputs: %s together.", part).Capital()
}

// causes names the causes of a budget in the page's language.
func (t tongue) causes(list []gum.Share) []gum.Share {
	out := slices.Clone(list)
	for i := range out {
		out[i].Name = word(t, out[i].Name)
	}
	return out
}
