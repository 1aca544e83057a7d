package acquire

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"sync"
	"time"
)

// CSV writes batches as a log that "railtally log" reads: one row for each
// reading, with its time, the meter's name and the value in SI units.
// It may be given to several meters at once. A goroutine of its own writes, so
// that a slow disk holds up no meter; rows are put in the order of their times,
// for which the last two seconds are held back.
type CSV struct {
	mu   sync.Mutex
	come []row // not yet seen by the writing goroutine
	end  chan struct{}
	done chan struct{}

	// Of the writing goroutine, until done is closed.
	w    *bufio.Writer
	err  error
	rows int64
	held []row
}

type row struct {
	t, v  float64
	meter string
}

// heldBack is for how long in seconds rows wait for earlier ones of other meters.
const heldBack = 2.0

// NewCSV begins a log. began is what the times count from; it is written into the
// preamble. Close must be called.
func NewCSV(w io.Writer, began time.Time, unit string) *CSV {
	c := &CSV{w: bufio.NewWriterSize(w, 1<<16), end: make(chan struct{}), done: make(chan struct{})}
	_, c.err = fmt.Fprintf(c.w, "# readings of live meters, seconds since %s\nTime [s],Channel,Value [%s]\n",
		began.Format("2006-01-02T15:04:05.000Z07:00"), unit)
	go c.run()
	return c
}

// Sink takes batches.
func (c *CSV) Sink(b Batch) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for i, v := range b.V {
		c.come = append(c.come, row{b.T[i], v, b.Meter})
	}
}

// run writes what has come, twice a second.
func (c *CSV) run() {
	defer close(c.done)
	tick := time.NewTicker(500 * time.Millisecond)
	defer tick.Stop()
	for {
		last := false
		select {
		case <-tick.C:
		case <-c.end:
			last = true
		}
		c.mu.Lock()
		come := c.come
		c.come = nil
		c.mu.Unlock()
		c.held = append(c.held, come...)
		if last {
			c.write(math.Inf(1))
			return
		}
		if n := len(come); n > 0 {
			c.write(come[n-1].t - heldBack)
		}
	}
}

// write writes what was held back, up to a time.
func (c *CSV) write(until float64) {
	slices.SortStableFunc(c.held, func(a, b row) int { return cmp.Compare(a.t, b.t) })
	n := 0
	var text []byte
	for ; n < len(c.held) && c.held[n].t <= until && c.err == nil; n++ {
		x := c.held[n]
		text = append(appendField(append(strconv.AppendFloat(text[:0], x.t, 'f', 6, 64), ','), x.meter), ',')
		switch {
		case math.IsNaN(x.v):
		case math.IsInf(x.v, 1):
			text = append(text, "OL"...)
		case math.IsInf(x.v, -1):
			text = append(text, "-OL"...)
		default:
			text = strconv.AppendFloat(text, x.v, 'g', -1, 64)
		}
		_, c.err = c.w.Write(append(text, '\n'))
		c.rows++
	}
	c.held = append(c.held[:0], c.held[n:]...)
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

// Close writes what is left and returns how many readings there were, and the
// first error. It is called once, after the last batch.
func (c *CSV) Close() (rows int64, err error) {
	close(c.end)
	<-c.done
	if c.err == nil {
		c.err = c.w.Flush()
	}
	return c.rows, c.err
}
