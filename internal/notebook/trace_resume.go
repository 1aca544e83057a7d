package notebook

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"

	"railtally/internal/trace/packed"
)

// ResumeLog goes on with the import of a log that was cut off. The log is read again from its
// beginning and given with the same AddClock and Append: what is in the notebook already is compared
// and not written twice. A log that differs is refused.
func (nb *Notebook) ResumeLog(ctx context.Context, id int64) (*TraceWriter, error) {
	const op = "resume the trace"
	w, x, err := nb.unfinished(ctx, op, id)
	if err != nil {
		return nil, err
	}
	if x.Source != FromLog {
		return nil, invalid(op, "trace %d was not recorded from a log", id)
	}
	return w, nil
}

// unfinished makes a writer of a trace that has not ended.
func (nb *Notebook) unfinished(ctx context.Context, op string, id int64) (*TraceWriter, Trace, error) {
	w, err := nb.newTraceWriter()
	if err != nil {
		return nil, Trace{}, err
	}
	var x Trace
	err = nb.read(ctx, op, func(q querier) error {
		if x, err = traceByID(q, id); err != nil {
			return err
		}
		if x.Outcome != "" {
			return invalid(op, "trace %d is %s", id, x.Outcome)
		}
		w.known, err = strandsOf(q, id)
		return err
	})
	w.id = id
	return w, x, err
}

// recognise takes the series of a resumed log for those that are there.
func (w *TraceWriter) recognise(ctx context.Context, c *clockWriter) error {
	for i := range c.strands {
		s := &c.strands[i]
		if s.ordinal >= len(w.known) {
			return w.fail(changedLog("it has more channels"))
		}
		k := w.known[s.ordinal]
		if k.name != s.name || k.unit != s.unit || k.clock != s.clock {
			return w.fail(changedLog(fmt.Sprintf("the channel %q was %q", s.name, k.name)))
		}
		s.id = k.id
	}
	return w.nb.read(ctx, "resume the trace", func(q querier) (err error) {
		c.check, _, err = samplesOf(q, c.strands[0].id)
		return err
	})
}

// ContinueTrace goes on with a live record whose writer stopped or died: samples are added behind those
// that were committed.
func (nb *Notebook) ContinueTrace(ctx context.Context, id int64) (*TraceWriter, error) {
	const op = "continue the trace"
	w, x, err := nb.unfinished(ctx, op, id)
	if err != nil {
		return nil, err
	}
	if x.Source != FromMeters {
		return nil, invalid(op, "trace %d was recorded from a log: import the log again", id)
	}
	err = nb.read(ctx, op, func(q querier) error {
		d, err := packed.NewDecoder()
		if err != nil {
			return err
		}
		defer d.Close()
		for _, s := range w.known {
			if s.isClock() {
				w.clocks = append(w.clocks, &clockWriter{})
			}
			c := w.clocks[len(w.clocks)-1]
			c.strands = append(c.strands, s)
		}
		for _, c := range w.clocks {
			if err := c.restore(q, d); err != nil {
				return err
			}
		}
		return nil
	})
	w.strands, w.known = len(w.known), nil
	return w, err
}

// restore brings a clock's writer to where the last commit left it.
func (c *clockWriter) restore(q querier, d *packed.Decoder) (err error) {
	c.buf, c.levels, c.sizes = make([][]float64, len(c.strands)), make([]ladder, len(c.strands)), make([]int, len(c.strands))
	if c.chunks, _, err = samplesOf(q, c.strands[0].id); err != nil {
		return err
	}
	err = eachTail(q, c.strands[0].id, 0, func(first int64, samples int, data []byte) error {
		if first != c.chunks*packed.ChunkSize+int64(len(c.buf[0])) {
			return errors.New("samples of a tail are missing")
		}
		return untail(d, data, len(c.buf), samples, c.buf)
	})
	if err != nil {
		return damaged(fmt.Sprintf("series %d", c.strands[0].id), err)
	}
	c.tailed, c.tails = len(c.buf[0]), len(c.buf[0]) > 0
	for i, s := range c.strands {
		l := &c.levels[i]
		for level := range packed.Levels {
			if err := q.row("SELECT coalesce(max(seq) + 1, 0) FROM outline WHERE series = ? AND level = ?", s.id, level).Scan(&l.runs[level]); err != nil {
				return err
			}
			if level == 0 {
				continue
			}
			// Sixteen runs below make one; those since then are its beginning.
			below, err := runs(q, d, s.id, level-1, l.runs[level]*packed.Fan, l.runs[level-1])
			if err != nil {
				return err
			}
			l.part[level] = packed.Raise(nil, below)
		}
	}
	return nil
}

// untail appends the series of one tail row to cols.
func untail(d *packed.Decoder, data []byte, n, samples int, cols [][]float64) (err error) {
	for i := range n {
		size, k := binary.Uvarint(data)
		if k <= 0 || size > uint64(len(data)-k) {
			return errors.New("a tail ends too early")
		}
		was := len(cols[i])
		if cols[i], err = d.Decode(cols[i], data[k:k+int(size)]); err != nil {
			return err
		}
		if len(cols[i])-was != samples {
			return errors.New("a tail holds another number of samples than it says")
		}
		data = data[k+int(size):]
	}
	if len(data) > 0 {
		return errors.New("a tail has bytes left over")
	}
	return nil
}

// eachTail calls fn for the tail rows of a clock from a sample on, in order.
func eachTail(q querier, clock, from int64, fn func(first int64, samples int, data []byte) error) error {
	rows, err := q.query("SELECT first, samples, data FROM tail WHERE series = ? AND first + samples > ? ORDER BY first", clock, from)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var first int64
		var samples int
		var data []byte
		if err := rows.Scan(&first, &samples, &data); err != nil {
			return err
		}
		if err := fn(first, samples, data); err != nil {
			return err
		}
	}
	return rows.Err()
}

// runs decodes the runs from ≤ seq < to of one level of an outline.
func runs(q querier, d *packed.Decoder, series int64, level int, from, to int64) (out []packed.Bucket, err error) {
	rows, err := q.query("SELECT seq, data FROM outline WHERE series = ? AND level = ? AND seq >= ? AND seq < ? ORDER BY seq", series, level, from, to)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for ; rows.Next(); from++ {
		var seq int64
		var data sql.RawBytes
		if err := rows.Scan(&seq, &data); err != nil {
			return nil, err
		}
		if seq != from {
			break
		}
		if out, err = d.DecodeRun(out, data); err != nil {
			return nil, damaged(fmt.Sprintf("outline of series %d", series), err)
		}
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	if from != to {
		return nil, damaged(fmt.Sprintf("outline of series %d", series), fmt.Errorf("run %d of level %d is missing", from, level))
	}
	return out, nil
}
