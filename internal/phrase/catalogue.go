package phrase

import (
	"embed"
	"fmt"
	"path"
	"strings"
)

//go:embed catalogue/*.po
var files embed.FS

// Tags lists the languages there are, English first.
func Tags() []string {
	out := []string{"en"}
	names, err := files.ReadDir("catalogue")
	if err != nil {
		return out // cannot happen in a program that was built
	}
	for _, n := range names {
		out = append(out, strings.TrimSuffix(n.Name(), ".po"))
	}
	return out
}

// Find returns the language with a tag; "" and "en" are English. An error says
// which languages there are.
func Find(tag string) (*Language, error) {
	base, _, _ := strings.Cut(strings.ToLower(strings.ReplaceAll(tag, "_", "-")), "-")
	if base == "" || base == "en" {
		return English(), nil
	}
	text, err := files.ReadFile(path.Join("catalogue", base+".po"))
	if err != nil {
		return nil, fmt.Errorf("language %q: %s is accepted", tag, strings.Join(Tags(), " or "))
	}
	c, err := ReadPO(string(text))
	if err != nil {
		return nil, fmt.Errorf("language %q: %w", tag, err)
	}
	return c.Language()
}

// Language makes the language of a catalogue. Its head says what it is called
// and how it writes numbers.
func (c *Catalogue) Language() (*Language, error) {
	l := &Language{tag: c.Head["Language"], name: c.Head["X-Name"], decimal: c.Head["X-Decimal-Sign"], space: NoBreak}
	if l.tag == "" || l.name == "" || l.decimal == "" {
		return nil, fmt.Errorf("the head lacks Language, X-Name or X-Decimal-Sign")
	}
	if c.Head["X-Unit-Space"] == "narrow" {
		l.space = "\u202f"
	}
	by := make(map[string]Entry, len(c.Entries))
	for _, e := range c.Entries {
		by[e.Message] = e
	}
	l.look = func(message, several string) (string, bool) {
		e, ok := by[message]
		if ok && several != "" {
			return e.SeveralSaid, e.SeveralSaid != ""
		}
		return e.Said, ok && e.Said != ""
	}
	return l, nil
}
