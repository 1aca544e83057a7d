package logfile

import (
	"math"

	"railtally/internal/trace"
)

// long reads rows of one value each, whose channel stands in a column.
func (pl *plan) long(s []byte, b *block) {
	if b.index == nil {
		b.index = map[string]int{}
	}
	fieldOf := &pl.fields[pl.valueCol]
	for i := 0; i < len(s); {
		b.lines++
		end := lineEnd(s, i)
		line := s[i:end]
		i = end + 1
		if text := trim(line); len(text) == 0 || pl.noData(text, text) {
			b.blankOr(line)
			continue
		}
		var cell, name, unitCell, date, timeCell []byte
		var t float64
		timed := pl.time.Kind == NoTime
		at, n := 0, 0
		for k := range pl.fields {
			if at > len(line) {
				break
			}
			c, e := nextCell(line, at, pl.delim)
			at = e + 1
			n = k + 1
			if pl.delim == ' ' {
				at = max(skipBlanks(line, e), e+1)
			}
			switch f := &pl.fields[k]; f.do {
			case value:
				cell = c
			case channelText:
				name = unquote(c)
			case unitText:
				unitCell = unquote(c)
			case seconds:
				t, timed = pl.number(c, f)
			case moment:
				timeCell = c
			case dateText1:
				date = c
			}
		}
		if timeCell != nil {
			t, timed = pl.moment(timeCell, date)
		}
		switch {
		case !timed:
			pl.skip(b, line, "no time that reads as the profile says")
			continue
		case len(name) == 0 || n <= pl.valueCol:
			pl.skip(b, line, "no channel or no value")
			continue
		}
		u := fieldOf.unit
		if fieldOf.byRow >= 0 {
			var ok bool
			if u, ok = readUnit(string(unitCell)); !ok && len(unitCell) > 0 {
				pl.skip(b, line, "unknown unit")
				continue
			}
		}
		ch := b.channel(string(name), u)
		x, readable := pl.read(cell, fieldOf, u)
		if readable && u.si != b.units[ch].si {
			x, readable = math.NaN(), false
		}
		if !readable {
			b.unreadable++
			b.remark(b.lines, "%q in unit %q is no value of channel %q", clip(cell), clip(unitCell), clip(name))
		}
		b.lt[ch] = append(b.lt[ch], t)
		b.v[ch] = append(b.v[ch], x)
		b.rows++
	}
	for k := range b.names {
		b.moments = append(b.moments[:k], trace.MomentsOf(b.v[k]))
	}
}

// channel returns the place of a channel in the block.
func (b *block) channel(name string, u unit) int {
	if k, ok := b.index[name]; ok {
		return k
	}
	k := len(b.names)
	b.index[name] = k
	b.names = append(b.names, name)
	b.units = append(b.units, u)
	for len(b.v) <= k {
		b.v = append(b.v, nil)
	}
	for len(b.lt) <= k {
		b.lt = append(b.lt, nil)
	}
	b.v[k], b.lt[k] = b.v[k][:0], b.lt[k][:0]
	return k
}

// readings reads rows that all hold values of one channel.
func (pl *plan) readings(s []byte, b *block) {
	v := b.v[0][:0]
	for i := 0; i < len(s); {
		b.lines++
		end := lineEnd(s, i)
		line := s[i:end]
		i = end + 1
		if text := trim(line); len(text) == 0 || pl.noData(text, text) {
			b.blankOr(line)
			continue
		}
		mark := len(v)
		good := false
		at := 0
		for k := 0; at <= len(line) && k < len(pl.fields); k++ {
			c, e := nextCell(line, at, pl.delim)
			at = e + 1
			if pl.delim == ' ' {
				at = max(skipBlanks(line, e), e+1)
			}
			f := &pl.fields[k]
			if f.do != value || k > 0 && len(c) == 0 && at > len(line) {
				continue
			}
			x, readable := pl.read(c, f, f.unit)
			if !readable {
				b.unreadable++
				b.remark(b.lines, "field %d: %q is no value", k+1, clip(c))
			}
			good = good || readable
			v = append(v, x)
		}
		if !good {
			v = v[:mark]
			pl.skip(b, line, "no value")
			continue
		}
		b.rows++
	}
	b.v[0] = v
	if len(b.t) < len(v) {
		b.t = append(b.t, make([]float64, len(v)-len(b.t))...)
	}
	b.moments = append(b.moments[:0], trace.MomentsOf(v))
}
