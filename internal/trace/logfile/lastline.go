package logfile

import (
	"bytes"
	"fmt"
)

// lastLine ends a text whose last line has no line end. Such a line may be whole, or a logger that lost
// power may have cut it: fewer fields than the line before, or a last number with fewer decimals where
// all before it have the same, is left out and told, because half a number reads as another one.
func (f *feeder) lastLine(j *job, body []byte) []byte {
	end := bytes.LastIndexByte(body, '\n') + 1
	rest := bytes.TrimRight(body[end:], "\x00\x1a \t\r")
	if len(trim(rest)) == 0 {
		return body[:end]
	}
	line := f.lines + bytes.Count(body[:end], []byte{'\n'}) + 1
	if why := f.cutShort(body[:end], rest); why != "" {
		j.cut = &Remark{Line: line, What: fmt.Sprintf("the file ends within the line (%s): left out: %q", why, clip(rest))}
		return body[:end]
	}
	n := end + len(rest)
	body = body[:n+1] // there is room for one more byte
	body[n] = '\n'
	return body
}

// cutShort compares the last line with up to 20 before it.
func (f *feeder) cutShort(before, rest []byte) string {
	pl := f.plan
	cells := split(rest, pl.delim)
	same, compared, fields := true, 0, 0
	decimals := -1
	for len(before) > 0 && compared < 20 {
		before = before[:len(before)-1]
		start := bytes.LastIndexByte(before, '\n') + 1
		line := trim(before[start:])
		before = before[:start]
		if len(line) == 0 {
			continue
		}
		c := split(line, pl.delim)
		n, ok := readNumeral([]byte(c[len(c)-1]), pl.mark, pl.group)
		if compared == 0 {
			fields = len(c)
			decimals = n.decimals
		}
		same = same && ok && n.decimals == decimals && len(c) == fields
		compared++
	}
	switch {
	case compared == 0:
		return ""
	case len(cells) < fields && len(cells) <= pl.last:
		return fmt.Sprintf("%d of %d fields", len(cells), fields)
	case len(cells) != fields || !same || compared < 3:
		return ""
	}
	if n, ok := readNumeral([]byte(cells[len(cells)-1]), pl.mark, pl.group); ok && n.decimals < decimals {
		return fmt.Sprintf("%d of %d decimals", n.decimals, decimals)
	}
	return ""
}
