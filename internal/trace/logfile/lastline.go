package logfile

import (
	"bytes"
	"fmt"
)

// lastLine ends a text whose last line has no line end. Such a line may be whole, or a logger that lost
// power may have cut it: fewer fields than the line before, or a last number with fewer decimals or characters
// where all before it have the same, is left out and told, because half a number reads as another one.
func (f *feeder) lastLine(j *job, body []byte) []byte {
	end := bytes.LastIndexByte(body, '\n') + 1
	rest := bytes.TrimRight(body[end:], "\x00\x1a \t\r")
	if len(trim(rest)) == 0 {
		return body[:end]
	}
	line := f.lines + bytes.Count(body[:end], []byte{'\n'}) + 1
	head := body[:end]
	for range f.skip { // lines before the data are of another form
		head = head[min(lineEnd(head, 0)+1, len(head)):]
	}
	if why := f.cutShort(head, rest); why != "" {
		j.cut = &Remark{Line: line, What: fmt.Sprintf("the file ends within the line (%s): left out: %q", why, clip(rest))}
		return body[:end]
	}
	n := end + len(rest)
	body = body[:n+1] // there is room for one more byte
	body[n] = '\n'
	return body
}

// cutShort compares the last line with up to 20 before it and says what it lacks.
func (f *feeder) cutShort(before, rest []byte) string {
	pl := f.plan
	cells := split(rest, pl.delim)
	compared, fields, decimals, length := 0, 0, 0, 0
	filled, numbers, sameDecimals, sameLength := true, true, true, true
	for len(before) > 0 && compared < 20 {
		before = before[:len(before)-1]
		start := bytes.LastIndexByte(before, '\n') + 1
		line := trim(before[start:])
		before = before[:start]
		if len(line) == 0 {
			continue
		}
		c := split(line, pl.delim)
		last := c[len(c)-1]
		n, ok := readNumeral([]byte(last), pl.mark, pl.group)
		if compared == 0 {
			fields, decimals, length = len(c), n.decimals, len(last)
		}
		filled = filled && last != ""
		numbers = numbers && ok && len(c) == fields
		sameDecimals = sameDecimals && n.decimals == decimals
		sameLength = sameLength && len(last) == length
		compared++
	}
	last := cells[len(cells)-1]
	n, ok := readNumeral([]byte(last), pl.mark, pl.group)
	switch {
	case compared > 0 && len(cells) < fields && len(cells) <= pl.last:
		return fmt.Sprintf("%d of %d fields", len(cells), fields)
	case len(cells) == fields && filled && last == "" && compared > 0:
		return "its last field is empty"
	case len(cells) != fields || !numbers || compared < 3:
		return ""
	case !ok && readMark(last) == notMark:
		return "no last value"
	case ok && sameDecimals && n.decimals < decimals:
		return fmt.Sprintf("%d of %d decimals", n.decimals, decimals)
	case ok && sameLength && len(last) < length:
		return fmt.Sprintf("%d of %d characters", len(last), length)
	}
	return ""
}
