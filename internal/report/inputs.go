package report

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"railtally/gum"
	"railtally/internal/phrase"
)

// inputNames names the inputs of a budget in the page's language. What stands
// before the first colon says where an input belongs, in names that are the
// study's; what follows says what it is, in words of the measurement model,
// and so may the last of the parts between commas.
func (t tongue) inputNames(list []gum.Share) []gum.Share {
	out := slices.Clone(list)
	for i := range out {
		out[i].Name = t.inputName(out[i].Name)
	}
	return out
}

func (t tongue) inputName(s string) string {
	parts := strings.Split(s, ": ")
	for i, p := range parts {
		place, what := p, ""
		if at := strings.LastIndex(p, ", "); at >= 0 {
			if w, ok := t.readingPart(p[at+2:]); ok {
				place, what = p[:at], ", "+w
			}
		}
		if i > 0 {
			place = t.inputWords(place)
		} else if at := strings.Index(place, ", zero "); at >= 0 {
			place = place[:at+2] + t.inputWords(place[at+2:])
		}
		parts[i] = place + what
	}
	return strings.Join(parts, ": ")
}

// readingPart says which part of a reading an input stands for.
func (t tongue) readingPart(s string) (string, bool) {
	for _, p := range []phrase.Phrase{phrase.New("last digit"), phrase.New("flicker"), phrase.New("repeats")} {
		if p.String() == s {
			return t.Say(p), true
		}
	}
	return s, false
}

var (
	currentOf = regexp.MustCompile(`^current of (.+)$`)
	zeroOf    = regexp.MustCompile(`^zero (\d+) of (.+)$`)
	shareOfIt = regexp.MustCompile(`^(.+)'s share$`)
)

// inputWords says what an input is, in the words of package sensing.
func (t tongue) inputWords(s string) string {
	if m := currentOf.FindStringSubmatch(s); m != nil {
		return t.Text("current of %s", m[1])
	}
	if m := zeroOf.FindStringSubmatch(s); m != nil {
		n, err := strconv.Atoi(m[1])
		if err == nil {
			return t.Text("zero %d of %s", n, m[2])
		}
	}
	if m := shareOfIt.FindStringSubmatch(s); m != nil {
		return t.Text("%s's share", m[1])
	}
	return word(t, s)
}
