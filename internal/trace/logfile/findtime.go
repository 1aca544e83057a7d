package logfile

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"railtally/internal/quantity"
)

// timeWords are names of time columns in several languages; read only.
var timeWords = []string{"time", "timestamp", "t", "elapsed", "zeit", "zeitpunkt", "zeitstempel", "uhrzeit", "datum", "date", "temps",
	"heure", "tiempo", "hora", "fecha", "tempo", "ora", "data", "tijd", "datetime", "epoch", "unix", "seconds", "sec", "secs", "relative", "dauer"}

// counterWords are names of columns that number the rows; read only.
var counterWords = []string{"nr", "no", "index", "idx", "scan", "sample", "samples", "point", "record", "row", "#", "n", "number", "nummer", "num", "count", "seq", "lfd"}

func hasWord(name string, words []string) bool {
	for _, w := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return r == ' ' || r == '_' || r == '/' || r == '-' || r == '.' || r == '(' || r == ')' || r == '[' || r == ']'
	}) {
		for _, t := range words {
			if w == t {
				return true
			}
		}
	}
	return false
}

func timeWord(name string) bool    { return hasWord(name, timeWords) }
func counterWord(name string) bool { return hasWord(name, counterWords) }

// findTime chooses the column of times and how they are written.
func (d *Detection) findTime(t *table, h Hints) {
	p := &d.Profile
	p.Time = TimeSpec{Kind: NoTime}
	d.counters(t)
	if h.Time < 0 {
		d.say("time", "none", "as asked for")
		return
	}
	if h.Time > 0 && h.Time <= t.width {
		d.timeAt(t, h.Time-1, h)
		return
	}
	stampCol, dateCol, clockCol := -1, -1, -1
	for i, k := range t.column {
		switch {
		case k == stampCell && stampCol < 0:
			stampCol = i
		case k == dateCell && dateCol < 0:
			dateCol = i
		case k == clockCell && clockCol < 0:
			clockCol = i
		}
	}
	switch {
	case stampCol >= 0:
		d.timeAt(t, stampCol, h)
	case clockCol >= 0:
		if dateCol >= 0 {
			p.Columns[dateCol].Role = Date
		}
		d.timeAt(t, clockCol, h)
	case dateCol >= 0:
		d.timeAt(t, dateCol, h)
	default:
		d.numericTime(t, h)
	}
	for i, k := range t.column { // further times are not values
		if c := &p.Columns[i]; c.Role == Value && (k == stampCell || k == dateCell || k == clockCell) {
			c.Role = Skip
			d.say("column "+c.Name, "skip", "a second column of times")
		}
	}
}

// counters marks columns that number the rows.
func (d *Detection) counters(t *table) {
	p := &d.Profile
	for i := range p.Columns {
		c := &p.Columns[i]
		if c.Role != Value || t.column[i] != numberCell || c.Unit != "" || !counterWord(c.Name) {
			continue
		}
		if v := t.numbers(i); ascending(v) && integers(v) {
			c.Role = Counter
			d.say("column "+c.Name, "counter", "whole numbers that ascend, named as a counter")
		}
	}
}

// numbers returns the plain numbers of a column in the head.
func (t *table) numbers(c int) []float64 {
	var out []float64
	for i := t.first; i < len(t.cells); i++ {
		if c >= len(t.kinds[i]) || t.kinds[i][c] != numberCell || !t.fits(i) {
			continue
		}
		if n, ok := readNumeral([]byte(t.cells[i][c]), t.mark, t.group); ok {
			if x, ok := n.value(0); ok {
				out = append(out, x)
			}
		}
	}
	return out
}

// ascending reports whether nearly all steps go up and none of the rest is more than a slip.
func ascending(v []float64) bool {
	if len(v) < 2 {
		return false
	}
	up, level := 0, 0
	for i := 1; i < len(v); i++ {
		if v[i] > v[i-1] {
			up++
		} else if v[i] == v[i-1] {
			level++
		}
	}
	return up > 0 && (up+level)*10 >= 9*(len(v)-1) && up*20 >= len(v)
}

func integers(v []float64) bool {
	for _, x := range v {
		if x != math.Trunc(x) {
			return false
		}
	}
	return true
}

// uniform reports whether all steps are the same within 1 %.
func uniform(v []float64) bool {
	if len(v) < 4 {
		return false
	}
	step := (v[len(v)-1] - v[0]) / float64(len(v)-1)
	for i := 1; i < len(v); i++ {
		if math.Abs(v[i]-v[i-1]-step) > 0.01*math.Abs(step) {
			return false
		}
	}
	return step > 0
}

// numericTime looks for a time among columns of numbers: by name, or the first when it counts evenly.
func (d *Detection) numericTime(t *table, h Hints) {
	p := &d.Profile
	for i := range p.Columns {
		c := &p.Columns[i]
		if c.Role != Value || t.column[i] != numberCell {
			continue
		}
		u, known := readUnit(c.Unit)
		seconds := known && u.si == quantity.Second && c.Unit != ""
		if (seconds || c.Unit == "" && timeWord(c.Name)) && (len(t.numbers(i)) < 2 || ascending(t.numbers(i))) {
			d.timeAt(t, i, h)
			return
		}
	}
	if c := &p.Columns[0]; p.Header == 0 && len(p.Columns) > 1 && c.Role == Value && t.column[0] == numberCell {
		if v := t.numbers(0); uniform(v) {
			if integers(v) && v[1]-v[0] == 1 && (v[0] == 0 || v[0] == 1) {
				c.Role = Counter
				d.ask("column 1", "counter", "without a header, numbers that rise by one are taken to count the rows")
				return
			}
			d.timeAt(t, 0, h)
			d.ask("time", "column 1", "without a header, evenly rising numbers are taken for time in seconds")
			return
		}
	}
	if len(t.numbers(0)) > 0 {
		d.interval()
	}
}

// interval takes the time between rows from the preamble, and asks where it isn't there.
func (d *Detection) interval() {
	for _, key := range slices.Sorted(maps.Keys(d.Facts)) {
		value := d.Facts[key]
		k := strings.ToLower(key)
		if !strings.Contains(k, "interval") && !strings.Contains(k, "sample period") {
			continue
		}
		text := strings.ReplaceAll(value, d.Profile.Delimiter, " ")
		n, ok := readNumeral([]byte(text), d.Profile.Decimal[0], "")
		if !ok {
			continue
		}
		u := unit{si: quantity.Second}
		if rest := strings.FieldsFunc(string(n.rest), func(r rune) bool { return strings.ContainsRune(" ,;\t", r) }); len(rest) > 0 {
			if u, ok = readUnit(rest[0]); !ok || u.si != quantity.Second {
				continue
			}
		}
		if x, ok := n.value(u.power); ok && u.apply(x) > 0 {
			d.Profile.Time.Interval = u.apply(x)
			d.say("time", fmt.Sprintf("%g s", u.apply(x)), "no column of times; the preamble says %s", key)
			return
		}
	}
	d.ask("time", "none", "no column of times: the interval between samples is not in the file")
}
