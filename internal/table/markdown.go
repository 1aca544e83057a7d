package table

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"railtally/internal/quantity"
)

// Markdown writes the table for people, as GitHub Flavored Markdown sets tables
// (GFM 4.10): figures rounded by their uncertainty. Columns in which nothing is
// said are left out.
func (t *Table) Markdown(w io.Writer) error {
	var heads []string
	var cols [][]string
	var right []bool
	for i, c := range t.Columns {
		col, said := make([]string, len(t.Rows)), false
		for r, row := range t.Rows {
			col[r] = markdownText(c, row[i])
			said = said || col[r] != ""
		}
		if !said || c.ForPrograms {
			continue
		}
		heads, cols, right = append(heads, plainMark(c.Title)), append(cols, col), append(right, c.Kind != Text && c.Kind != Yes)
	}
	b := bufio.NewWriter(w)
	if len(heads) == 0 {
		fmt.Fprintf(b, "Nothing to show: %s.\n", t.Title)
		return b.Flush()
	}
	width := make([]int, len(heads))
	for i, h := range heads {
		width[i] = max(3, utf8.RuneCountInString(h))
		for _, s := range cols[i] {
			width[i] = max(width[i], utf8.RuneCountInString(s))
		}
	}
	line := func(cell func(i int) string) {
		for i := range heads {
			s := cell(i)
			pad := strings.Repeat(" ", width[i]-utf8.RuneCountInString(s))
			if right[i] {
				s = pad + s
			} else {
				s += pad
			}
			fmt.Fprintf(b, "| %s ", s)
		}
		b.WriteString("|\n")
	}
	line(func(i int) string { return heads[i] })
	line(func(i int) string {
		if right[i] {
			return strings.Repeat("-", width[i]-1) + ":"
		}
		return strings.Repeat("-", width[i])
	})
	for r := range t.Rows {
		line(func(i int) string { return cols[i][r] })
	}
	return b.Flush()
}

// markdownText is a cell for people; "" where there is nothing to say.
func markdownText(c Column, x Cell) string {
	switch {
	case x.Empty:
		return ""
	case x.Words != "":
		return plainMark(x.Words)
	}
	switch c.Kind {
	case Whole:
		return strconv.FormatInt(x.Whole, 10)
	case Number:
		return quantity.Format(x.Number, c.Unit, 3)
	case Yes:
		if x.Yes {
			return "yes"
		}
		return ""
	case Figure:
		return Stated(x.Figure, c.Unit)
	}
	return plainMark(x.Text)
}

// plainMark keeps Markdown from reading marks into a text: it stays as it is,
// on one line and in one cell.
func plainMark(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	var b strings.Builder
	for _, r := range s {
		if strings.ContainsRune("\\`*_[]<>|#~&", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}
