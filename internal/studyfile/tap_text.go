package studyfile

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

const tapForms = "red clamp low ×5 reversed; io shunt; shunt 100 mΩ ±1 %; sense resistor 20 mΩ ±1 %; " +
	"inductor 1.2 mΩ ±8 % at 20 °C; series meter desk meter 10 A"

// resistorWords begin the tap of a resistor that is no named instrument.
var resistorWords = []struct {
	word string
	kind study.TapKind
}{{"sense resistor", study.TapSense}, {"inductor", study.TapInductor}, {"shunt", study.TapShunt}}

// parseTap reads the text of a tap: an instrument with its range, or a resistor
// with its value, then the turns through a clamp's jaw, then "reversed".
func parseTap(text string, all []*study.Instrument) (*study.Tap, *complaint) {
	text = strings.Join(strings.Fields(text), " ")
	if rest, ok := cutWord(text, string(study.TapSeries)); ok {
		return seriesTap(rest, all)
	}
	for _, w := range resistorWords {
		rest, ok := cutWord(text, w.word)
		if !ok || rest != "" && (rest[0] < '0' || rest[0] > '9') {
			continue
		}
		if rest == "" && len(longestFirst(text, all)) == 0 {
			return nil, &complaint{message: fmt.Sprintf("the %s has no value", w.word), accept: w.word + " 20 mΩ ±1 %"}
		}
		if rest != "" {
			return resistorTap(w.kind, w.word, rest)
		}
	}
	found := longestFirst(text, all)
	if len(found) == 0 {
		return nil, unknownInstrument(text, all)
	}
	var first *complaint
	for _, in := range found {
		t, c := instrumentTap(in, strings.TrimSpace(text[len(in.Name):]))
		if c == nil {
			return t, nil
		}
		if first == nil {
			first = c
		}
	}
	return nil, first
}

// cutWord takes a word, or several, off the front of a text.
func cutWord(text, word string) (rest string, ok bool) {
	rest, ok = strings.CutPrefix(text, word)
	if !ok || rest != "" && rest[0] != ' ' {
		return text, false
	}
	return strings.TrimSpace(rest), true
}

// longestFirst returns the instruments by whose name a text begins.
func longestFirst(text string, all []*study.Instrument) []*study.Instrument {
	var out []*study.Instrument
	for _, in := range all {
		if _, ok := cutWord(text, in.Name); ok && in.Name != "" {
			out = append(out, in)
		}
	}
	slices.SortStableFunc(out, func(a, b *study.Instrument) int { return len(b.Name) - len(a.Name) })
	return out
}

// unknownInstrument complains about a text that begins with no instrument's
// name, and finds the name that was probably meant.
func unknownInstrument(text string, all []*study.Instrument) *complaint {
	names := make([]string, len(all))
	words := strings.Fields(text)
	written := strings.Join(dropTail(words), " ")
	for i, in := range all {
		names[i] = in.Name
		n := min(len(strings.Fields(in.Name)), len(words))
		if head := strings.Join(words[:n], " "); study.Nearest(head, []string{in.Name}) != "" {
			written = head
		}
	}
	accept := study.Accepting(written, names)
	if len(all) == 0 {
		accept = "an instrument listed under instruments"
	}
	return &complaint{message: fmt.Sprintf("no instrument called %q", written), accept: accept}
}

var turnsWord = regexp.MustCompile(`^[×xX]([0-9]+)$`)

// dropTail takes turns and "reversed" off the end of a text.
func dropTail(words []string) []string {
	for len(words) > 1 {
		if w := words[len(words)-1]; w != "reversed" && !turnsWord.MatchString(w) {
			break
		}
		words = words[:len(words)-1]
	}
	return words
}

// instrumentTap reads what follows an instrument's name.
func instrumentTap(in *study.Instrument, rest string) (*study.Tap, *complaint) {
	t := &study.Tap{Instrument: in.Name, Turns: 1}
	switch in.Kind {
	case study.Clamp:
		t.Kind = study.TapClamp
	case study.Shunt:
		t.Kind = study.TapShunt
		return t, tail(t, rest, nil)
	case study.Meter:
		t.Kind = study.TapSeries
	case study.Thermometer:
		return nil, &complaint{message: fmt.Sprintf("%s is a thermometer; it senses no current", in.Name), accept: "a clamp, shunt or meter"}
	default:
		t.Kind = study.TapClamp // of an instrument whose kind was reported as unknown
		return t, nil
	}
	var names []string
	best := -1
	for i, rg := range in.Ranges {
		if in.Kind == study.Meter && rg.Measures == quantity.Volt {
			if rest == rg.Name && rest != "" {
				return nil, &complaint{message: fmt.Sprintf("the range %s of %s shows volts; in series it must show amperes", rest, in.Name),
					accept: "a range in amperes, a clamp or a shunt"}
			}
			continue
		}
		names = append(names, rg.Name)
		if _, ok := cutWord(rest, rg.Name); ok && rg.Name != "" && (best < 0 || len(rg.Name) > len(in.Ranges[best].Name)) {
			best = i
		}
	}
	if best >= 0 {
		t.Range = in.Ranges[best].Name
		return t, tail(t, strings.TrimSpace(rest[len(t.Range):]), nil)
	}
	if len(names) == 0 && in.Kind == study.Meter {
		return nil, &complaint{message: in.Name + " has no range that shows amperes", accept: "a meter with such a range, a clamp or a shunt"}
	}
	if len(names) > 1 {
		word := strings.Join(dropTail(strings.Fields(rest)), " ")
		if word == "" || turnsWord.MatchString(word) || word == "reversed" {
			return nil, &complaint{message: "which range of " + in.Name + "?", accept: strings.Join(names, ", ")}
		}
		return nil, &complaint{message: fmt.Sprintf("%s has no range called %q", in.Name, word), accept: study.Accepting(word, names)}
	}
	if len(names) == 1 {
		t.Range = names[0]
	}
	return t, tail(t, rest, names)
}

// seriesTap reads the meter that is in series with the rail.
func seriesTap(rest string, all []*study.Instrument) (*study.Tap, *complaint) {
	if rest == "" {
		return nil, &complaint{message: "which meter is in series?", accept: "series meter desk meter 10 A"}
	}
	var first *complaint
	for _, in := range longestFirst(rest, all) {
		if in.Kind != study.Meter && in.Kind != "" {
			first = &complaint{message: fmt.Sprintf("%s is a %s; only a meter can be in series", in.Name, in.Kind), accept: tapForms}
			continue
		}
		t, c := instrumentTap(in, strings.TrimSpace(rest[len(in.Name):]))
		if c == nil {
			t.Kind = study.TapSeries
			return t, nil
		}
		first = c
	}
	if first != nil {
		return nil, first
	}
	return nil, unknownInstrument(rest, all)
}

// resistorTap reads the value of a resistor; that of an inductor holds at a
// stated temperature, because copper's resistance does not stay.
func resistorTap(kind study.TapKind, word, rest string) (*study.Tap, *complaint) {
	t := &study.Tap{Kind: kind, Turns: 1, Resistor: &study.ShuntValue{}}
	if r, ok := strings.CutSuffix(rest, " reversed"); ok {
		t.Reversed, rest = true, r
	}
	value := rest
	if kind == study.TapInductor {
		v, at, ok := strings.Cut(rest, " at ")
		if !ok {
			return nil, &complaint{message: "nothing says at which temperature the inductor has this resistance", accept: word + " " + rest + " at 20 °C"}
		}
		x, err := quantity.Value(at, quantity.Celsius, "")
		if err != nil {
			return nil, &complaint{message: err.Error(), accept: word + " " + v + " at 20 °C"}
		}
		value, t.WindingRef = v, x
	}
	e, err := quantity.Parse(value, quantity.Ohm, "")
	if err != nil {
		return nil, &complaint{message: err.Error(), accept: word + " 20 mΩ ±1 %"}
	}
	t.Resistor.Resistance = e
	return t, nil
}

// tail reads the turns and "reversed" at the end of a tap. names are the ranges
// that could have been meant by a word that is neither.
func tail(t *study.Tap, rest string, names []string) *complaint {
	words := strings.Fields(rest)
	for i := 0; i < len(words); i++ {
		w := words[i]
		number := ""
		switch m := turnsWord.FindStringSubmatch(w); {
		case w == "reversed":
			t.Reversed = true
			continue
		case m != nil:
			number = m[1]
		case i+1 < len(words) && (w == "×" || w == "x"):
			number, i = words[i+1], i+1
		case i+1 < len(words) && (words[i+1] == "turns" || words[i+1] == "turn"):
			number, i = w, i+1
		default:
			accept := "turns as ×5, reversed"
			if len(names) > 0 && names[0] != "" {
				accept = strings.Join(names, ", ") + ", " + accept
			}
			return &complaint{message: fmt.Sprintf("%q is not understood after %s", strings.Join(words[i:], " "), t.Instrument), accept: accept}
		}
		n, err := strconv.Atoi(number)
		if err != nil {
			return &complaint{message: fmt.Sprintf("%q is no number of turns", number), accept: "×5"}
		}
		t.Turns = n
	}
	return nil
}
