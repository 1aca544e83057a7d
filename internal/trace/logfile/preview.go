package logfile

import "bytes"

// A Preview is the first rows as they are written, with what the columns are taken for.
type Preview struct {
	Lines   []int // of the file, from 1
	Columns []Column
	Rows    [][]string
}

// Preview returns the first n rows of the table, cut into the columns of the profile.
func (d *Detection) Preview(n int) Preview {
	p := &d.Profile
	v := Preview{Columns: p.Columns}
	for i := p.FirstData - 1; i < len(d.lines) && len(v.Rows) < n; i++ {
		if d.passed(d.lines[i]) {
			continue
		}
		cells := split(bytes.TrimRight(d.lines[i], "\r"), p.Delimiter[0])
		if len(cells) > len(p.Columns) {
			cells = cells[:len(p.Columns)]
		}
		v.Lines, v.Rows = append(v.Lines, i+1), append(v.Rows, cells)
	}
	return v
}

// Questions returns the findings that the file does not settle.
func (d *Detection) Questions() []Finding {
	var out []Finding
	for _, f := range d.Findings {
		if f.Ask {
			out = append(out, f)
		}
	}
	return out
}
