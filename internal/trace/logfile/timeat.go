package logfile

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// timeAt takes column i for the time and finds out how it is written.
func (d *Detection) timeAt(t *table, i int, h Hints) {
	p := &d.Profile
	c := &p.Columns[i]
	c.Role = Time
	switch t.column[i] {
	case stampCell, dateCell:
		p.Time.Kind = DateTime
		p.Time.Order = d.dateOrder(t, i, h)
		d.zoned(t, i)
	case clockCell:
		d.clockTime(t, i, h)
	default:
		d.numberTime(t, i)
	}
	if h.Kind != "" {
		p.Time.Kind = h.Kind
		if p.Time.Unit == "" {
			p.Time.Unit = "s"
		}
	}
	c.Unit, c.InValue = "", false
	d.say("time", c.Name, "%s", describeTime(p.Time))
}

func describeTime(s TimeSpec) string {
	switch s.Kind {
	case Elapsed:
		return "numbers that ascend, in " + s.Unit
	case Epoch:
		return "numbers of the size of a Unix epoch in " + s.Unit
	case Serial:
		return "numbers of the size of a spreadsheet's day count"
	case DateTime:
		return "date and time of day, " + s.Order
	case Clock:
		if s.Date != "" {
			return "time of day on " + s.Date
		}
		return "hours, minutes and seconds without a date"
	}
	return "written as " + string(s.Kind)
}

// dateOrder settles which group of a date is the day.
func (d *Detection) dateOrder(t *table, i int, h Hints) string {
	if h.Order != "" {
		return h.Order
	}
	var st stamp
	first, second, ampm, dots, named := 0, 0, false, false, false
	four := false
	for r := t.first; r < len(t.cells); r++ {
		if i >= len(t.cells[r]) {
			continue
		}
		cell := []byte(t.cells[r][i])
		ok := false
		for _, order := range []string{YMD, DMY, MDY} {
			if st, ok = parseStamp(cell, order); ok {
				break
			}
		}
		if !ok || !st.date {
			continue
		}
		first, second = max(first, st.a), max(second, st.b)
		ampm = ampm || st.ampm
		dots = dots || st.sep == '.'
		named = named || st.months != ""
		four = four || st.yearDig == 4 || st.yearDig == 8
	}
	switch {
	case four:
		d.say("date order", YMD, "the year comes first, in four digits")
		return YMD
	case named:
		d.say("date order", DMY, "the month is named")
		return DMY
	case first > 31:
		d.say("date order", YMD, "the first group exceeds 31")
		return YMD
	case first > 12:
		d.say("date order", DMY, "the first group reaches %d", first)
		return DMY
	case second > 12:
		d.say("date order", MDY, "the second group reaches %d", second)
		return MDY
	case dots:
		d.say("date order", DMY, "day first is how dates with dots are written")
		return DMY
	case ampm:
		d.ask("date order", MDY, "no group exceeds 12; month first is usual beside AM and PM")
		return MDY
	}
	d.ask("date order", DMY, "no group exceeds 12: day first or month first is not in the file")
	return DMY
}

// zoned says whether the times name their zone.
func (d *Detection) zoned(t *table, i int) {
	for r := t.first; r < len(t.cells); r++ {
		if i < len(t.cells[r]) && t.kinds[r][i] == stampCell {
			for _, order := range []string{YMD, d.Profile.Time.Order} {
				if st, ok := parseStamp([]byte(t.cells[r][i]), order); ok {
					if st.zone {
						d.say("zone", "in the file", "each time names its offset from UTC")
					} else {
						d.ask("zone", "unknown", "times name no zone")
					}
					return
				}
			}
		}
	}
}

// clockTime tells mm:ss from hh:mm and finds a date in the preamble.
func (d *Detection) clockTime(t *table, i int, h Hints) {
	p := &d.Profile
	p.Time.Kind = Clock
	two, big, fraction, ampm := true, 0, false, false
	for r := t.first; r < len(t.cells); r++ {
		if i >= len(t.cells[r]) {
			continue
		}
		if st, ok := parseStamp([]byte(t.cells[r][i]), YMD); ok {
			two = two && st.colons == 1
			big, fraction, ampm = max(big, st.hours), fraction || st.fraction, ampm || st.ampm
		}
	}
	if two && !ampm && (fraction || big > 23 || hasWord(p.Columns[i].Name, []string{"elapsed", "relative", "dauer"})) {
		p.Time.Kind = MinSec
		return
	}
	if k := p.column(Date); k >= 0 {
		p.Time.Order = d.dateOrder(t, k, h)
		d.ask("zone", "unknown", "times name no zone")
		return
	}
	if hasWord(p.Columns[i].Name, []string{"elapsed", "relative", "dauer"}) {
		return
	}
	for _, line := range d.Preamble {
		if date := dateIn(line); date != "" {
			p.Time.Date = date
			d.say("date", date, "the preamble gives it: %s", strings.TrimSpace(line))
			return
		}
	}
}

// dateIn returns a date that a line of the preamble holds, as YYYY-MM-DD.
func dateIn(line string) string {
	words := strings.FieldsFunc(line, func(r rune) bool { return strings.ContainsRune(" ;,\t=\"", r) })
	for _, w := range words {
		for _, order := range []string{YMD, DMY, MDY} {
			st, ok := parseStamp([]byte(w), order)
			if ok && st.date && (st.yearDig == 4 || st.sep == '.' && order == DMY || st.a > 12 || st.b > 12) {
				return dateText(st.sec)
			}
		}
	}
	return ""
}

// numberTime tells seconds from an epoch and a spreadsheet's days.
func (d *Detection) numberTime(t *table, i int) {
	p := &d.Profile
	c := p.Columns[i]
	v := t.numbers(i)
	p.Time.Kind, p.Time.Unit = Elapsed, "s"
	if c.Unit != "" {
		p.Time.Unit = c.Unit
	}
	if len(v) == 0 {
		return
	}
	lo, hi := slices.Min(v), slices.Max(v)
	const from, to = 946684800, 4102444800 // 2000-01-01 and 2100-01-01
	for _, e := range []struct {
		unit  string
		scale float64
	}{{"s", 1}, {"ms", 1e3}, {"us", 1e6}, {"ns", 1e9}} {
		if lo >= from*e.scale && hi < to*e.scale && (c.Unit == "" || c.Unit == e.unit || e.unit == "us" && strings.HasSuffix(c.Unit, "s")) {
			p.Time.Kind, p.Time.Unit = Epoch, e.unit
			return
		}
	}
	if lo >= 36526 && hi < 73051 && c.Unit == "" && !integers(v) { // 2000 to 2100 in days
		span := math.Abs(hi - lo)
		if span < float64(len(v)) && hasWord(c.Name, []string{"date", "datum", "datetime", "fecha", "data", "timestamp", "zeitstempel", "zeitpunkt"}) {
			p.Time.Kind, p.Time.Unit = Serial, ""
			d.ask("time", c.Name, "numbers near %g are taken for a spreadsheet's days since 1900", lo)
			return
		}
	}
	if c.Unit == "" {
		d.say("time unit", "s", "no unit is given; %s", fmt.Sprintf("values run from %g to %g", lo, hi))
	}
}
