package report

import (
	"regexp"
	"strings"
	"unicode"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

const noBreak = phrase.NoBreak

// tongue sets texts and figures in the page's language.
type tongue struct{ *phrase.Language }

// say sets a message, its quantities firm.
func (t tongue) say(message string, args ...any) string { return t.prose(t.Text(message, args...)) }

// tell sets a phrase, its quantities firm.
func (t tongue) tell(p phrase.Phrase) string { return t.prose(t.Say(p)) }

// each sets several phrases.
func (t tongue) each(list []phrase.Phrase) []string {
	var out []string
	for _, p := range list {
		out = append(out, t.tell(p))
	}
	return out
}

// word sets one of the record's own words.
func word[T ~string](t tongue, w T) string { return t.Say(phrase.Word(w)) }

// stated is a figure for running text: "6.68 ± 0.10 W" that no line breaks.
func (t tongue) stated(f tally.Figure, unit quantity.Unit) string {
	return t.firm(quantity.FormatU(f.Estimate, f.Expanded, unit))
}

// amount is a quantity without a tolerance of its own, such as a limit.
func (t tongue) amount(x float64, unit quantity.Unit, digits int) string {
	return t.firm(quantity.Format(x, unit, digits))
}

// percentage is a part of one: "2.5 %".
func (t tongue) percentage(x float64, digits int) string {
	return t.firm(quantity.FormatPercent(x, digits))
}

// firm sets a quantity in the language's numbers, on one line.
func (t tongue) firm(s string) string { return t.spaced(minus(t.Number(s))) }

// name keeps what somebody named on one line.
func name(s string) string { return strings.ReplaceAll(s, " ", noBreak) }

// spaced makes every space one at which no line breaks, and that between a
// number and its unit the language's own.
func (t tongue) spaced(s string) string {
	if t.Space() == noBreak {
		return strings.ReplaceAll(s, " ", noBreak)
	}
	var b strings.Builder
	runes := []rune(s)
	for i, r := range runes {
		switch {
		case r != ' ':
			b.WriteRune(r)
		case i > 0 && i+1 < len(runes) && unicode.IsDigit(runes[i-1]) && (unicode.IsLetter(runes[i+1]) || strings.ContainsRune("%°‰", runes[i+1])):
			b.WriteString(t.Space())
		default:
			b.WriteString(noBreak)
		}
	}
	return b.String()
}

var (
	beforeUnit = regexp.MustCompile(`(\d) ([kmµnMG]?(?:W|A|V|Ω|K|Hz|B/s|bit/s)|°C|%|mm²?|ppm|K/W)([^\pL]|$)`)
	aroundSign = regexp.MustCompile(` ([±×≤≥=]) ?`)
)

// prose makes the quantities in a sentence firm, and its minus signs minus
// signs.
func (t tongue) prose(s string) string {
	s = aroundSign.ReplaceAllStringFunc(s, func(m string) string { return strings.ReplaceAll(m, " ", noBreak) })
	return beforeUnit.ReplaceAllString(s, "${1}"+t.Space()+"${2}${3}")
}

// minus sets a negative number with the sign of that name.
func minus(s string) string {
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		return "−" + rest
	}
	return s
}
