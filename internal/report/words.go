package report

import (
	"fmt"
	"html/template"
	"math"
	"regexp"
	"strconv"
	"strings"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// The author's words say what the author makes of the results. They are kept
// apart from the facts: a figure in them is a reference to a result, so that it
// follows when a reading is corrected, and text and table cannot disagree.

var (
	reference  = regexp.MustCompile(`\{([^{}]*)\}`)
	paragraphs = regexp.MustCompile(`\n[ \t]*\n`)
	// typedFigure is a number with a unit that a result could have.
	typedFigure = regexp.MustCompile(`\d(?:[\d.,]*\d)?[ \x{a0}\x{202f}]?(?:[kmµnM]?(?:W|A|V)\b|K\b|°C|%)`)
)

// CheckWords tells what is wrong with an author's words, and warns of figures
// that are typed plainly and so would not follow the results.
func CheckWords(t *tally.Tally, words string) (warnings []string, err error) {
	a := &assembler{tongue: english(), t: t, anchors: newAnchors(sections[:]...)}
	if _, err := a.words(words); err != nil {
		return nil, err
	}
	for _, s := range typedFigure.FindAllString(reference.ReplaceAllString(words, ""), -1) {
		warnings = append(warnings, fmt.Sprintf("%q is typed plainly and will not follow the results: a reference such as {total %s} does", s, exampleState(t)))
	}
	return warnings, nil
}

// ExampleReference is a reference as it may stand in the words about a study.
func ExampleReference(t *tally.Tally) string { return "{total " + exampleState(t) + "}" }

func exampleState(t *tally.Tally) string {
	for _, b := range t.Boards {
		if s := tally.Fullest(b); s != nil {
			return s.On().String()
		}
	}
	return "Otter busy"
}

// words sets the author's words, one text for each paragraph, each reference as
// the figure that it stands for.
func (a *assembler) words(text string) ([]template.HTML, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, nil
	}
	var out []template.HTML
	for i, p := range paragraphs.Split(text, -1) {
		set, err := a.paragraph(strings.Join(strings.Fields(p), " "))
		if err != nil {
			return nil, fmt.Errorf("words, paragraph %d: %w", i+1, err)
		}
		out = append(out, set)
	}
	return out, nil
}

func (a *assembler) paragraph(p string) (template.HTML, error) {
	if strings.Count(p, "{") != len(reference.FindAllString(p, -1)) || strings.Count(p, "}") != strings.Count(p, "{") {
		return "", fmt.Errorf("a brace is not closed: references such as {total %s} are accepted", exampleState(a.t))
	}
	var b strings.Builder
	at := 0
	for _, m := range reference.FindAllStringSubmatchIndex(p, -1) {
		b.WriteString(template.HTMLEscapeString(a.prose(p[at:m[0]])))
		text, to, err := a.refer(strings.TrimSpace(p[m[2]:m[3]]))
		if err != nil {
			return "", fmt.Errorf("%s: %w", p[m[0]:m[1]], err)
		}
		if to == "" {
			b.WriteString(template.HTMLEscapeString(text))
		} else {
			fmt.Fprintf(&b, `<a href="%s">%s</a>`, template.HTMLEscapeString(to), template.HTMLEscapeString(text))
		}
		at = m[1]
	}
	b.WriteString(template.HTMLEscapeString(a.prose(p[at:])))
	return template.HTML(b.String()), nil
}

// refer finds what a reference stands for, and where it opens.
func (a *assembler) refer(ref string) (text, to string, err error) {
	kind, rest, _ := strings.Cut(ref, " ")
	rest = strings.TrimSpace(rest)
	switch kind {
	case "total":
		s, err := a.stateCalled(rest)
		if err != nil {
			return "", "", err
		}
		return a.stated(s.Total, quantity.Watt), "#" + a.stateID(s), nil
	case "rail":
		return a.referRail(rest)
	case "difference", "gap", "ratio", "verdict":
		return a.referDifference(kind, rest)
	case "effect":
		return a.referEffect(rest)
	case "claim", "judgement":
		return a.referClaim(kind, rest)
	}
	return "", "", fmt.Errorf("it stands for nothing: total, rail, difference, gap, ratio, verdict, effect, claim or judgement is accepted first")
}

func (a *assembler) stateCalled(name string) (*tally.State, error) {
	var there []string
	for _, b := range a.t.Boards {
		for _, s := range b.States {
			if !s.Complete {
				continue
			}
			if s.On().String() == name {
				return s, nil
			}
			there = append(there, s.On().String())
		}
	}
	if len(there) == 0 {
		return nil, fmt.Errorf("no state has a total yet")
	}
	return nil, fmt.Errorf("no state with a total is called %q: %s are accepted", name, quantity.Join(there))
}

func (a *assembler) referRail(rest string) (string, string, error) {
	for _, b := range a.t.Boards {
		for _, s := range b.States {
			for _, r := range s.Rails {
				if s.On().String()+" "+r.Name != rest {
					continue
				}
				text := a.stated(r.Power, quantity.Watt)
				if isBounded(r.Rail) {
					col := a.newColumn(quantity.Watt, r.Power)
					text = a.spaced(a.power(col, r).Words + " " + col.Symbol())
				}
				return text, "#" + a.railID(s, r), nil
			}
		}
	}
	return "", "", fmt.Errorf("no rail is called %q: board, state and rail are accepted, as in Otter busy core", rest)
}

func (a *assembler) referDifference(kind, rest string) (string, string, error) {
	x, y, ok := strings.Cut(rest, " against ")
	if !ok {
		return "", "", fmt.Errorf("two states are accepted, as in %s Otter busy against Marten busy", kind)
	}
	first, err := a.stateCalled(x)
	if err != nil {
		return "", "", err
	}
	second, err := a.stateCalled(y)
	if err != nil {
		return "", "", err
	}
	var d *tally.Difference
	to := ""
	for _, z := range a.t.Differences {
		if z.First == first && z.Second == second {
			d, to = z, "#"+a.differenceID(z)
		}
	}
	if d == nil {
		if d, err = a.t.Compare(first, second); err != nil {
			return "", "", err
		}
	}
	f := d.Difference
	switch kind {
	case "gap":
		f.Estimate = math.Abs(f.Estimate)
	case "verdict":
		return name(a.tell(d.VerdictText())), to, nil
	case "ratio":
		if !d.Ratio.Value.Valid() {
			return "", "", fmt.Errorf("the total of %s is not above zero, so there is no ratio", y)
		}
		return a.stated(d.Ratio, quantity.None), to, nil
	}
	return a.stated(f, quantity.Watt), to, nil
}

func (a *assembler) referEffect(rest string) (string, string, error) {
	var there []string
	for _, b := range a.t.Boards {
		if b.Effects == nil || !b.Effects.Problem.IsZero() {
			continue
		}
		for _, e := range b.Effects.Terms {
			called := b.Name + " " + e.Short().String()
			if called == rest {
				return a.stated(e.Power, quantity.Watt), "#" + a.anchors.part("effects", b.Name), nil
			}
			there = append(there, called)
		}
	}
	if len(there) == 0 {
		return "", "", fmt.Errorf("no effect was estimated")
	}
	return "", "", fmt.Errorf("no effect is called %q: %s are accepted", rest, quantity.Join(there))
}

func (a *assembler) referClaim(kind, rest string) (string, string, error) {
	n, err := strconv.Atoi(rest)
	if err != nil || n < 1 || n > len(a.t.Claims) {
		return "", "", fmt.Errorf("no claim has the number %q: 1 to %d are accepted", rest, len(a.t.Claims))
	}
	c := a.t.Claims[n-1]
	to := "#" + a.anchors.part("claim", fmt.Sprint(n))
	if kind == "judgement" {
		return a.Say(phrase.Word(c.Judgement)), to, nil
	}
	if !c.Known {
		return "", "", fmt.Errorf("claim %d has no figure: %s", n, c.Why)
	}
	return a.firm(string(c.FigureText())), to, nil
}

// on names a state for people: "Otter, one-busy".
func on(s study.StateOn) string { return s.Board + ", " + s.State }
