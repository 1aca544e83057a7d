package report

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// anchors makes the names by which figures are linked: readable, made from
// what they stand for, and different from each other.
type anchors struct {
	taken map[string]bool
	of    map[string]string
}

func newAnchors(reserved ...string) *anchors {
	a := &anchors{taken: map[string]bool{}, of: map[string]string{}}
	for _, r := range reserved {
		a.taken[r] = true
	}
	return a
}

// id is the anchor of the thing with these names; the same names give the same
// anchor.
func (a *anchors) id(names ...string) string {
	key := strings.Join(names, "\x00")
	if id, ok := a.of[key]; ok {
		return id
	}
	parts := make([]string, len(names))
	for i, n := range names {
		parts[i] = slug(n)
	}
	base := strings.Join(parts, "-")
	id := base
	for n := 2; a.taken[id]; n++ {
		id = fmt.Sprintf("%s-%d", base, n)
	}
	a.taken[id], a.of[key] = true, id
	return id
}

// part is the anchor of a piece of the page that belongs to the thing with
// these names, such as its table. It is never that of a thing whose own name
// reads alike.
func (a *anchors) part(piece string, names ...string) string {
	return a.id(append(slices.Clone(names), "\x01"+piece)...)
}

// slug keeps letters and digits of any script, and joins what is between them
// with a hyphen. Two hyphens never follow each other in an anchor, so the
// templates may add "--caption" and the like.
func slug(name string) string {
	words := strings.FieldsFunc(name, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r)
	})
	if len(words) == 0 {
		return "x"
	}
	return strings.Join(words, "-")
}
