package studyfile

import (
	"fmt"
	"strings"

	"railtally/internal/study"
)

// reader holds what one reading of a file gathers.
type reader struct {
	file   string
	index  *Index
	study  *study.Study
	faults []FaultAt
	seen   func(section, key string) // nil but in tests
}

// fault adds one to the list.
func (r *reader) fault(path []string, at spot, accept, format string, a ...any) {
	r.faults = append(r.faults, FaultAt{
		File: r.file, Line: at.line, Column: at.col, Field: strings.Join(path, " › "),
		Message: fmt.Sprintf(format, a...), Accept: accept, path: path,
	})
}

// place is a node of the file together with where it stands in the record.
type place struct {
	r    *reader
	path []string
	n    *node
}

// fail adds a fault about the value at the place.
func (p place) fail(accept, format string, a ...any) {
	line, col := p.r.index.Line(p.path...)
	if p.n != nil && p.n.kind == scalar {
		line, col = p.n.spot.line, p.n.spot.col
	}
	p.r.fault(p.path, spot{line, col}, accept, format, a...)
}

// key is the last part of the path: the name under which the value stands.
func (p place) key() string {
	if len(p.path) == 0 {
		return ""
	}
	return p.path[len(p.path)-1]
}

// want checks the kind of the value and adds a fault when it is another.
func (p place) want(k kind, accept string) bool {
	if p.n.kind == k {
		return true
	}
	if p.n.kind != broken {
		p.fail(accept, "%s is wanted here, not %s", k, p.n.kind)
	}
	return false
}

// text returns a text that is not empty; ok is false, with a fault, when
// something else is written.
func (p place) text(accept string) (s string, ok bool) {
	if !p.want(scalar, accept) {
		return "", false
	}
	s = p.n.text
	if strings.TrimSpace(s) == "" {
		p.fail(accept, "nothing is written here")
		return "", false
	}
	return s, true
}

// choice returns one of a fixed list of words.
func choice[T ~string](p place, of []T) (T, bool) {
	words := make([]string, len(of))
	for i, w := range of {
		words[i] = string(w)
	}
	s, ok := p.text(strings.Join(words, ", "))
	if !ok {
		return "", false
	}
	for _, w := range of {
		if string(w) == s {
			return w, true
		}
	}
	p.fail(study.Accepting(s, words), "%q is none of the words known here", s)
	return "", false
}

// yes returns yes or no.
func (p place) yes() (yes, ok bool) {
	s, ok := p.text("yes, no")
	switch s {
	case "yes", "true":
		return true, true
	case "no", "false":
		return false, true
	}
	if ok {
		p.fail("yes, no", "%q is neither yes nor no", s)
	}
	return false, false
}

// fields is a mapping with known keys.
type fields struct {
	place
	of map[string]place
}

// fields reads a mapping whose keys are those of a section, and adds a fault
// for each other key. Without a mapping every field is absent.
func (p place) fields(s section) (f fields, ok bool) {
	f = fields{p, make(map[string]place)}
	if !p.want(mapping, "a mapping with "+strings.Join(s.keys, ", ")) {
		return f, false
	}
	for _, e := range p.n.entries {
		at := place{p.r, extend(p.path, e.key), e.value}
		if !s.has(e.key) {
			p.r.fault(at.path, e.spot, study.Accepting(e.key, s.keys), "no key called %q", e.key)
			continue
		}
		p.r.see(s, e.key)
		if e.value.kind == empty {
			at.fail("", "nothing is written here")
			continue
		}
		f.of[e.key] = at
	}
	return f, true
}

// see tells a test of a key.
func (r *reader) see(s section, key string) {
	if r.seen != nil {
		r.seen(s.name, key)
	}
}

// get returns a field that is present.
func (f fields) get(key string) (place, bool) {
	p, ok := f.of[key]
	return p, ok
}

// need returns a field and adds a fault when it is absent.
func (f fields) need(key, accept string) (place, bool) {
	p, ok := f.of[key]
	if !ok && !f.written(key) {
		f.fail(accept, "%q is missing", key)
	}
	return p, ok
}

// written tells whether the key is there, perhaps with nothing behind it.
func (f fields) written(key string) bool {
	for _, e := range f.n.entries {
		if e.key == key {
			return true
		}
	}
	return false
}

// note reads a field of free text; without it the text is empty.
func (f fields) note(key string) string {
	if p, ok := f.get(key); ok {
		if s, ok := p.text("free text"); ok {
			return s
		}
	}
	return ""
}

// named returns the entries of a mapping whose keys are names that a person
// chose, in the order of the file.
func (p place) named(accept string) []place {
	if !p.want(mapping, accept) {
		return nil
	}
	out := make([]place, 0, len(p.n.entries))
	for _, e := range p.n.entries {
		out = append(out, place{p.r, extend(p.path, e.key), e.value})
	}
	return out
}

// list returns the items of a list.
func (p place) list(accept string) []place {
	if !p.want(list, accept) {
		return nil
	}
	out := make([]place, 0, len(p.n.items))
	for i, item := range p.n.items {
		out = append(out, place{p.r, extend(p.path, fmt.Sprint(i+1)), item})
	}
	return out
}
