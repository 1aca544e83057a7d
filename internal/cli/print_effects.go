package cli

import (
	"fmt"
	"io"
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
		if !e.Problem.IsZero() {
			fmt.Fprint(w, wrap("  ", e.Problem.String(), textWidth))
			printSteps(w, b)
			continue
		}
		tb := newTable("factor", ">power", "carried by")
		tb.add(e.BaseName().String(), figure(e.Base.Power, quantity.Watt), string(e.Base.Carriers()))
		for _, x := range e.Terms {
			tb.add(x.Name().String(), figure(x.Power, quantity.Watt), string(x.Carriers()))
		}
		tb.print(w)
		for _, s := range e.Untold {
			fmt.Fprint(w, wrap("  ", s.String(), textWidth))
		}
		fmt.Fprint(w, wrap("  ", strings.TrimSpace(e.ShareText().String()+" "+e.Consistency().String()), textWidth))
		printSteps(w, b)
	}
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
	fmt.Fprint(w, wrap("  ", b.StepsText().String(), textWidth))
}

// signed prints a difference with its sign, plus included.
func signed(f tally.Figure) string {
	text := figure(f, quantity.Watt)
	if f.Estimate > 0 {
		return "+" + text
	}
	return text
}
