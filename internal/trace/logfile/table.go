package logfile

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
)

// A table is the part of the head that holds data rows under one choice of delimiter and decimal mark.
type table struct {
	delim, mark byte
	cells       [][]string   // of every line; nil for blank and comment lines
	kinds       [][]cellKind // of every cell
	width       int          // fields of a row
	column      []cellKind   // by column
	group       string       // thousands mark
	rows        int          // lines that fit
	unsure      bool         // only numbers in groups of three settled the decimal mark
	first       int          // first data line
	score       float64
	other       int // lines of data with another number of fields
}

// comments are what may begin a line of comment.
var comments = []string{"#", "//", "%", "!", "*", "'", ";"}

// commentPrefix finds what begins two or more lines, or one before the table, and never a cell.
func commentPrefix(lines [][]byte) string {
	for _, c := range comments[:6] {
		for _, line := range lines[:min(len(lines), maxPreamble)] {
			if bytes.HasPrefix(line, []byte(c)) {
				return c
			}
		}
	}
	return ""
}

// findTable tries each delimiter with each decimal mark and keeps the choice that reads most cells.
func (d *Detection) findTable(h Hints) (*table, error) {
	p := &d.Profile
	p.Comment = commentPrefix(d.lines)
	delims, marks := []byte{';', '\t', ',', '|', ' '}, []byte{'.', ','}
	if line := strings.TrimSpace(string(d.lines[0])); len(line) == 5 && strings.HasPrefix(strings.ToLower(line), "sep=") {
		delims = []byte{line[4]}
	}
	if h.Delimiter != "" {
		delims = []byte(h.Delimiter[:1])
	}
	if h.Decimal != "" {
		marks = []byte(h.Decimal[:1])
	}
	var best *table
	n := min(len(d.lines), tryLines)
	for _, delim := range delims {
		for _, mark := range marks {
			if delim == mark && len(delims) > 1 {
				continue
			}
			t := d.try(delim, mark, h, max(n-chooseLines, 0))
			if t.rows > 0 && (best == nil || t.score > best.score) {
				best = t
			}
		}
	}
	if best != nil {
		best = d.try(best.delim, best.mark, h, 0)
	}
	if best == nil || best.rows == 0 {
		return nil, errors.New("no row of numbers found; a log has lines of numbers between one delimiter")
	}
	p.Delimiter, p.Decimal, p.Group = string(best.delim), string(best.mark), best.group
	d.say("delimiter", p.Delimiter, "%d of the first %d lines read as %d fields", best.rows, n, best.width)
	switch {
	case best.unsure:
		d.ask("decimal", p.Decimal, "every number with a comma or point has three digits behind it: decimals or thousands")
	default:
		d.say("decimal", p.Decimal, "most cells read as numbers so")
	}
	if p.Comment != "" {
		d.say("comment", p.Comment, "begins lines that are no data")
	}
	return best, nil
}

// tryLines is how many lines the table is sought in; delimiter and mark are chosen by the last
// chooseLines of them, which are data.
const tryLines, chooseLines = 1000, 200

// blankFactor weighs blanks as a delimiter, which also stand within cells.
const blankFactor = 0.7

// try reads the lines from a given one on with one delimiter and one decimal mark.
func (d *Detection) try(delim, mark byte, h Hints, from int) *table {
	t := &table{delim: delim, mark: mark}
	n := min(len(d.lines), tryLines)
	widths := map[int]int{}
	groups := map[string]int{}
	decimals := 0
	for i, line := range d.lines[:n] {
		var cells []string
		if i >= from && !d.passed(line) {
			cells = split(line, delim)
		}
		kinds := make([]cellKind, len(cells))
		readable, text := 0, 0
		for i, c := range cells {
			var g string
			kinds[i], g = classify(c, mark)
			if g != "" {
				groups[g]++
			}
			switch kinds[i] {
			case textCell:
				text++
			case emptyCell:
			default:
				readable++
				if kinds[i] <= amountCell && strings.IndexByte(c, mark) >= 0 {
					decimals++
				}
			}
		}
		t.cells, t.kinds = append(t.cells, cells), append(t.kinds, kinds)
		if readable > 0 && text <= readable+1 {
			widths[len(cells)]++
			t.score += float64(readable) - 0.5*float64(text)
		}
	}
	if delim == ' ' {
		t.score *= blankFactor // "3/4/2026 1:02:03 PM" is one cell, wherever another delimiter is there
	}
	most := 0
	for w, k := range widths {
		if k > most || k == most && w > t.width {
			most, t.width = k, w
		}
	}
	for g, k := range groups {
		if k > groups[t.group] || t.group == "" {
			t.group = g
		}
	}
	// 1,234 beside 0.5 is thousands; alone it may be either, and then what needs no thousands mark wins.
	if t.group == "." || t.group == "," {
		t.score -= 0.6 * float64(groups[t.group])
		t.unsure = decimals == 0
		if decimals > 0 {
			t.score += 0.6 * float64(groups[t.group])
		}
	} else if decimals > 0 && mark == ',' && delim != ',' {
		t.unsure = threes(t.cells, mark)
	}
	if most == 0 {
		return t
	}
	t.settleKinds()
	if h.FirstData > 0 {
		t.first = min(h.FirstData-1, len(t.cells)-1)
	} else if t.first = t.start(); t.first < 0 {
		t.rows = 0
		return t
	}
	for i := t.first; i < len(t.cells); i++ {
		if t.fits(i) {
			t.rows++
		} else if len(t.cells[i]) > 0 {
			t.other++
		}
	}
	return t
}

// threes reports whether every number with the mark has three digits behind and one to three before.
func threes(cells [][]string, mark byte) bool {
	other := byte('.')
	if mark == '.' {
		other = ','
	}
	for _, row := range cells {
		for _, c := range row {
			if strings.IndexByte(c, mark) < 0 {
				continue
			}
			if kind, group := classify(c, other); kind == textCell || group == "" {
				if k, _ := classify(c, mark); k == numberCell {
					return false
				}
			}
		}
	}
	return true
}

// passed reports whether a line is blank, a comment or padding.
func (d *Detection) passed(line []byte) bool {
	text := trim(line)
	if len(text) == 0 {
		return true
	}
	c := d.Profile.Comment
	return c != "" && bytes.HasPrefix(text, []byte(c))
}

// settleKinds takes for each column the kind that most rows of the usual width have.
func (t *table) settleKinds() {
	counts := make([][numKinds]int, t.width)
	for i, kinds := range t.kinds {
		if len(kinds) != t.width || len(t.cells[i]) == 0 {
			continue
		}
		for c, k := range kinds {
			counts[c][k]++
		}
	}
	t.column = make([]cellKind, t.width)
	for c, n := range counts {
		best := emptyCell
		for k := numberCell; k < numKinds; k++ {
			if n[k] > 0 && (best == emptyCell || n[k] > n[best]) {
				best = k
			}
		}
		if best == numberCell && n[amountCell]*5 > n[numberCell] {
			best = amountCell
		}
		// A column of marks or a few headers' worth of text above nothing holds numbers, or is empty.
		if marks := n[markCell]; best == emptyCell && marks > 0 || best == textCell && marks > n[textCell] {
			best = numberCell
		}
		if best == textCell && n[textCell] <= 3 && n[emptyCell] > 3*n[textCell] {
			best = emptyCell
		}
		t.column[c] = best
	}
}

// fits reports whether line i reads as a row of the table.
func (t *table) fits(i int) bool {
	kinds := t.kinds[i]
	if len(kinds) == 0 || len(kinds) > t.width || len(kinds) < t.width && t.column[t.width-1] != emptyCell {
		return false
	}
	matched := 0
	for c, k := range kinds {
		want := t.column[c]
		switch {
		case k == emptyCell || k == markCell || want == textCell:
		case k == want || k == numberCell && want == amountCell || k == amountCell && want == numberCell:
			matched++
		default:
			return false
		}
	}
	return matched > 0
}

// start returns the first line from which most lines fit, −1 when there is none.
func (t *table) start() int {
	for i := range t.cells {
		if !t.fits(i) {
			continue
		}
		fit, seen := 0, 0
		for j := i; j < len(t.cells) && seen < 6; j++ {
			if len(t.cells[j]) == 0 {
				continue
			}
			seen++
			if t.fits(j) {
				fit++
			}
		}
		if fit*10 >= seen*6 {
			return i
		}
	}
	return -1
}

// commaTwice refuses a file in which the comma both separates fields and marks decimals: its rows can be
// read in more than one way.
func (d *Detection) commaTwice(t *table, h Hints) error {
	if t.delim != ',' || h.Delimiter != "" {
		return nil
	}
	names := 0 // cells of the line above, if it is text
	if up := d.above(t.first); up >= 0 {
		cells := d.headerCells(up, t)
		text := 0
		for _, c := range cells {
			if kind, _ := classify(c, t.mark); kind == textCell {
				text++
			}
		}
		if 2*text > len(cells) {
			names = len(cells)
		}
	}
	if names == t.width {
		return nil
	}
	leading, integers := 0, 0
	for i := t.first; i < len(t.cells); i++ {
		for c, cell := range t.cells[i] {
			if c > 0 && c < len(t.column) && t.column[c] == numberCell && digitsOnly(cell) {
				integers++
				if len(cell) > 1 && cell[0] == '0' {
					leading++
				}
			}
		}
	}
	varies := t.other*5 > t.rows
	if leading*20 > integers || names > 1 && names < t.width && integers > t.rows || varies && integers > t.rows {
		return fmt.Errorf("line %d: the comma seems to both separate fields and mark decimals, which can be read in several ways; "+
			"export with another delimiter or a decimal point, or name the delimiter", t.first+1)
	}
	return nil
}

func digitsOnly(s string) bool {
	for i := range len(s) {
		if s[i]-'0' > 9 {
			return false
		}
	}
	return s != ""
}
