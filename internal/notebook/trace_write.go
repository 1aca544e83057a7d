package notebook

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"

	"railtally/internal/trace"
	"railtally/internal/trace/packed"
)

// MaxChannels is how many series a trace may have, its clocks included.
const MaxChannels = 256

// flushSize is how many bytes of blobs gather before they are written in one transaction: large
// enough that waiting for the disk costs little, small enough that others who write hardly wait.
const flushSize = 2 << 20

// A TraceWriter adds samples to a trace. It is used by one goroutine at a time.
//
// Samples are kept in memory until a chunk of 65,536 is full. Full chunks are compressed on all processors
// and written in the background; Commit brings everything to the disk at once. Whoever reads the
// notebook sees the samples that were written, also before the end.
type TraceWriter struct {
	nb       *Notebook
	id       int64
	strands  int // made so far
	clocks   []*clockWriter
	encoders chan *packed.Encoder
	pending  []traceRow
	bytes    int
	flushAt  int
	flushing chan error // of the write in the background; nil when there is none
	loose    bool       // what is flushed is on the disk only when the trace ends
	failed   error      // what ended the writing
	known    []strand   // of a resumed log: what was there before
	closed   bool
}

// A clockWriter gathers the samples of channels that share their times.
type clockWriter struct {
	strands []strand
	buf     [][]float64 // by strand, the times first
	spare   [][]float64 // memory for the next
	sealing *sealJob    // the chunk that is being made; nil: none
	chunks  int64       // sealed, or about to be
	check   int64       // chunks that a resumed log must give again
	tailed  int         // samples of buf that are in tail rows
	tails   bool        // there are tail rows before buf ends
	levels  []ladder    // by strand
	sizes   []int       // of the last chunk, by strand
}

// BeginTrace begins a trace under a name. A key in o that was sent before is refused: a trace is begun
// once.
func (nb *Notebook) BeginTrace(ctx context.Context, h TraceHead, name string, o Origin) (*TraceWriter, error) {
	const op = "begin the trace"
	if h.Source != FromLog && h.Source != FromMeters {
		return nil, invalid(op, "no source is called %q", h.Source)
	}
	if h.Settings == "" {
		h.Settings = "null"
	}
	if o.Key == "" {
		var err error
		if o.Key, err = nb.key(); err != nil {
			return nil, err
		}
	}
	w, err := nb.newTraceWriter()
	if err != nil {
		return nil, err
	}
	err = nb.write(ctx, op, func(t *tx) error {
		if err := studyExists(t, h.Study); err != nil {
			return err
		}
		if w.id, err = t.add("trace", []string{"study", "source", "file", "size", "head", "origin", "zone", "settings", "key", "device", "who",
			"why", "taken_at", "accepted_at"}, []any{h.Study, string(h.Source), h.File, h.Size, h.Start, writeStamp(h.Zero), h.Zone, h.Settings,
			o.Key, o.Device, o.Who, o.Why, writeStamp(o.Taken), writeStamp(t.now)}); err != nil {
			return err
		}
		m := Mapping{Row: Row{Origin: o}, Study: h.Study, Trace: w.id, Name: name}
		values, err := m.values()
		if err != nil {
			return err
		}
		c, _ := chainOf(AMapping)
		return c.insert(t, &m.Row, values...)
	})
	if err != nil {
		return nil, err
	}
	return w, nil
}

func (nb *Notebook) newTraceWriter() (*TraceWriter, error) {
	w := &TraceWriter{nb: nb, flushAt: flushSize, encoders: make(chan *packed.Encoder, runtime.GOMAXPROCS(0))}
	for range cap(w.encoders) {
		e, err := packed.NewEncoder()
		if err != nil {
			return nil, err
		}
		w.encoders <- e
	}
	return w, nil
}

// Trace returns the number of the trace.
func (w *TraceWriter) Trace() int64 { return w.id }

// AddClock adds channels that are sampled together, and returns the number of their clock.
func (w *TraceWriter) AddClock(ctx context.Context, channels []Channel) (int, error) {
	const op = "add channels to the trace"
	if err := w.usable(op); err != nil {
		return 0, err
	}
	if len(channels) == 0 || w.strands+len(channels)+1 > MaxChannels {
		return 0, invalid(op, "%d channels; a trace holds 1 to %d series, times included", len(channels), MaxChannels)
	}
	c := &clockWriter{buf: make([][]float64, len(channels)+1), levels: make([]ladder, len(channels)+1), sizes: make([]int, len(channels)+1)}
	at := w.strands
	c.strands = append(c.strands, strand{ordinal: at, clock: at, unit: secondUnit})
	for i, ch := range channels {
		c.strands = append(c.strands, strand{ordinal: at + 1 + i, clock: at, name: ch.Name, unit: ch.Unit})
	}
	if at < len(w.known) {
		if err := w.recognise(ctx, c); err != nil {
			return 0, err
		}
	} else if err := w.nb.write(ctx, op, func(t *tx) error {
		for i := range c.strands {
			s := &c.strands[i]
			var err error
			if s.id, err = t.add("series", []string{"trace", "ordinal", "clock", "name", "unit"},
				[]any{w.id, s.ordinal, s.clock, s.name, s.unit.Symbol()}); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		return 0, err
	}
	w.strands += len(c.strands)
	w.clocks = append(w.clocks, c)
	return len(w.clocks) - 1, nil
}

func (w *TraceWriter) usable(op string) error {
	if w.closed {
		return invalid(op, "the trace was ended")
	}
	return w.failed
}

// Append adds samples to the channels of a clock: times in seconds from the trace's zero, and as many
// values of each channel, in SI; NaN for a missing one, an infinity for one beyond the meter's range. The
// slices are copied. Times should not decrease; within a chunk they are sorted.
func (w *TraceWriter) Append(ctx context.Context, clock int, t []float64, v ...[]float64) error {
	const op = "add samples to the trace"
	if err := w.usable(op); err != nil {
		return err
	}
	if clock < 0 || clock >= len(w.clocks) || len(v) != len(w.clocks[clock].strands)-1 {
		return invalid(op, "clock %d with %d channels is not of this trace", clock, len(v))
	}
	c := w.clocks[clock]
	for i, x := range v {
		if len(x) != len(t) {
			return invalid(op, "channel %d: %d values for %d times", i, len(x), len(t))
		}
	}
	for i, x := range t {
		if x-x != 0 {
			return invalid(op, "time %d is not finite", i)
		}
	}
	for len(t) > 0 {
		n := min(len(t), packed.ChunkSize-len(c.buf[0]))
		c.buf[0] = append(c.buf[0], t[:n]...)
		t = t[n:]
		for i := range v {
			c.buf[i+1] = append(c.buf[i+1], v[i][:n]...)
			v[i] = v[i][n:]
		}
		if len(c.buf[0]) == packed.ChunkSize {
			if err := w.seal(ctx, c, false); err != nil {
				return w.fail(err)
			}
		}
	}
	return nil
}

// fail remembers what ended the writing.
func (w *TraceWriter) fail(err error) error {
	if w.failed == nil {
		w.failed = err
	}
	return err
}

// seal begins to make a chunk of what a clock has gathered, and goes on with other memory. The chunk before it
// is finished first, because outlines are built in order.
func (w *TraceWriter) seal(ctx context.Context, c *clockWriter, last bool) error {
	if err := w.finish(ctx, c); err != nil {
		return err
	}
	if !slices.IsSorted(c.buf[0]) {
		trace.SortByTime(c.buf[0], c.buf[1:]...)
	}
	j := &sealJob{parts: make([]sealing, len(c.strands)), done: make(chan error, len(c.strands)), seq: c.chunks, buf: c.buf, tails: c.tails}
	for i := range c.strands {
		go func() {
			e := <-w.encoders
			defer func() { w.encoders <- e }()
			j.done <- j.parts[i].make(e, c, j, i, last)
		}()
	}
	c.sealing, c.buf, c.spare = j, c.spare, nil
	if c.buf == nil {
		c.buf = make([][]float64, len(c.strands))
	}
	c.chunks++
	c.tailed, c.tails = 0, false
	return nil
}

// finish waits for the chunk of a clock that is being made, and gathers its rows.
func (w *TraceWriter) finish(ctx context.Context, c *clockWriter) error {
	j := c.sealing
	if j == nil {
		return nil
	}
	c.sealing = nil
	var err error
	for range j.parts {
		err = errors.Join(err, <-j.done)
	}
	if err != nil {
		return err
	}
	for i := range j.parts {
		if j.seq < c.check {
			if err := w.compare(ctx, &j.parts[i].chunk); err != nil {
				return err
			}
		} else {
			w.gather(j.parts[i].chunk)
		}
		for _, r := range j.parts[i].outlines {
			w.gather(r)
		}
	}
	if j.tails {
		w.gather(traceRow{kind: rowTailGone, series: c.strands[0].id, seq: (j.seq + 1) * packed.ChunkSize})
	}
	for i := range j.buf {
		j.buf[i] = j.buf[i][:0]
	}
	c.spare = j.buf
	if w.bytes >= w.flushAt {
		return w.flush(ctx)
	}
	return nil
}

// compare holds a chunk of a resumed log against the one that is there.
func (w *TraceWriter) compare(ctx context.Context, r *traceRow) error {
	var data []byte
	if err := w.nb.r.QueryRowContext(ctx, "SELECT data FROM chunk WHERE series = ? AND seq = ?", r.series, r.seq).Scan(&data); err != nil {
		return explained("resume the trace", w.nb.path, err)
	}
	if string(data) != string(r.data) {
		return changedLog(fmt.Sprintf("samples from %d on differ", r.seq*packed.ChunkSize))
	}
	return nil
}

func changedLog(how string) error {
	return &Error{Code: Invalid, Op: "resume the trace", Err: fmt.Errorf("the log is not the one that was begun: %s", how),
		Hint: "give up the unfinished trace, then import the log anew"}
}
