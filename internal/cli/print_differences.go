package cli

import (
	"fmt"
	"io"
	"strings"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// printDifferences prints what one state draws more than another, with the
// verdict on each alone and on all together.
func printDifferences(w io.Writer, t *tally.Tally) {
	if len(t.Differences) == 0 {
		return
	}
	heading(w, "Differences")
	tb := newTable("first", "against", ">difference", ">ratio", "verdict", ">p", ">together", ">seen from", "")
	for _, d := range t.Differences {
		ratio, note := "", ""
		if d.Ratio.Value.Valid() {
			ratio = figure(d.Ratio, quantity.None)
		}
		if len(d.Within) > 0 {
			note = "within " + quantity.Join(d.Within)
		}
		tb.add(d.First.On().String(), d.Second.On().String(), figure(d.Difference, quantity.Watt), ratio, d.VerdictText().String(),
			probability(d.P), probability(d.FamilyP), quantity.Format(d.Detectable, quantity.Watt, 2), note)
	}
	tb.print(w)
	fmt.Fprint(w, wrap("  ", "p: probability of so large a difference were there none, alone and with all of these judged together (Holm). seen from: the least difference that would have been resolved four times in five.", textWidth))
	for _, d := range t.Differences {
		if d.Verdict == tally.Resolved && !d.ResolvedTogether(t.Level) {
			fmt.Fprint(w, wrap("  ", fmt.Sprintf("%s against %s is resolved alone, but not when all of these are judged together.", d.First.On(), d.Second.On()), textWidth))
		}
		if len(d.Advice) > 0 {
			fmt.Fprint(w, wrap("  ", fmt.Sprintf("To resolve %s against %s: %s", d.First.On(), d.Second.On(), strings.Join(phrase.Strings(d.Advice), " ")), textWidth))
		}
	}
}

// probability prints a p-value: two digits, and no more zeros than say something.
func probability(p float64) string {
	if p < 0.0001 {
		return "<0.0001"
	}
	return fmt.Sprintf("%.2g", p)
}

// printUpstream prints how inputs and rails agree.
func printUpstream(w io.Writer, t *tally.Tally) {
	if len(t.Upstream) == 0 {
		return
	}
	heading(w, "Before the converters")
	for _, u := range t.Upstream {
		fmt.Fprint(w, wrap("  ", u.Sentence().String(), textWidth))
	}
	for _, c := range t.Changes {
		text := fmt.Sprintf("From %s to %s (%s) the input rises by %s and the rails by %s", c.From.On.State, c.To.On, c.To.Sitting.Name,
			figure(c.In, quantity.Watt), figure(c.Out, quantity.Watt))
		if c.Ratio.Value.Valid() {
			text += fmt.Sprintf(", %s %% of it", quantity.FormatU(100*c.Ratio.Estimate, 100*c.Ratio.Expanded, quantity.None))
		}
		fmt.Fprint(w, wrap("  ", text+".", textWidth))
	}
}
