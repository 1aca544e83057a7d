package report

import (
	"fmt"
	"net/url"
	"regexp"
	"slices"
	"strings"
)

// Length is how much of a study a page carries.
type Length string

// The lengths of a page.
const (
	// Full: everything, down to each reading as it was written.
	Full Length = "full"
	// Short: the answer, what shows it and what must be said with it; the proof
	// stays in the full page.
	Short Length = "short"
)

// SectionNames lists the sections of a page in their order.
func SectionNames() []string {
	return []string{"answer", "totals", "rails", "differences", "matrix", "claims", "effects", "cooling", "opened", "budget", "sittings", "trials",
		"recorded", "method", "instruments", "findings", "cautions", "not-assessed", "reading"}
}

// ofLength lists the sections of a length.
func ofLength(l Length) []string {
	if l == Short {
		return []string{"answer", "totals", "differences", "claims", "cooling", "findings", "not-assessed", "reading"}
	}
	return SectionNames()
}

// Sections says which sections a page of these options has, in their order: those
// that are named, else those of the length. A name with a minus before it takes
// one out, one with a plus adds one. Errors name what would be accepted.
func (o Options) sections() ([]string, error) {
	if o.Length != "" && o.Length != Full && o.Length != Short {
		return nil, fmt.Errorf("length %q: %s or %s is accepted", o.Length, Full, Short)
	}
	known := SectionNames()
	has := map[string]bool{}
	changes := len(o.Sections) == 0 || slices.ContainsFunc(o.Sections, func(s string) bool { return strings.HasPrefix(s, "-") || strings.HasPrefix(s, "+") })
	if changes {
		for _, s := range ofLength(o.Length) {
			has[s] = true
		}
	}
	for _, s := range o.Sections {
		name := strings.TrimLeft(s, "+-")
		if !slices.Contains(known, name) {
			return nil, fmt.Errorf("section %q: %s are accepted", name, strings.Join(known, ", "))
		}
		has[name] = !strings.HasPrefix(s, "-")
	}
	out := slices.DeleteFunc(known, func(s string) bool { return !has[s] })
	if len(out) == 0 {
		return nil, fmt.Errorf("no section is left: at least one is accepted")
	}
	return out, nil
}

var (
	anchorOf = regexp.MustCompile(` id="([^"]*)"`)
	linkTo   = regexp.MustCompile(`(?s)<a ([^>]*?)href="#([^"]*)"([^>]*)>(.*?)</a>`)
)

// unlinked takes the links out that lead to what the page leaves out. Templates
// write every anchor in double quotes, and a link holds no other.
func unlinked(page []byte) []byte {
	there := map[string]bool{}
	for _, m := range anchorOf.FindAllSubmatch(page, -1) {
		there[string(m[1])] = true
	}
	return linkTo.ReplaceAllFunc(page, func(link []byte) []byte {
		m := linkTo.FindSubmatch(link)
		if id, err := unescapeAnchor(string(m[2])); err == nil && there[id] {
			return link
		}
		attrs := strings.TrimSpace(string(m[1]) + string(m[3]))
		if attrs != "" {
			attrs = " " + attrs
		}
		return []byte("<span" + attrs + ">" + string(m[4]) + "</span>")
	})
}

// unescapeAnchor is an anchor as an id says it: a reference escapes letters
// beyond ASCII.
func unescapeAnchor(s string) (string, error) { return url.PathUnescape(s) }

// Has lists the sections that a page of these options has, in their order.
func (o Options) Has() ([]string, error) { return o.sections() }

// Check tells what is wrong with the options.
func (o Options) Check() error {
	_, err := o.sections()
	return err
}
