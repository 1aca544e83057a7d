package studygen

import (
	"fmt"
	"strings"

	"railtally/internal/quantity"

	"pgregory.net/rapid"
)

// gen draws the parts of one study.
type gen struct {
	*rapid.T
	taken map[string]bool // names, without case
}

// yes tosses a coin.
func (g *gen) yes(label string) bool { return rapid.Bool().Draw(g.T, label) }

// count draws how many of something there are.
func (g *gen) count(label string, lo, hi int) int { return rapid.IntRange(lo, hi).Draw(g.T, label) }

// pick draws one of several.
func pick[T any](g *gen, label string, of ...T) T { return rapid.SampledFrom(of).Draw(g.T, label) }

// awkward are words that a text form must not mistake for anything else.
var awkward = []string{"core", "red clamp", "io", "null", "~", "true", "no", "on", "0", "0x10", "1_000", "1e3", ".5", ".inf",
	"2026-03-14", "12:30", "a: b", "a:b", "x #1", "#1", "it's", `say "so"`, "{x}", "[y]", "a, b", "- z", "-", "? q", "!tag", "&a", "*b",
	"%p", "@at", "`c`", "<<", "=", "|", ">", "x:", ":x", "---", "...", `back\slash`, "größe", "µΩ", "日本", "😀", "×5", "against", "é\u0301",
	"left", "1 V", "10 A", "a\u00a0b", "\u2003"}

// name draws a name that was not drawn before.
func (g *gen) name(label, tail string) string {
	w := rapid.SampledFrom(awkward).Draw(g.T, label)
	if g.yes("longer") {
		w += " " + rapid.SampledFrom(awkward).Draw(g.T, label)
	}
	w = strings.Join(strings.Fields(w), " ")
	for i := 1; ; i++ {
		n := strings.TrimSpace(w + tail)
		if i > 1 || n == "" {
			n = strings.TrimSpace(fmt.Sprintf("%s n%d%s", w, i, tail))
		}
		if k := strings.ToLower(n); !g.taken[k] {
			g.taken[k] = true
			return n
		}
	}
}

// rangeName draws a name that does not end like a tap's turns.
func (g *gen) rangeName() string {
	if n := g.name("range", ""); !strings.Contains(n, " ×") {
		return n
	}
	return g.name("range", " q")
}

// prose draws a text of one or several lines.
func (g *gen) prose(label string) string {
	words := rapid.SliceOfN(rapid.SampledFrom(awkward), 1, 40).Draw(g.T, label)
	sep := pick(g, "between", " ", " ", " ", "\n", "  ", "\n\n", "\t", "\n  ", " \n", ", ")
	if s := strings.Join(words, sep); strings.TrimSpace(s) != "" {
		return s
	}
	return "x"
}

func (g *gen) maybeProse(label string) string {
	if g.yes(label + "?") {
		return g.prose(label)
	}
	return ""
}

// entry draws one of several quantities as a person writes them.
func (g *gen) entry(forms ...string) *quantity.Entry {
	e := g.parse(rapid.SampledFrom(forms).Draw(g.T, "quantity"))
	return &e
}

// entryOf reads a quantity of a known unit.
func (g *gen) entryOf(text string, u quantity.Unit) *quantity.Entry {
	e, err := quantity.Parse(text, u, "")
	if err != nil {
		panic("studygen: " + err.Error())
	}
	return &e
}

// units are tried in turn to find what a form is a quantity of.
var units = []quantity.Unit{quantity.Volt, quantity.Ampere, quantity.Ohm, quantity.Watt, quantity.Celsius, quantity.Second,
	quantity.BytePerSecond, quantity.None}

func (g *gen) parse(text string) quantity.Entry {
	for _, u := range units {
		if e, err := quantity.Parse(text, u, ""); err == nil {
			return e
		}
	}
	panic("studygen: no quantity: " + text)
}

// number draws a value between 0 and less than top, in thousandths.
func (g *gen) number(top int) string {
	n := rapid.IntRange(1, top*1000-1).Draw(g.T, "thousandths")
	return fmt.Sprintf("%d.%03d", n/1000, n%1000)
}

// reading draws a reading below top of a unit, in any form and of either sign.
func (g *gen) reading(top int, unit string) quantity.Entry {
	a, b := g.number(top), g.number(top)
	switch pick(g, "form", "plain", "plain", "comma", "minus", "repeats", "band", "tolerance", "scientific", "mean") {
	case "comma":
		return g.parse(strings.Replace(a, ".", ",", 1) + " " + unit)
	case "minus":
		return g.parse("-" + a + unit)
	case "repeats":
		return g.parse(a + " " + b + " " + a + " " + unit)
	case "band":
		if len(a) > len(b) || len(a) == len(b) && a > b {
			a, b = b, a
		}
		return g.parse(a + ".." + b + " " + unit)
	case "tolerance":
		return g.parse(a + " " + unit + " ± 0.5 " + unit)
	case "mean":
		return g.parse(a + " " + unit + " ± 0.5 " + unit + " (k=1, 12.5 dof)")
	case "scientific":
		return g.parse(a + "e-3 " + unit)
	}
	return g.parse(a + " " + unit)
}
