package chart

import (
	"strings"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// words says what a chart says, in the language of its options.
type words struct{ *phrase.Language }

// written is a figure in words, for tips and summaries.
func (w words) written(f tally.Figure, unit quantity.Unit) string {
	return w.number(quantity.FormatU(f.Estimate, f.Expanded, unit))
}

// number sets a number or quantity with the language's decimal sign, and a
// leading hyphen as the minus sign that it is.
func (w words) number(text string) string { return minus(w.Number(text)) }

// soft is the probability of the intervals that a chart shows, on one line.
func (w words) soft(level float64) phrase.Number {
	return phrase.Number(strings.ReplaceAll(tally.Percent(level), " ", phrase.NoBreak))
}

// noTotal says why a state has none.
func (w words) noTotal(s *tally.State) string {
	return w.Text("no total, %s not read", s.Missing)
}
