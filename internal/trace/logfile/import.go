package logfile

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"

	"railtally/internal/trace"
)

// A Part is a run of samples of one channel, in the order of the file.
type Part struct {
	Channel int // of Batch.Channels
	T, V    []float64
	Moments trace.Moments
}

// A Batch is what was read from some consecutive lines. Its slices are used again after the sink
// returns. Parts of one Wide batch share their times.
type Batch struct {
	Channels []Channel // all met so far
	FirstRow int64     // rows before this batch
	Parts    []Part
}

// A Sink takes the samples of a log as they are read, in the order of the file. Times of a Wide or Long
// log may go backwards where the file's do.
type Sink interface {
	Take(*Batch) error
}

// Options of Import; the zero value is usable.
type Options struct {
	// Workers is how many blocks are parsed at the same time; 0 means one for each processor.
	Workers int
	// Progress, when not nil, is called after each block with the bytes of text (after decoding to
	// UTF-8) and the rows read so far, from the goroutine that called Import.
	Progress func(bytes, rows int64)
}

const (
	blockSize = 512 << 10 // of text that is parsed at once; longer lines are refused
	jobsSpare = 2         // blocks that wait, besides those being parsed
)

// A job is one block on its way.
type job struct {
	buf  []byte
	text []byte
	out  block
	from origin
	err  error // that ended the file behind this block
	cut  *Remark
	done chan struct{}
}

// Import reads a log from its first byte as the profile says, and hands its samples to sink (which may
// be nil) in memory that does not depend on the size of the log.
//
// The summary is never nil once reading has begun: when the file turns bad, ctx ends or the sink
// fails, it tells what was read and handed over until then, and the error why it ended. After ctx has
// ended, a goroutine may stay in r.Read until that returns.
func Import(ctx context.Context, r io.Reader, p *Profile, opt Options, sink Sink) (*Summary, error) {
	pl, err := newPlan(p)
	if err != nil {
		return nil, err
	}
	text, err := decode(r, p.Encoding, p.Newline)
	if err != nil {
		return nil, err
	}
	workers := opt.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	ctx, cancel := context.WithCancel(ctx)
	free := make(chan *job, workers+jobsSpare)
	for range cap(free) {
		free <- &job{buf: make([]byte, blockSize+1)}
	}
	todo := make(chan *job)
	ordered := make(chan *job, cap(free))
	for range workers {
		go func() {
			for j := range todo {
				pl.parse(j.text, &j.out)
				close(j.done)
			}
		}()
	}
	feeder := &feeder{plan: pl, r: text, skip: p.FirstData - 1}
	go func() {
		defer close(todo)
		defer close(ordered)
		feeder.run(ctx, free, todo, ordered)
	}()
	m := newMerger(pl, p, sink)
	err = m.run(ctx, ordered, free, opt.Progress)
	cancel()
	return m.finish(), err
}

// A feeder cuts the text into blocks of whole lines.
type feeder struct {
	plan  *plan
	r     io.Reader
	skip  int // lines before the data
	lines int // read so far, for messages
}

// run sends blocks until the text or ctx ends.
func (f *feeder) run(ctx context.Context, free, todo, ordered chan *job) {
	var carry []byte
	for last := false; !last; {
		var j *job
		select {
		case j = <-free:
		case <-ctx.Done():
			return
		}
		j.err, j.cut, j.done = nil, nil, make(chan struct{})
		n := copy(j.buf, carry)
		k, err := io.ReadFull(f.r, j.buf[n:blockSize])
		n += k
		body := j.buf[:n]
		switch {
		case err == nil:
			end := bytes.LastIndexByte(body, '\n') + 1
			if end == 0 {
				j.err = fmt.Errorf("line %d is longer than %d KiB: no log", f.lines+1, blockSize>>10)
				last = true
			}
			carry = append(carry[:0], body[end:]...)
			body = body[:end]
		case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
			last = true
			body = f.lastLine(j, body)
		default:
			last = true
			j.err = fmt.Errorf("reading log: %w", err)
			body = body[:bytes.LastIndexByte(body, '\n')+1] // half a line is not kept
		}
		lines := bytes.Count(body, []byte{'\n'})
		f.lines += lines
		if f.skip > 0 {
			body = f.dropHead(body)
		}
		j.text = body
		if err := f.findOrigin(body); err != nil && j.err == nil {
			j.err, j.text, last = err, nil, true
		}
		j.from = f.plan.origin
		select {
		case ordered <- j:
		case <-ctx.Done():
			return
		}
		select {
		case todo <- j:
		case <-ctx.Done():
			return
		}
	}
}

// dropHead takes the lines before the data off.
func (f *feeder) dropHead(body []byte) []byte {
	for f.skip > 0 && len(body) > 0 {
		body = body[min(lineEnd(body, 0)+1, len(body)):]
		f.skip--
	}
	return body
}

// findOrigin sets what absolute times count from, from the first row that has one.
func (f *feeder) findOrigin(body []byte) error {
	pl := f.plan
	kind := pl.time.Kind
	if pl.origin.known || len(body) == 0 || kind == NoTime || kind == Elapsed || kind == MinSec {
		return nil
	}
	for len(body) > 0 {
		end := lineEnd(body, 0)
		cells := split(body[:end], pl.delim)
		body = body[min(end+1, len(body)):]
		if pl.setOrigin(cells) {
			return nil
		}
	}
	return errNoTime
}

func (pl *plan) setOrigin(cells []string) bool {
	var cell, date []byte
	var tf *field
	for k := range pl.fields {
		if k >= len(cells) {
			break
		}
		switch f := &pl.fields[k]; f.do {
		case seconds, moment:
			cell, tf = []byte(cells[k]), f
		case dateText1:
			date = []byte(cells[k])
		}
	}
	if tf == nil {
		return false
	}
	var st stamp
	ok := false
	switch pl.time.Kind {
	case Epoch, Serial:
		n, is := readNumeral(cell, pl.mark, pl.group)
		if !is || len(n.rest) > 0 {
			return false
		}
		if pl.time.Kind == Epoch {
			st, ok = epochStamp(n, tf.unit.power)
			break
		}
		x, is := n.value(0)
		if ok = is && x > 0 && x < 1e6; ok {
			const unixDay = 25569 // 1970-01-01 in the 1900 system
			ns := int64((x-unixDay)*86400e3+0.5) * 1e6
			st = stamp{sec: ns / 1e9, nsec: ns % 1e9}
			pl.origin.days = x
			st.sec -= pl.zone
		}
	case DateTime:
		st, ok = pl.stampOf(cell, nil)
	case Clock:
		if st, ok = pl.stampOf(cell, date); ok && date == nil {
			st = stamp{sec: 0} // counted from midnight; a day, if known, is added to the start
		}
	}
	if ok {
		pl.origin.known = true
		pl.origin.sec, pl.origin.nsec, pl.origin.zone = st.sec, st.nsec, st.zone || pl.time.Zone != ""
	}
	return ok
}
