package report

import (
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
)

// element is a node of the page. The page is written so that it is well-formed
// as XML too, and the strict reader of the standard library is its judge.
type element struct {
	name     string
	attr     map[string]string
	parent   *element
	children []*element
	words    []string // text, in order, at this level
	all      *[]any   // words and children in order
}

func parsePage(t *testing.T, page string) *element {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Entity = xml.HTMLEntity
	root := &element{name: "#page", all: new([]any)}
	at := root
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("the page is not well-formed: %v", err)
		}
		switch x := tok.(type) {
		case xml.StartElement:
			e := &element{name: x.Name.Local, attr: map[string]string{}, parent: at, all: new([]any)}
			for _, a := range x.Attr {
				if _, twice := e.attr[a.Name.Local]; twice {
					t.Errorf("<%s> has %s twice", e.name, a.Name.Local)
				}
				e.attr[a.Name.Local] = a.Value
			}
			at.children = append(at.children, e)
			*at.all = append(*at.all, e)
			at = e
		case xml.EndElement:
			at = at.parent
		case xml.CharData:
			*at.all = append(*at.all, string(x))
		}
	}
	if at != root {
		t.Fatalf("<%s> is not closed", at.name)
	}
	return root
}

// text is what the element says, with single spaces.
func (e *element) text() string {
	var b strings.Builder
	e.write(&b)
	return strings.Join(strings.FieldsFunc(b.String(), func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }), " ")
}

func (e *element) write(b *strings.Builder) {
	for _, x := range *e.all {
		switch x := x.(type) {
		case string:
			b.WriteString(x)
		case *element:
			x.write(b)
		}
	}
}

// find lists the elements below e that pass.
func (e *element) find(pass func(*element) bool) []*element {
	var out []*element
	for _, c := range e.children {
		if pass(c) {
			out = append(out, c)
		}
		out = append(out, c.find(pass)...)
	}
	return out
}

func (e *element) named(names ...string) []*element {
	return e.find(func(x *element) bool {
		for _, n := range names {
			if x.name == n {
				return true
			}
		}
		return false
	})
}

func (e *element) class(class string) []*element {
	return e.find(func(x *element) bool {
		for _, c := range strings.Fields(x.attr["class"]) {
			if c == class {
				return true
			}
		}
		return false
	})
}

func (e *element) id(t *testing.T, id string) *element {
	t.Helper()
	found := e.find(func(x *element) bool { return x.attr["id"] == id })
	if len(found) != 1 {
		t.Fatalf("%d elements with id %q, want 1", len(found), id)
	}
	return found[0]
}

// inside tells whether an ancestor of e has the name.
func (e *element) inside(name string) bool {
	for p := e.parent; p != nil; p = p.parent {
		if p.name == name {
			return true
		}
	}
	return false
}
