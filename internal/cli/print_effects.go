package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// printEffects prints what each factor adds on each board, from all states
// together, and the stairs from the barest state to the fullest.
func printEffects(w io.Writer, t *tally.Tally) {
	for _, b := range t.Boards {
		e := b.Effects
		if e == nil {
			continue
		}
		heading(w, "What each factor adds on %s, from all its states together", b.Name)
		if e.Problem != "" {
			fmt.Fprint(w, wrap("  ", e.Problem, textWidth))
			continue
		}
		tb := newTable("factor", ">power", "carried by")
		tb.add("being on, all else at its first level", figure(e.Base.Power, quantity.Watt), carriers(e.Base))
		for _, x := range e.Terms {
			tb.add(fmt.Sprintf("%s %s instead of %s", x.Factor, x.Level, x.From), figure(x.Power, quantity.Watt), carriers(x))
		}
		tb.print(w)
		if e.Share.Value.Valid() {
			fmt.Fprint(w, wrap("  ", fmt.Sprintf("Being on makes %s %% of the total in %s.",
				quantity.FormatU(100*e.Share.Estimate, 100*e.Share.Expanded, quantity.None), e.Fullest.State.Name), textWidth))
		}
		fmt.Fprint(w, wrap("  ", consistency(e), textWidth))
		printSteps(w, b)
	}
}

// carriers names the rails that carry most of an effect: those with a resolved
// part of at least a tenth.
func carriers(e tally.Effect) string {
	var out []string
	for _, r := range e.Rails {
		if math.Abs(r.Power.Estimate) < 0.1*math.Abs(e.Power.Estimate) || tally.Judge(r.Power, 0) != tally.Resolved {
			continue
		}
		out = append(out, fmt.Sprintf("%s %s", r.Rail, figure(r.Power, quantity.Watt)))
	}
	return strings.Join(out, ", ")
}

// consistency says whether the totals are a sum of effects.
func consistency(e *tally.Effects) string {
	switch {
	case math.IsNaN(e.P):
		return "There are as many effects as totals, so nothing tests whether they simply add up."
	case e.LacksFit():
		m := e.Misfits[0]
		return fmt.Sprintf("The totals are not a plain sum of these effects (p = %.2g, Birge ratio %.1f); %s in %s lies %s off it. Two factors may act together there.",
			e.P, e.Birge, m.On.State, m.Sitting.Name, quantity.Format(m.Residual, quantity.Watt, 2))
	}
	return fmt.Sprintf("The totals agree with a plain sum of these effects (p = %.2g, Birge ratio %.1f).", e.P, e.Birge)
}

func printSteps(w io.Writer, b *tally.Board) {
	steps := b.Steps
	if len(steps) == 0 {
		return
	}
	heading(w, "Step by step on %s", b.Name)
	first := steps[0].Second
	tb := newTable("state", "changed", ">step", ">power")
	tb.add(first.State.Name, "", "", figure(first.Total, quantity.Watt))
	for _, s := range steps {
		tb.add(s.First.State.Name, fmt.Sprintf("%s %s to %s", s.Factor, s.From, s.To),
			signed(s.Difference.Difference), figure(s.First.Total, quantity.Watt))
	}
	tb.print(w)
}

// signed prints a difference with its sign, plus included.
func signed(f tally.Figure) string {
	text := figure(f, quantity.Watt)
	if f.Estimate > 0 {
		return "+" + text
	}
	return text
}
