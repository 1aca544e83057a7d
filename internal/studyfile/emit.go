package studyfile

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxLine is where a mapping in { } is broken into lines of its own. A text
// that is longer by itself stays on its line.
const maxLine = 100

// out is a node on its way to a file.
type out struct {
	kind  kind // scalar, mapping or list
	text  string
	keys  []string
	items []*out // of a list, or one for each key
	block bool   // never in { } or [ ]
}

func text(s string) *out { return &out{kind: scalar, text: s} }

// put adds a key to a mapping; nothing to put (nil) adds nothing.
func (o *out) put(key string, v *out) {
	if v != nil {
		o.keys = append(o.keys, key)
		o.items = append(o.items, v)
	}
}

// say adds a text that is not empty.
func (o *out) say(key, s string) {
	if strings.TrimSpace(s) != "" {
		o.put(key, text(s))
	}
}

// add adds an item to a list.
func (o *out) add(v *out) { o.items = append(o.items, v) }

// orNil is the node, or nil when it holds nothing.
func (o *out) orNil() *out {
	if len(o.items) == 0 {
		return nil
	}
	return o
}

// valid tells whether every text is UTF-8.
func (o *out) valid() bool {
	for i, v := range o.items {
		if !v.valid() || o.kind == mapping && !utf8.ValidString(o.keys[i]) {
			return false
		}
	}
	return utf8.ValidString(o.text)
}

// flow writes a node on one line.
func (o *out) flow(b *strings.Builder) {
	switch o.kind {
	case scalar:
		b.WriteString(quoted(o.text, true))
		return
	case mapping:
		b.WriteByte('{')
	case list:
		b.WriteByte('[')
	}
	for i, v := range o.items {
		if i > 0 {
			b.WriteString(", ")
		}
		if o.kind == mapping {
			b.WriteString(quoted(o.keys[i], true) + ": ")
		}
		v.flow(b)
	}
	if o.kind == mapping {
		b.WriteByte('}')
	} else {
		b.WriteByte(']')
	}
}

// oneLine returns the node on one line, if it may stand so and fits behind what
// is already on the line.
func (o *out) oneLine(used int) (string, bool) {
	if o.kind == scalar || o.block && len(o.items) > 0 {
		return "", false
	}
	var b strings.Builder
	o.flow(&b)
	return b.String(), used+utf8.RuneCountInString(b.String()) <= maxLine
}

// blockText writes the entries or items of a node on lines of their own. lead
// is what stands before the first of them, already written or not: the dash of
// a list.
func (o *out) blockText(b *strings.Builder, indent int, dashed bool) {
	pad := strings.Repeat(" ", indent)
	for i, v := range o.items {
		if i > 0 || !dashed {
			b.WriteString(pad)
		}
		if o.kind == list {
			b.WriteString("- ")
			switch line, ok := v.oneLine(indent + 2); {
			case ok:
				b.WriteString(line + "\n")
			case v.kind == scalar:
				v.scalarText(b, indent, indent+2)
			default:
				v.blockText(b, indent+2, true)
			}
			continue
		}
		key := quoted(o.keys[i], false) + ":"
		b.WriteString(key)
		used := indent + utf8.RuneCountInString(key) + 1
		switch line, ok := v.oneLine(used); {
		case ok:
			b.WriteString(" " + line + "\n")
		case v.kind == scalar:
			b.WriteByte(' ')
			v.scalarText(b, indent, used)
		default:
			b.WriteByte('\n')
			v.blockText(b, indent+2, false)
		}
	}
}

// scalarText writes a text at the end of a line that has used columns already:
// several lines as they are, a long line of prose folded, anything else as it
// is or in quotes.
func (o *out) scalarText(b *strings.Builder, indent, used int) {
	pad := strings.Repeat(" ", indent+2)
	switch {
	case strings.Contains(o.text, "\n") && literal(o.text):
		b.WriteString("|-\n")
		for line := range strings.SplitSeq(o.text, "\n") {
			if line != "" {
				b.WriteString(pad + line)
			}
			b.WriteByte('\n')
		}
	case used+utf8.RuneCountInString(o.text) > maxLine && prose(o.text):
		b.WriteString(">-\n")
		col := maxLine // so that the first word begins a line
		for i, word := range strings.Split(o.text, " ") {
			n := utf8.RuneCountInString(word)
			switch {
			case i == 0:
				b.WriteString(pad + word)
				col = len(pad) + n
			case col+1+n > maxLine:
				b.WriteString("\n" + pad + word)
				col = len(pad) + n
			default:
				b.WriteString(" " + word)
				col += 1 + n
			}
		}
		b.WriteByte('\n')
	default:
		b.WriteString(quoted(o.text, false) + "\n")
	}
}

// literal tells whether a text of several lines can stand as it is: YAML takes
// the spaces before the first line for indentation, and drops line ends at the
// end.
func literal(s string) bool {
	if s == "" || s[0] == ' ' || s[0] == '\n' || strings.HasSuffix(s, "\n") {
		return false
	}
	for line := range strings.SplitSeq(s, "\n") {
		if line != strings.TrimRight(line, " ") || !printable(line) {
			return false
		}
	}
	return true
}

// prose tells whether a text can be folded: words with one space between them.
func prose(s string) bool {
	return printable(s) && s == strings.Join(strings.Fields(s), " ") && strings.Contains(s, " ")
}

// printable tells whether every character of a line can stand in a file as it
// is.
func printable(s string) bool {
	for _, r := range s {
		if r != ' ' && !unicode.IsGraphic(r) || r == '\u2028' || r == '\u2029' || r == '\ufeff' || r == utf8.RuneError {
			return false
		}
	}
	return true
}

// quoted returns a text as a YAML scalar: as it is where that is safe, or in
// double quotes. inFlow tells that it stands inside { } or [ ].
func quoted(s string, inFlow bool) string {
	if plain(s, inFlow) {
		return s
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteRune('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r == '\r':
			b.WriteString(`\r`)
		case printable(string(r)):
			b.WriteRune(r)
		case r < 0x100:
			fmt.Fprintf(&b, `\x%02x`, r)
		case r < 0x10000:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			fmt.Fprintf(&b, `\U%08x`, r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// plain tells whether a text can stand without quotes: more narrowly than YAML
// allows, so that other readers of YAML agree.
func plain(s string, inFlow bool) bool {
	if s == "" || s != strings.TrimSpace(s) || !printable(s) {
		return false
	}
	if strings.ContainsAny(s[:1], "?:,[]{}#&*!|>'\"%@`<=") {
		return false
	}
	if s[0] == '-' && (len(s) == 1 || s[1] < '.' || s[1] > '9') {
		return false // a dash may only be the sign of a number
	}
	if strings.HasPrefix(s, "...") || strings.Contains(s, "<<") {
		return false
	}
	if inFlow && strings.ContainsAny(s, ",[]{}") {
		return false
	}
	for i := range len(s) {
		switch s[i] {
		case '#':
			return false
		case ':': // only as in 15:31, and there not in { }
			if inFlow || i == 0 || i+1 == len(s) || s[i+1] < '0' || s[i+1] > '9' || s[i-1] < '0' || s[i-1] > '9' {
				return false
			}
		}
	}
	return true
}
