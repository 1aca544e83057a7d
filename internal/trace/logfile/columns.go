package logfile

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"railtally/internal/quantity"
)

// columns names the columns and finds their units.
func (d *Detection) columns(t *table) {
	p := &d.Profile
	var names, units []string
	if p.Header > 0 {
		names = d.headerCells(p.Header-1, t)
		names = d.upperHeader(names, t)
	}
	if p.Units > 0 {
		units = d.headerCells(p.Units-1, t)
	}
	at := func(s []string, i int) string {
		if i < len(s) {
			return strings.TrimSpace(s[i])
		}
		return ""
	}
	p.Columns = make([]Column, t.width)
	d.Decimals = make([]int, t.width)
	for i := range p.Columns {
		c := &p.Columns[i]
		c.Header = at(names, i)
		c.Name, c.Unit = splitUnit(c.Header)
		if u := at(units, i); u != "" {
			if _, ok := readUnit(u); ok {
				c.Name, c.Unit = c.Header, strings.Trim(u, "[]() ")
			}
		}
		if c.Name == "" {
			c.Name = fmt.Sprintf("column %d", i+1)
		}
		switch t.column[i] {
		case emptyCell:
			c.Role = Skip
			if i == t.width-1 && c.Header == "" {
				d.say("column "+fmt.Sprint(i+1), "skip", "a delimiter at the end of each line is no further column")
			}
		case textCell:
			c.Role = Skip
		default:
			c.Role = Value
		}
		d.Decimals[i] = t.decimals(i)
		if t.column[i] == amountCell {
			d.unitInValue(t, i)
		}
	}
	d.unitFromPreamble()
}

// upperHeader joins a second row of names above the first where the names of the first repeat.
func (d *Detection) upperHeader(names []string, t *table) []string {
	seen := map[string]bool{}
	repeated := false
	for _, n := range names {
		repeated = repeated || n != "" && seen[n]
		seen[n] = true
	}
	if !repeated {
		return names
	}
	up := d.above(d.Profile.Header - 1)
	if up < 0 {
		return names
	}
	upper := d.headerCells(up, t)
	if !headerRow(upper, t) {
		return names
	}
	joined := slices.Clone(names)
	last := ""
	for i := range joined {
		if i < len(upper) && upper[i] != "" {
			last = upper[i] // a channel's name may stand once, above several columns
		}
		joined[i] = strings.TrimSpace(last + " " + joined[i])
	}
	d.say("header", fmt.Sprintf("%d and %d", up+1, d.Profile.Header), "names repeat, and a row above tells them apart")
	return joined
}

// decimals returns the most digits behind the decimal mark of a column of numbers, −1 for none.
func (t *table) decimals(c int) int {
	most := -1
	for i := t.first; i < len(t.cells); i++ {
		if c < len(t.kinds[i]) && (t.kinds[i][c] == numberCell) && t.fits(i) {
			if n, ok := readNumeral([]byte(t.cells[i][c]), t.mark, t.group); ok {
				most = max(most, n.decimals)
			}
		}
	}
	return most
}

// unitInValue settles of what kind the amounts of a column are.
func (d *Detection) unitInValue(t *table, i int) {
	c := &d.Profile.Columns[i]
	counts := map[quantity.Unit]int{}
	texts := map[string]bool{}
	for r := t.first; r < len(t.cells); r++ {
		if i >= len(t.cells[r]) || t.kinds[r][i] != amountCell {
			continue
		}
		n, _ := readNumeral([]byte(t.cells[r][i]), t.mark, t.group)
		if u, ok := readUnit(string(n.rest)); ok {
			counts[u.si]++
			texts[string(n.rest)] = true
		}
	}
	best, most := quantity.None, 0
	for u, k := range counts {
		if k > most || k == most && u < best {
			best, most = u, k
		}
	}
	if best == quantity.None && most == 0 {
		return
	}
	c.InValue = true
	if c.Unit == "" {
		c.Unit = best.Symbol()
		if best == quantity.None {
			c.Unit = "%"
		}
	}
	var list []string
	for s := range texts {
		list = append(list, s)
	}
	slices.Sort(list)
	d.say("unit of "+c.Name, "in value", "each value has its own unit: %s", strings.Join(list, ", "))
	if len(counts) > 1 {
		d.ask("unit of "+c.Name, c.Unit, "values of several kinds stand in the column; those of another kind are left out")
	}
}

// unitFromPreamble gives columns without a unit the one that the preamble states for values.
func (d *Detection) unitFromPreamble() {
	for _, key := range slices.Sorted(maps.Keys(d.Facts)) {
		value := d.Facts[key]
		k := strings.ToLower(key)
		if !strings.Contains(k, "unit") || strings.Contains(k, "horizontal") || strings.Contains(k, "time") {
			continue
		}
		text, _, _ := strings.Cut(value, d.Profile.Delimiter)
		u, ok := readUnit(text)
		if !ok || u.si == quantity.Second {
			continue
		}
		for i := range d.Profile.Columns {
			c := &d.Profile.Columns[i]
			if c.Role == Value && c.Unit == "" && !timeWord(c.Name) {
				c.Unit = strings.TrimSpace(text)
				d.say("unit of "+c.Name, c.Unit, "the preamble says %s", key)
			}
		}
	}
}
