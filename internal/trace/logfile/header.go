package logfile

import (
	"bytes"
	"fmt"
	"strings"
)

// findHeader looks upwards from the first data line for a row of names, and a row of units between.
func (d *Detection) findHeader(t *table, h Hints) {
	p := &d.Profile
	if h.Header < 0 {
		d.say("header", "none", "as asked for")
		return
	}
	if h.Header > 0 && h.Header <= t.first {
		p.Header = h.Header
		d.say("header", fmt.Sprint(p.Header), "as asked for")
		if below := h.Header; below < t.first && unitsRow(d.headerCells(below, t)) {
			p.Units = below + 1
		}
		return
	}
	near := d.above(t.first)
	if near < 0 || !headerRow(d.headerCells(near, t), t) {
		d.say("header", "none", "the line before the first row of numbers is no row of %d names", t.width)
		return
	}
	p.Header = near + 1
	if unitsRow(d.headerCells(near, t)) {
		// A lone row of V and A may be names as well as units: it is units only below a row of names.
		if up := d.above(near); up >= 0 && namesRow(d.headerCells(up, t), t) {
			p.Header, p.Units = up+1, near+1
			d.say("units", fmt.Sprint(p.Units), "every cell of the line is a unit, and names stand above it")
		}
	}
	d.say("header", fmt.Sprint(p.Header), "names in as many fields as the rows have")
}

// above returns the nearest line before i that is not blank, −1 when there is none.
func (d *Detection) above(i int) int {
	for i--; i >= 0; i-- {
		if len(trim(d.lines[i])) > 0 {
			return i
		}
	}
	return -1
}

// headerCells cuts a line as a header is cut: without a comment mark, at two blanks rather than one
// where that gives the right number.
func (d *Detection) headerCells(i int, t *table) []string {
	line := bytes.TrimRight(d.lines[i], "\r")
	if c := d.Profile.Comment; c != "" {
		line = []byte(strings.TrimPrefix(string(line), c))
		if t.delim != '\t' {
			line = trim(line)
		}
	}
	cells := split(line, t.delim)
	if t.delim == ' ' && len(cells) != t.width {
		var wide []string
		for _, part := range strings.Split(string(line), "  ") {
			if part = strings.TrimSpace(part); part != "" {
				wide = append(wide, part)
			}
		}
		if len(wide) == t.width {
			return wide
		}
	}
	return cells
}

// headerRow reports whether cells name the columns: most that are filled are text, and there are as many
// as fields, give or take an empty one at the end.
func headerRow(cells []string, t *table) bool {
	n := len(cells)
	if n > t.width+1 || n < t.width-1 || n < t.width && t.column[t.width-1] != emptyCell || n > t.width && cells[n-1] != "" {
		return false
	}
	text, filled := 0, 0
	for _, c := range cells {
		kind, _ := classify(c, t.mark)
		switch {
		case kind == emptyCell:
			continue
		case kind == textCell || kind == markCell && strings.ContainsAny(strings.ToLower(c), "abcdefghijklmnopqrstuvwxyz"):
			text++
		}
		filled++
	}
	return text > 0 && 2*text > filled && 2*filled >= t.width
}

// namesRow reports whether cells name every column that holds data and are no units themselves.
func namesRow(cells []string, t *table) bool {
	if !headerRow(cells, t) || unitsRow(cells) {
		return false
	}
	for c, cell := range cells {
		if c < t.width && t.column[c] != emptyCell && cell == "" {
			return false
		}
	}
	return true
}

// unitsRow reports whether every filled cell is a unit, or says that there is none.
func unitsRow(cells []string) bool {
	units := 0
	for _, c := range cells {
		c = strings.TrimSpace(c)
		if c == "" || c == "-" || c == "[]" || c == "()" || c == "[-]" {
			continue
		}
		if _, ok := readUnit(c); !ok && !timeFormat(c) {
			return false
		}
		units++
	}
	return units > 0
}

// timeFormat recognises what a units row writes below a time: hh:mm:ss, dd.mm.yyyy.
func timeFormat(c string) bool {
	c = strings.Trim(strings.ToLower(c), "[]()")
	return c != "" && strings.Trim(c, "hmsfdyjta:./- ") == "" && strings.ContainsAny(c, ":./-")
}

// splitUnit takes the unit off a header: "Kanal 1 (V)", "I [mA]", "U / V", "Rate, MB/s", "current_A".
// It returns the whole header as the name when no unit is found.
func splitUnit(header string) (name, text string) {
	header = strings.TrimSpace(header)
	if n := len(header); n > 2 {
		if open := strings.LastIndexAny(header, "([{"); open >= 0 && strings.ContainsRune(")]}", rune(header[n-1])) {
			inner := header[open+1 : n-1]
			if _, ok := readUnit(inner); ok {
				return strings.TrimSpace(header[:open]), strings.TrimSpace(inner)
			}
			if timeFormat(inner) {
				return strings.TrimSpace(header[:open]), ""
			}
			return header, ""
		}
	}
	for _, sep := range []string{", ", ",", " / ", " in ", " ", "_", "/"} {
		i := strings.LastIndex(header, sep)
		if i <= 0 {
			continue
		}
		left, right := strings.TrimSpace(header[:i]), header[i+len(sep):]
		if _, ok := readUnit(right); !ok || weakUnit(left, right, sep) {
			continue
		}
		return strings.TrimRight(left, " ,/:"), right
	}
	return header, ""
}

// weakUnit reports whether a last word is more likely part of the name: letters of channels ("Phase A"),
// and words such as min, H or F behind a blank or an underscore.
func weakUnit(left, right, sep string) bool {
	if sep != " " && sep != "_" {
		return false
	}
	switch right {
	case "V", "W":
		return false
	case "A":
		fields := strings.FieldsFunc(strings.ToLower(left), func(r rune) bool { return r == ' ' || r == '_' })
		switch fields[len(fields)-1] {
		case "channel", "ch", "rail", "kanal", "input", "phase", "sensor", "port", "probe", "board", "group", "bank", "side", "line", "output":
			return true
		}
		return false
	case "C", "F", "H", "B", "K", "h", "d", "m", "bit":
		return true
	}
	return strings.EqualFold(right, "min") || strings.EqualFold(right, "d") || strings.EqualFold(right, "h") || strings.EqualFold(right, "amp")
}
