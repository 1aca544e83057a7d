package logfile

import (
	"bytes"
	"strings"

	"railtally/internal/quantity"
)

// A cellKind is what one cell looks like.
type cellKind uint8

const (
	emptyCell  cellKind = iota
	markCell            // overload or missing
	numberCell          // 1.23
	amountCell          // 1.23 mV
	stampCell           // date and time of day
	dateCell
	clockCell
	textCell
	numKinds
)

// group marks that are looked for, besides the one of . and , that is not the decimal mark
var groupMarks = [...]string{"'", "’", " ", "\u00a0", "\u202f"}

// classify tells what a cell looks like when mark is the decimal mark. A number that is readable only
// with thousands marks reports the mark.
func classify(cell string, mark byte) (kind cellKind, group string) {
	cell = strings.TrimSpace(cell)
	if cell == "" {
		return emptyCell, ""
	}
	if len(cell) > 64 {
		return textCell, ""
	}
	b := []byte(cell)
	if n, ok := readNumeral(b, mark, ""); ok {
		if len(n.rest) == 0 {
			return numberCell, ""
		}
		if u, ok := readUnit(string(n.rest)); ok && u.si != quantity.Second {
			return amountCell, ""
		}
	}
	if st, ok := parseStamp(b, YMD); ok {
		return stampKind(st), ""
	}
	for _, order := range []string{DMY, MDY} {
		if st, ok := parseStamp(b, order); ok {
			return stampKind(st), ""
		}
	}
	if readMark(cell) != notMark {
		return markCell, ""
	}
	other := "."
	if mark == '.' {
		other = ","
	}
	for _, g := range append([]string{other}, groupMarks[:]...) {
		if !strings.Contains(cell, g) {
			continue
		}
		if n, ok := readNumeral(b, mark, g); ok && n.grouped && len(n.rest) == 0 {
			return numberCell, g
		}
	}
	if n, ok := readNumeral(b, mark, ""); ok && len(n.rest) > 0 {
		if _, ok := readUnit(string(n.rest)); ok {
			return amountCell, ""
		}
	}
	return textCell, ""
}

func stampKind(st stamp) cellKind {
	switch {
	case st.date && st.clock:
		return stampCell
	case st.date:
		return dateCell
	}
	return clockCell
}

// split cuts a line at the delimiter, outside of quotes; a blank delimiter stands for any run of blanks.
// Quotes around a cell are taken off and doubled ones inside it halved.
func split(line []byte, delim byte) []string {
	cells := make([]string, 0, 8)
	i := 0
	if delim == ' ' {
		line = bytes.TrimSpace(line)
	}
	for {
		cell, end := nextCell(line, i, delim)
		cells = append(cells, string(unquote(cell)))
		if end >= len(line) {
			return cells
		}
		i = end + 1
		if delim == ' ' {
			for i < len(line) && (line[i] == ' ' || line[i] == '\t') {
				i++
			}
		}
	}
}

// nextCell returns the cell that begins at line[i] and where its delimiter, or the end, stands.
func nextCell(line []byte, i int, delim byte) (cell []byte, end int) {
	j := i
	for j < len(line) && (line[j] == ' ' || line[j] == '\t') && line[j] != delim {
		j++
	}
	if j < len(line) && line[j] == '"' {
		for k := j + 1; k < len(line) && line[k] != '\n'; k++ {
			if line[k] != '"' {
				continue
			}
			if k+1 < len(line) && line[k+1] == '"' {
				k++
				continue
			}
			for k++; k < len(line) && line[k] != delim && line[k] != '\n'; k++ {
			}
			return trim(line[j:k]), k
		}
	}
	for j < len(line) && line[j] != delim && line[j] != '\n' && !(delim == ' ' && line[j] == '\t') {
		j++
	}
	return trim(line[i:j]), j
}

// trim takes blanks and line ends off both sides.
func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] <= ' ' || b[0] == 0x7F) {
		b = b[1:]
	}
	for len(b) > 0 && b[len(b)-1] <= ' ' {
		b = b[:len(b)-1]
	}
	return b
}

func unquote(cell []byte) []byte {
	if len(cell) < 2 || cell[0] != '"' || cell[len(cell)-1] != '"' {
		return cell
	}
	cell = cell[1 : len(cell)-1]
	if bytes.IndexByte(cell, '"') < 0 {
		return trim(cell)
	}
	return trim(bytes.ReplaceAll(cell, []byte(`""`), []byte(`"`)))
}
