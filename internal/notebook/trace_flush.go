package notebook

import (
	"context"
	"database/sql"
	"encoding/binary"
	"encoding/json"
	"errors"
	"time"

	"railtally/internal/trace/packed"
)

const opTrace = "keep the trace"

func (w *TraceWriter) gather(r traceRow) {
	w.pending = append(w.pending, r)
	w.bytes += len(r.data) + len(r.moments) + 100
}

// flush begins to write what is pending, once what was begun before is written.
func (w *TraceWriter) flush(ctx context.Context) error {
	if err := w.settle(); err != nil {
		return err
	}
	rows := w.pending
	w.pending, w.bytes = nil, 0
	w.flushing = make(chan error, 1)
	go func(done chan<- error) {
		write := w.nb.write
		if w.loose {
			write = w.nb.writeLoosely
		}
		done <- write(ctx, opTrace, func(t *tx) error { return t.addRows(w.id, rows) })
	}(w.flushing)
	return nil
}

// settle waits for the write in the background.
func (w *TraceWriter) settle() error {
	if w.flushing == nil {
		return w.failed
	}
	err := <-w.flushing
	w.flushing = nil
	if err != nil {
		w.fail(err)
	}
	return w.failed
}

// addRows writes rows in their order, unless somebody ended the trace meanwhile. A chunk that is there
// already was written by another program.
func (t *tx) addRows(id int64, rows []traceRow) error {
	var ended bool
	if err := t.row("SELECT count(*) FROM trace_end WHERE trace = ?", id).Scan(&ended); err != nil {
		return err
	}
	if ended {
		return invalid(opTrace, "trace %d was ended by another program", id)
	}
	var prepared [4]*sql.Stmt
	for k, text := range [...]string{
		rowChunk:    "INSERT INTO chunk (series, seq, samples, least, most, moments, data) VALUES (?, ?, ?, ?, ?, ?, ?)",
		rowOutline:  "INSERT INTO outline (series, level, seq, data) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
		rowTail:     "INSERT INTO tail (series, first, samples, data) VALUES (?, ?, ?, ?)",
		rowTailGone: "DELETE FROM tail WHERE series = ? AND first < ?",
	} {
		var err error
		if prepared[k], err = t.PrepareContext(t.ctx, text); err != nil {
			return err
		}
		defer prepared[k].Close()
	}
	for _, r := range rows {
		var args []any
		switch r.kind {
		case rowChunk:
			args = []any{r.series, r.seq, r.samples, r.least, r.most, r.moments, r.data}
		case rowOutline:
			args = []any{r.series, r.level, r.seq, r.data}
		case rowTail:
			args = []any{r.series, r.seq, r.samples, r.data}
		case rowTailGone:
			args = []any{r.series, r.seq}
		}
		if _, err := prepared[r.kind].ExecContext(t.ctx, args...); err != nil {
			return err
		}
	}
	return nil
}

// Commit brings all samples to the disk: when it returns nil, they are there. A log is committed by Close alone.
func (w *TraceWriter) Commit(ctx context.Context) error {
	const op = "commit the trace"
	if err := w.usable(op); err != nil {
		return err
	}
	if w.loose {
		return invalid(op, "a log that is being imported is on the disk when it ends")
	}
	for _, c := range w.clocks {
		if err := w.finish(ctx, c); err != nil {
			return w.fail(err)
		}
		if len(c.buf[0]) == c.tailed {
			continue
		}
		r := traceRow{kind: rowTail, series: c.strands[0].id, seq: c.chunks*packed.ChunkSize + int64(c.tailed), samples: len(c.buf[0]) - c.tailed}
		e := <-w.encoders
		for _, v := range c.buf {
			blob, err := e.Encode(nil, v[c.tailed:])
			if err != nil {
				w.encoders <- e
				return w.fail(err)
			}
			r.data = append(binary.AppendUvarint(r.data, uint64(len(blob))), blob...)
		}
		w.encoders <- e
		w.gather(r)
		c.tailed, c.tails = len(c.buf[0]), true
	}
	if err := w.flush(ctx); err != nil {
		return err
	}
	return w.settle()
}

// A TraceEnd is what is known of a trace when it ends.
type TraceEnd struct {
	SHA256 string   // of the log, in hexadecimal
	Notes  []string // what a person should know of it
	// Zero and Zone say what times count from, where that was found on the way.
	Zero time.Time
	Zone bool
}

// Close writes what is left and ends the trace: it is complete and never changes again. When Close returns
// nil, all of it is on the disk.
func (w *TraceWriter) Close(ctx context.Context, end TraceEnd) error {
	const op = "end the trace"
	if err := w.usable(op); err != nil {
		return err
	}
	for _, c := range w.clocks {
		if c.chunks < c.check && len(c.buf[0]) < packed.ChunkSize {
			return w.fail(changedLog("it is shorter"))
		}
		if err := w.sealLast(ctx, c); err != nil {
			return w.fail(err)
		}
	}
	if err := w.settle(); err != nil {
		return err
	}
	rows := w.pending
	w.pending = nil
	err := w.nb.write(ctx, op, func(t *tx) error {
		if err := t.addRows(w.id, rows); err != nil {
			return err
		}
		return t.endTrace(w.id, Complete, end)
	})
	if err != nil {
		return w.fail(err)
	}
	w.closed = true
	return nil
}

// sealLast seals what a clock still holds, and the runs of its outlines that are not full.
func (w *TraceWriter) sealLast(ctx context.Context, c *clockWriter) error {
	if len(c.buf[0]) > 0 {
		return errors.Join(w.seal(ctx, c, true), w.finish(ctx, c))
	}
	if err := w.finish(ctx, c); err != nil {
		return err
	}
	e := <-w.encoders
	defer func() { w.encoders <- e }()
	for i, s := range c.strands {
		var x sealing
		if err := x.climb(e, s.id, &c.levels[i], nil, true); err != nil {
			return err
		}
		for _, r := range x.outlines {
			w.gather(r)
		}
	}
	return nil
}

func (t *tx) endTrace(id int64, how Outcome, end TraceEnd) error {
	if end.Notes == nil {
		end.Notes = []string{}
	}
	notes, err := json.Marshal(end.Notes)
	if err != nil {
		return err
	}
	_, err = t.add("trace_end", []string{"trace", "outcome", "sha256", "origin", "zone", "notes", "accepted_at"},
		[]any{id, string(how), end.SHA256, writeStamp(end.Zero), end.Zone, string(notes), writeStamp(t.now)})
	return err
}

// Abandon gives the trace up and removes its samples. It may be called after any error.
func (w *TraceWriter) Abandon(ctx context.Context, o Origin) error {
	if w.closed {
		return invalid("give up the trace", "it was ended")
	}
	for _, c := range w.clocks {
		if c.sealing != nil {
			for range c.sealing.parts {
				<-c.sealing.done
			}
			c.sealing = nil
		}
	}
	if w.flushing != nil {
		<-w.flushing // its error made no rows
		w.flushing = nil
	}
	w.closed = true
	return w.nb.AbandonTrace(ctx, w.id, o)
}
