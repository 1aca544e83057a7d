package cli

import (
	"io"
	"regexp"
	"strings"
	"unicode/utf8"
)

// table prints columns of text with two spaces between them. A column headed
// with a leading ">" is set flush right.
type table struct {
	head  []string
	right []bool
	rows  [][]string
}

func newTable(head ...string) *table {
	t := &table{right: make([]bool, len(head))}
	for i, h := range head {
		t.right[i] = strings.HasPrefix(h, ">")
		t.head = append(t.head, strings.TrimPrefix(h, ">"))
	}
	return t
}

func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

// print writes the table, each line indented by two spaces.
func (t *table) print(w io.Writer) {
	width := make([]int, len(t.head))
	for _, row := range append([][]string{t.head}, t.rows...) {
		for i, c := range row {
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	for _, row := range append([][]string{t.head}, t.rows...) {
		var line strings.Builder
		for i, c := range row {
			pad := strings.Repeat(" ", width[i]-utf8.RuneCountInString(c))
			line.WriteString("  ")
			if t.right[i] {
				line.WriteString(pad + c)
			} else {
				line.WriteString(c + pad)
			}
		}
		io.WriteString(w, strings.TrimRight(line.String(), " ")+"\n")
	}
}

// together are the parts of a figure that stay on one line.
var together = regexp.MustCompile(`\S+ ± \S+ \S+`)

// wrap breaks text into lines of at most width runes, the first after a lead,
// the others under it.
func wrap(lead, text string, width int) string {
	const firm = "\u00a0"
	text = together.ReplaceAllStringFunc(text, func(s string) string { return strings.ReplaceAll(s, " ", firm) })
	indent := strings.Repeat(" ", utf8.RuneCountInString(lead))
	var b strings.Builder
	line := lead
	for i, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\n' }) {
		if i > 0 && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			b.WriteString(line + "\n")
			line = indent + word
			continue
		}
		if i > 0 {
			line += " "
		}
		line += word
	}
	return strings.ReplaceAll(b.String()+line+"\n", firm, " ")
}
