package report

import (
	"fmt"
	"math"

	"railtally/gum"
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

// topShares lists the n largest of the shares, each of them one of what the
// noun says.
func topShares(all []gum.Share, n int, noun string) *shares {
	out := &shares{}
	rest := 0.0
	for i, s := range all {
		if i < n && s.Fraction != 0 {
			out.Rows = append(out.Rows, shareOf(s.Name, s.Fraction, s.U))
			out.Against = out.Against || s.Fraction < 0
			continue
		}
		rest += s.Fraction
	}
	if left := len(all) - len(out.Rows); left > 0 && len(out.Rows) > 0 {
		if left > 1 {
			noun += "s"
		}
		out.Rest = fmt.Sprintf("%d more %s: %s together.", left, noun, percent(rest))
	}
	return out
}

func shareOf(name string, fraction, u float64) share {
	return share{
		Name: prose(name), Percent: percent(fraction), U: amount(u, quantity.Watt, 2),
		Against: fraction < 0,
		Bar:     fmt.Sprintf("%.1f%%", 100*math.Min(1, math.Abs(fraction))),
	}
}

// percent sets a part of a variance; a part that rounds to nothing is said to
// be below what is shown.
func percent(fraction float64) string {
	switch x := 100 * fraction; {
	case x == 0:
		return "0" + noBreak + "%"
	case math.Abs(x) < 0.05:
		return "<" + noBreak + "0.1" + noBreak + "%"
	case math.Abs(x) < 9.95:
		return minus(fmt.Sprintf("%.1f", x)) + noBreak + "%"
	default:
		return minus(fmt.Sprintf("%.0f", x)) + noBreak + "%"
	}
}
