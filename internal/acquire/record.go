package acquire

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"sync"
	"time"
)

// CSV writes batches as a log that "railtally log" reads: one row for each
// reading, with its time, the meter's name and the value in SI units.
// It may be given to several meters at once.
type CSV struct {
	mu   sync.Mutex
	w    *bufio.Writer
	err  error
	rows int64
}

// NewCSV begins a log. began is what the times count from; it is written into the
// preamble.
func NewCSV(w io.Writer, began time.Time, unit string) *CSV {
	c := &CSV{w: bufio.NewWriterSize(w, 1<<16)}
	_, c.err = fmt.Fprintf(c.w, "# readings of live meters, seconds since %s\nTime [s],Channel,Value [%s]\n",
		began.Format("2006-01-02T15:04:05.000Z07:00"), unit)
	return c
}

// Sink takes batches.
func (c *CSV) Sink(b Batch) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for i, v := range b.V {
		if c.err != nil {
			return
		}
		row := strconv.AppendFloat(nil, b.T[i], 'f', 6, 64)
		row = append(row, ',')
		row = appendField(row, b.Meter)
		row = append(row, ',')
		switch {
		case math.IsNaN(v):
		case math.IsInf(v, 1):
			row = append(row, "OL"...)
		case math.IsInf(v, -1):
			row = append(row, "-OL"...)
		default:
			row = strconv.AppendFloat(row, v, 'g', -1, 64)
		}
		_, c.err = c.w.Write(append(row, '\n'))
		c.rows++
	}
}

// appendField puts quotes where a name needs them.
func appendField(row []byte, name string) []byte {
	for _, r := range name {
		if r == ',' || r == '"' || r == '\n' {
			return strconv.AppendQuote(row, name)
		}
	}
	return append(row, name...)
}

// Close writes what is left and returns the first error there was.
func (c *CSV) Close() (rows int64, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.err == nil {
		c.err = c.w.Flush()
	}
	return c.rows, c.err
}
