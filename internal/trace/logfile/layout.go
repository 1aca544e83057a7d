package logfile

import (
	"fmt"
	"math"
	"slices"

	"railtally/internal/trace"
)

// channelWords are names of columns that say which channel a row belongs to; read only.
var channelWords = []string{"channel", "chan", "ch", "kanal", "name", "sensor", "signal", "tag", "source", "item", "parameter", "variable", "probe", "rail", "quantity", "measurement"}

// findLayout tells a table with a row per value, or a block of readings, from the usual one.
func (d *Detection) findLayout(t *table, h Hints) {
	p := &d.Profile
	p.Layout = Wide
	d.unitColumns(t)
	values := d.valueColumns()
	if h.Layout == Wide {
		return
	}
	if ch := d.channelColumn(t); ch >= 0 && len(values) == 1 && (h.Layout == Long || h.Layout == "") {
		p.Layout = Long
		p.Columns[ch].Role = ChannelName
		if v := &p.Columns[values[0]]; v.UnitColumn > 0 {
			v.Unit = "" // each channel has its own
		}
		d.say("layout", string(Long), "one value to a row, and column %s names its channel", p.Columns[ch].Name)
		return
	}
	if h.Layout == Block || d.sameReadings(t, values) {
		p.Layout = Block
		p.Time = TimeSpec{Kind: NoTime, Interval: p.Time.Interval}
		for i := range p.Columns {
			if p.Columns[i].Role == Value {
				p.Columns[i].Name = "reading"
			}
		}
		if h.Layout == "" {
			d.ask("layout", string(Block), "no header, no time, and all columns of one size: readings of one channel, row after row")
		}
	}
}

func (d *Detection) valueColumns() []int {
	var out []int
	for i, c := range d.Profile.Columns {
		if c.Role == Value {
			out = append(out, i)
		}
	}
	return out
}

// unitColumns ties columns whose every cell is a unit to the value column before them.
func (d *Detection) unitColumns(t *table) {
	p := &d.Profile
	for i := range p.Columns {
		if t.column[i] != textCell || i == 0 || p.Columns[i].Role != Skip {
			continue
		}
		texts := t.texts(i)
		if len(texts) == 0 {
			continue
		}
		all := true
		for _, s := range texts {
			if _, ok := readUnit(s); !ok {
				all = false
			}
		}
		v := i - 1
		for v >= 0 && p.Columns[v].Role != Value {
			v--
		}
		if all && v >= 0 && p.Columns[v].Unit == "" {
			p.Columns[i].Role = UnitName
			p.Columns[v].UnitColumn = i + 1
			u, _ := readUnit(texts[0])
			p.Columns[v].Unit = u.si.Symbol()
			d.say("unit of "+p.Columns[v].Name, "by row", "column %s gives it: %v", p.Columns[i].Name, texts)
		}
	}
}

// texts returns the different texts of a column, sorted; nil when there are more than 64.
func (t *table) texts(c int) []string {
	var out []string
	for i := t.first; i < len(t.cells); i++ {
		if c < len(t.cells[i]) && t.fits(i) && t.cells[i][c] != "" && !slices.Contains(out, t.cells[i][c]) {
			if out = append(out, t.cells[i][c]); len(out) > 64 {
				return nil
			}
		}
	}
	slices.Sort(out)
	return out
}

// channelColumn returns the column that names channels, −1 when there is none.
func (d *Detection) channelColumn(t *table) int {
	for i, c := range d.Profile.Columns {
		if c.Role != Skip || t.column[i] != textCell {
			continue
		}
		if n := len(t.texts(i)); n >= 1 && hasWord(c.Name, channelWords) || n >= 2 && n*4 <= t.rows && d.Profile.column(UnitName) >= 0 {
			return i
		}
	}
	return -1
}

// blockSpread is how far the means of columns may lie apart, relative to their size, in a block of
// readings of one quantity; common practice, no source.
const blockSpread = 0.1

// sameReadings reports whether a table without header and time holds readings of one channel.
func (d *Detection) sameReadings(t *table, values []int) bool {
	if d.Profile.Header > 0 || d.Profile.Time.Kind != NoTime || len(values) < 2 || len(values) != t.width {
		return false
	}
	var lo, hi float64
	for k, c := range values {
		v := t.numbers(c)
		v = slices.DeleteFunc(v, func(x float64) bool { return sentinel(x) != notMark })
		if len(v) == 0 {
			return false
		}
		m := trace.MomentsOf(v).Mean()
		if k == 0 {
			lo, hi = m, m
		}
		lo, hi = min(lo, m), max(hi, m)
	}
	return hi-lo <= blockSpread*max(math.Abs(lo), math.Abs(hi))
}

// finish says what is left to be settled.
func (d *Detection) finish(t *table) {
	p := &d.Profile
	for _, i := range d.valueColumns() {
		c := p.Columns[i]
		if p.Layout == Block && i > 0 {
			break
		}
		switch {
		case c.UnitColumn > 0 || d.said("unit of "+c.Name):
		case c.Unit == "":
			d.ask("unit of "+c.Name, "none", "no unit is in the file")
		case !c.InValue:
			d.say("unit of "+c.Name, c.Unit, "from the header, the row below it or the preamble")
		}
	}
	for i, c := range p.Columns {
		if c.Role == Skip && t.column[i] == textCell {
			d.say("column "+c.Name, "skip", "text that is neither a unit nor the name of a channel")
		}
	}
	d.checkInterval(t)
	if p.Group != "" {
		d.say("thousands", fmt.Sprintf("%q", p.Group), "stands between groups of three digits")
	}
}

// checkInterval compares the preamble's interval with the column of times.
func (d *Detection) checkInterval(t *table) {
	p := &d.Profile
	if p.Time.Kind != Elapsed {
		return
	}
	probe := &Detection{Profile: Profile{Delimiter: p.Delimiter, Decimal: p.Decimal}, Facts: d.Facts}
	probe.interval()
	stated := probe.Profile.Time.Interval
	v := t.numbers(p.column(Time))
	if stated == 0 || len(v) < 2 {
		return
	}
	u, _ := readUnit(p.Time.Unit)
	step := u.apply((v[len(v)-1]-v[0])/float64(len(v)-1)) * math.Pow10(u.power)
	if math.Abs(step-stated) <= 0.01*stated {
		d.say("interval", fmt.Sprintf("%g s", stated), "the preamble agrees with the column of times")
	} else {
		d.ask("interval", fmt.Sprintf("%.4g s", step), "the preamble says %g s", stated)
	}
}
