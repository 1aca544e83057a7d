package studyfile

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// kind says what a node of the file is.
type kind int

const (
	scalar  kind = iota // a text, as it was written
	mapping             // keys with values
	list                // items
	empty               // nothing was written
	broken              // a fault has been reported; nothing more is to be said
)

// String names the kind as a message does.
func (k kind) String() string {
	return [...]string{"a text", "a mapping", "a list", "nothing", "a fault"}[k]
}

// node is one value of the file.
type node struct {
	kind    kind
	text    string
	spot    spot
	entries []*entry
	items   []*node
}

// entry is one key of a mapping with its value.
type entry struct {
	key   string
	spot  spot
	value *node
	alone bool // in { }, without a colon: what a stray comma leaves behind
}

// where is the place a message about the entry should point at: the text
// itself where there is one, and the key before anything larger.
func (e *entry) where() spot {
	if e.value.kind == scalar {
		return e.value.spot
	}
	return e.spot
}

// tree turns the parser's syntax tree into nodes. It is as deep as guard allows.
func tree(n ast.Node) *node {
	switch n := n.(type) {
	case *ast.MappingNode:
		// The token of a mapping without braces is its first colon; the mapping
		// begins at its first key.
		out := &node{kind: mapping, spot: spotOf(n.GetToken())}
		if len(n.Values) > 0 && n.GetToken().Type == token.MappingValueType {
			out.spot = spotOf(n.Values[0].Key.GetToken())
		}
		for _, v := range n.Values {
			out.entries = append(out.entries, entryOf(v))
		}
		return out
	case *ast.MappingValueNode:
		return &node{kind: mapping, spot: spotOf(n.Key.GetToken()), entries: []*entry{entryOf(n)}}
	case *ast.SequenceNode:
		out := &node{kind: list, spot: spotOf(n.GetToken())}
		for _, v := range n.Values {
			out.items = append(out.items, tree(v))
		}
		return out
	case *ast.NullNode:
		if n.GetToken().Type == token.ImplicitNullType {
			return &node{kind: empty, spot: spotOf(n.GetToken())}
		}
		return &node{kind: scalar, text: n.GetToken().Value, spot: spotOf(n.GetToken())}
	case *ast.LiteralNode:
		return &node{kind: scalar, text: strings.TrimRight(n.Value.Value, "\n"), spot: spotOf(n.GetToken())}
	case nil:
		return &node{kind: empty, spot: spot{1, 1}}
	}
	// Every other scalar, whatever type YAML gives it, is the text written.
	return &node{kind: scalar, text: n.GetToken().Value, spot: spotOf(n.GetToken())}
}

func entryOf(v *ast.MappingValueNode) *entry {
	key := v.Key.GetToken()
	return &entry{
		key: key.Value, spot: spotOf(key), value: tree(v.Value),
		alone: v.Start == nil || v.Start.Type != token.MappingValueType,
	}
}

func spotOf(t *token.Token) spot {
	if t == nil || t.Position == nil {
		return spot{1, 1}
	}
	return spot{t.Position.Line, t.Position.Column}
}

// settle goes through the tree once, before any section is read: it fills the
// index, and reports what is wrong with the form of a mapping wherever it
// stands: keys that come twice, and values cut short by a comma.
func (r *reader) settle(path []string, n *node) {
	switch n.kind {
	case mapping:
		r.joinCut(path, n)
		first := make(map[string]*entry, len(n.entries))
		kept := n.entries[:0]
		for _, e := range n.entries {
			at := extend(path, e.key)
			if f := first[e.key]; f != nil {
				r.fault(at, e.spot, "", "%q comes twice here; it stands on line %d and on line %d", e.key, f.spot.line, e.spot.line)
				continue
			}
			first[e.key] = e
			kept = append(kept, e)
			r.index.set(at, e.where())
			r.settle(at, e.value)
		}
		n.entries = kept
	case list:
		for i, item := range n.items {
			at := extend(path, strconv.Itoa(i+1))
			r.index.set(at, item.spot)
			r.settle(at, item)
		}
	}
}

// startsNumber and endsNumber tell a decimal comma from a comma in prose.
var (
	startsNumber = regexp.MustCompile(`^[0-9]`)
	endsNumber   = regexp.MustCompile(`(^|\s)[-+−]?[0-9]+$`)
	plainNumber  = regexp.MustCompile(`^[-+−]?[0-9]+([.][0-9]+)?$`)
)

// joinCut reports values in { } that a comma has cut: {i: 0,511 V} is, to YAML,
// i: 0 and a key "511 V" without a value.
func (r *reader) joinCut(path []string, n *node) {
	kept := n.entries[:0]
	for i := 0; i < len(n.entries); i++ {
		e := n.entries[i]
		var rest []string
		for i+1 < len(n.entries) && n.entries[i+1].alone {
			i++
			rest = append(rest, n.entries[i].key)
		}
		kept = append(kept, e)
		at := extend(path, e.key)
		switch {
		case e.alone:
			r.fault(at, e.spot, e.key+": and then its value", "%q has no value", e.key)
			e.value = &node{kind: broken, spot: e.spot}
		case len(rest) > 0 && e.value.kind == scalar:
			whole := e.value.text + ", " + strings.Join(rest, ", ")
			accept := fmt.Sprintf("%s: %q in quotes", e.key, whole)
			switch {
			case len(rest) == 1 && endsNumber.MatchString(e.value.text) && startsNumber.MatchString(rest[0]):
				accept = fmt.Sprintf("%s: %s.%s, or %s: %q in quotes", e.key, e.value.text, rest[0], e.key, e.value.text+","+rest[0])
			case plainNumber.MatchString(e.value.text):
				accept = fmt.Sprintf("%s: %s without commas, or in quotes", e.key, strings.ReplaceAll(whole, ",", ""))
			}
			r.fault(at, e.value.spot, accept, "inside { } a comma ends the value, so %q stands alone", strings.Join(rest, ", "))
			e.value = &node{kind: broken, spot: e.value.spot}
		case len(rest) > 0:
			r.fault(extend(path, rest[0]), n.entries[i].spot, rest[0]+": and then its value", "%q has no value", rest[0])
		}
	}
	n.entries = kept
}

// extend returns a new path with one more key.
func extend(path []string, key ...string) []string {
	out := make([]string, 0, len(path)+len(key))
	return append(append(out, path...), key...)
}
