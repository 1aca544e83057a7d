package logfile

import (
	"bytes"
	"fmt"
	"math"

	"railtally/internal/trace"
)

// A block is the columns of some lines, and what was odd about them.
type block struct {
	lines   int // line ends
	rows    int
	t       []float64
	v       [][]float64 // by channel of the block
	moments []trace.Moments
	names   []string // Long: names of the block's channels
	units   []unit
	lt      [][]float64 // Long: times by channel
	text    []byte      // what was parsed, for reuse

	short, long, unreadable, skipped int
	remarks                          []Remark // line counts within the block
	index                            map[string]int
}

// A Remark is about one line.
type Remark struct {
	Line int    `json:"line"` // from 1
	What string `json:"what"`
}

// maxRemarks is how many remarks are kept of each block and of a whole file.
const maxRemarks = 100

func (b *block) remark(line int, what string, args ...any) {
	if len(b.remarks) < maxRemarks {
		b.remarks = append(b.remarks, Remark{Line: line, What: fmt.Sprintf(what, args...)})
	}
}

// reset empties the block and keeps its memory.
func (b *block) reset(channels int) {
	for len(b.v) < channels {
		b.v = append(b.v, nil)
	}
	b.lines, b.rows, b.short, b.long, b.unreadable, b.skipped = 0, 0, 0, 0, 0, 0
	b.remarks, b.names, b.units = b.remarks[:0], b.names[:0], b.units[:0]
	clear(b.index)
	for i := range b.lt {
		b.lt[i] = b.lt[i][:0]
	}
}

// grow makes room for more rows.
func (b *block) grow(n int) {
	if len(b.t) >= n {
		return
	}
	n += n / 2
	b.t = append(b.t, make([]float64, n-len(b.t))...)
	for i := range b.v {
		b.v[i] = append(b.v[i], make([]float64, n-len(b.v[i]))...)
	}
}

// parse reads whole lines of text, the last of which ends with LF, into b.
func (pl *plan) parse(text []byte, b *block) {
	switch pl.layout {
	case Long:
		b.reset(0)
		pl.long(text, b)
	case Block:
		b.reset(1)
		pl.readings(text, b)
	default:
		b.reset(len(pl.channels))
		pl.wide(text, b)
	}
}

// wide reads rows of one time and a value for each channel.
func (pl *plan) wide(s []byte, b *block) {
	i := 0
	fields, delim, mark := pl.fields, pl.delim, pl.mark
	columns := pl.plainColumns(b)
	for i < len(s) {
		b.lines++
		if len(b.t) <= b.rows {
			b.grow(b.rows + 512)
			columns = pl.plainColumns(b)
		}
		row := b.rows
		if columns != nil {
			if end := plainRow(s, i, row, delim, mark, columns); end > 0 {
				b.rows++
				i = end
				continue
			}
		}
		start := i
		if pl.delim == ' ' {
			i = skipBlanks(s, i)
		}
		var done int
		timed := pl.time.Kind == NoTime
		var date []byte
		var timeCell []byte // of a time whose date stands behind it
		ok := true
	line:
		for k := range fields {
			f := &fields[k]
			if f.direct {
				x, end := shortNumber(s, i, mark, f.unit.power)
				if end < 0 {
					x, end = fastNumber(s, i, mark, f.unit.power)
				}
				if end > 0 {
					c := s[end]
					if c == delim || c == '\n' || c == '\r' {
						if f.do == value {
							b.v[f.slot][row] = x * f.gain
						} else {
							b.t[row] = x
							timed = true
						}
						done = k + 1
						i = end
						if c != delim {
							break line
						}
						i++
						if c != ' ' {
							continue
						}
						if i = skipBlanks(s, i); s[i] != '\n' && s[i] != '\r' {
							continue
						}
						break line
					}
				}
			}
			cell, end := nextCell(s, i, pl.delim)
			if k == 0 && pl.noData(cell, s[start:]) {
				ok = false
				i = lineEnd(s, start)
				break
			}
			switch f.do {
			case value:
				x, readable := pl.read(cell, f, f.unit)
				if !readable {
					b.unreadable++
					if b.unreadable <= 20 {
						b.remark(b.lines, "field %d: %q is no value", k+1, clip(cell))
					}
				}
				b.v[f.slot][row] = x
			case seconds:
				b.t[row], timed = pl.number(cell, f)
			case moment:
				if pl.dateBehind(k) && date == nil {
					timeCell = cell
				} else {
					b.t[row], timed = pl.moment(cell, date)
				}
			case dateText1:
				date = cell
				if timeCell != nil {
					b.t[row], timed = pl.moment(timeCell, date)
				}
			}
			done = k + 1
			if i = end; i >= len(s) || s[i] == '\n' {
				break
			}
			i++
			if pl.delim == ' ' {
				i = skipBlanks(s, i)
			}
		}
		end := lineEnd(s, i)
		if !ok {
			b.blankOr(s[start:end])
			i = end + 1
			continue
		}
		if !timed {
			pl.skip(b, s[start:end], "no time that reads as the profile says")
			i = end + 1
			continue
		}
		if done <= pl.last {
			if !pl.missingRest(b, row, done) {
				pl.skip(b, s[start:end], "no value")
				i = end + 1
				continue
			}
			b.short++
			if b.short <= 20 {
				b.remark(b.lines, "%d of %d fields: the rest is missing", done, len(pl.fields))
			}
		} else if end-i > 1 && pl.extra(s[i:end]) {
			b.long++
			if b.long <= 20 {
				b.remark(b.lines, "more than %d fields: the rest is left out", len(pl.fields))
			}
		}
		if pl.perRow {
			pl.rowUnits(s[start:end], b, row)
		}
		b.rows++
		i = end + 1
	}
	for k := range pl.channels {
		b.moments = append(b.moments[:k], trace.MomentsOf(b.v[k][:b.rows]))
	}
}

// extra reports whether more than blanks and delimiters is left of a row.
func (pl *plan) extra(rest []byte) bool {
	for _, c := range rest {
		if c != pl.delim && c > ' ' {
			return true
		}
	}
	return false
}

// dateBehind reports whether a date stands in a column behind the time of column k.
func (pl *plan) dateBehind(k int) bool {
	for _, f := range pl.fields[k+1:] {
		if f.do == dateText1 {
			return true
		}
	}
	return false
}

// missingRest fills the channels that a short row doesn't reach; it reports false when the row holds no
// value at all.
func (pl *plan) missingRest(b *block, row, done int) bool {
	some := false
	for k := range pl.fields {
		f := &pl.fields[k]
		if f.do != value {
			continue
		}
		if k < done {
			some = true
		} else {
			b.v[f.slot][row] = math.NaN()
		}
	}
	return some
}

// rowUnits reads again the values whose unit stands in another field of their row.
func (pl *plan) rowUnits(line []byte, b *block, row int) {
	cells := split(line, pl.delim)
	for k := range pl.fields {
		f := &pl.fields[k]
		if f.do != value || f.byRow < 0 || k >= len(cells) || f.byRow >= len(cells) {
			continue
		}
		u, ok := readUnit(cells[f.byRow])
		if !ok || f.unit.si != u.si {
			if x := b.v[f.slot][row]; x-x == 0 {
				b.unreadable++
				b.remark(b.lines, "field %d: unit %q is not that of the rows before", k+1, clip([]byte(cells[f.byRow])))
				b.v[f.slot][row] = math.NaN()
			}
			continue
		}
		b.v[f.slot][row], _ = pl.read([]byte(cells[k]), f, u)
	}
}

// noData reports whether a line is blank, padding or a comment; cell is its first.
func (pl *plan) noData(cell, rest []byte) bool {
	if len(cell) == 0 {
		line := rest[:lineEnd(rest, 0)]
		return len(trim(line)) == 0
	}
	return len(pl.comment) > 0 && bytes.HasPrefix(cell, pl.comment) || cell[0] == 0
}

// blankOr counts a line that holds no data; a comment is remarked on.
func (b *block) blankOr(line []byte) {
	if text := trim(line); len(text) > 0 && text[0] != 0 {
		b.remark(b.lines, "comment: %s", clip(text))
	}
}

// skip notes a line that is left out.
func (pl *plan) skip(b *block, line []byte, why string) {
	text := trim(bytes.Trim(line, " \t\r\x00\x1a"+string(pl.delim)))
	if len(text) == 0 {
		return
	}
	b.skipped++
	b.remark(b.lines, "%s: %q", why, clip(text))
}

func lineEnd(s []byte, i int) int {
	if i >= len(s) || s[i] == '\n' {
		return min(i, len(s))
	}
	if k := bytes.IndexByte(s[i:], '\n'); k >= 0 {
		return i + k
	}
	return len(s)
}

func skipBlanks(s []byte, i int) int {
	for i < len(s) && (s[i] == ' ' || s[i] == '\t') {
		i++
	}
	return i
}

// clip shortens a text for a message and takes control characters out of it.
func clip(b []byte) string {
	r := []rune(string(bytes.ToValidUTF8(b, []byte("?"))))
	if len(r) > 40 {
		r = append(r[:40], '…')
	}
	for i, c := range r {
		if c < ' ' {
			r[i] = ' '
		}
	}
	return string(r)
}
