package logfile

import (
	"context"
	"fmt"
	"time"
)

// A merger takes parsed blocks in the order of the file, joins their statistics and hands them on.
type merger struct {
	plan    *plan
	profile *Profile
	sink    Sink
	sum     Summary
	steps   []stepper // one for all rows; of a Long log one for each channel
	batch   Batch
	index   map[string]int
	origin  origin
	first   bool
	samples int64 // of Block
}

func newMerger(pl *plan, p *Profile, sink Sink) *merger {
	m := &merger{plan: pl, profile: p, sink: sink, index: map[string]int{}, steps: make([]stepper, 1)}
	m.sum.Lines = int64(p.FirstData - 1)
	for _, c := range pl.channels {
		m.sum.Channels = append(m.sum.Channels, ChannelSummary{Channel: c})
	}
	m.batch.Channels = pl.channels
	return m
}

// run takes blocks until there are no more, or one ends in an error.
func (m *merger) run(ctx context.Context, ordered <-chan *job, free chan<- *job, progress func(bytes, rows int64)) error {
	for {
		var j *job
		var more bool
		select {
		case j, more = <-ordered:
		case <-ctx.Done():
			return fmt.Errorf("import stopped after %d rows: %w", m.sum.Rows, context.Cause(ctx))
		}
		if !more {
			if err := ctx.Err(); err != nil {
				return fmt.Errorf("import stopped after %d rows: %w", m.sum.Rows, context.Cause(ctx))
			}
			if m.sum.Rows == 0 {
				return fmt.Errorf("no row of data after line %d reads as the profile says", m.profile.FirstData-1)
			}
			return nil
		}
		select {
		case <-j.done:
		case <-ctx.Done():
			return fmt.Errorf("import stopped after %d rows: %w", m.sum.Rows, context.Cause(ctx))
		}
		if err := m.take(j); err != nil {
			return fmt.Errorf("import stopped after %d rows: %w", m.sum.Rows, err)
		}
		if progress != nil {
			progress(m.sum.Bytes, m.sum.Rows)
		}
		if j.err != nil {
			return fmt.Errorf("import stopped after line %d, %d rows: %w", m.sum.Lines, m.sum.Rows, j.err)
		}
		free <- j
	}
}

// take joins one block.
func (m *merger) take(j *job) error {
	b := &j.out
	s := &m.sum
	m.origin = j.from
	m.batch.FirstRow = s.Rows
	m.batch.Parts = m.batch.Parts[:0]
	switch m.plan.layout {
	case Long:
		m.longParts(b)
	case Block:
		n := len(b.v[0])
		m.count(b.t[:n], m.samples)
		m.samples += int64(n)
		m.part(0, b.t[:n], b.v[0], b, 0)
		m.times(b.t[:n])
	default:
		t := b.t[:b.rows]
		if m.plan.time.Kind == NoTime {
			m.count(t, s.Rows)
		}
		if m.plan.time.Kind == Clock && m.profile.column(Date) < 0 {
			m.steps[0].unwrap(t)
		}
		m.steps[0].watch(t, s.Rows+1)
		m.times(t)
		for k := range m.plan.channels {
			m.part(k, t, b.v[k][:b.rows], b, k)
		}
	}
	for _, r := range b.remarks {
		if len(s.Remarks) < maxRemarks {
			s.Remarks = append(s.Remarks, Remark{Line: int(s.Lines) + r.Line, What: r.What})
		}
	}
	if j.cut != nil {
		s.Cut = true
		s.Remarks = append(s.Remarks, *j.cut)
	}
	s.Short += b.short
	s.Extra += b.long
	s.Unreadable += b.unreadable
	s.Skipped += b.skipped
	s.Bytes += int64(len(j.text))
	s.Lines += int64(b.lines)
	rows := s.Rows
	s.Rows += int64(b.rows)
	if m.sink == nil || len(m.batch.Parts) == 0 || b.rows == 0 {
		return nil
	}
	if err := m.sink.Take(&m.batch); err != nil {
		s.Rows = rows
		return err
	}
	return nil
}

// count fills in the times of samples that have none.
func (m *merger) count(t []float64, from int64) {
	step := m.plan.time.Interval
	if step == 0 {
		step = 1
	}
	for i := range t {
		t[i] = float64(from+int64(i)) * step
	}
}

// times keeps the first and last time of the file.
func (m *merger) times(t []float64) {
	if len(t) == 0 {
		return
	}
	if !m.first {
		m.first = true
		m.sum.First = t[0]
	}
	m.sum.Last = t[len(t)-1]
}

// part adds the run k of a block to channel ch.
func (m *merger) part(ch int, t, v []float64, b *block, k int) {
	if len(t) == 0 {
		return
	}
	c := &m.sum.Channels[ch]
	if c.Samples() == 0 {
		c.First = t[0]
	}
	c.Last = t[len(t)-1]
	if at, ok := suspect(v, b.moments[k]); ok && len(c.Suspects) < maxRemarks {
		c.Suspects = append(c.Suspects, Suspect{Row: c.Samples() + int64(at) + 1, Value: v[at]})
	}
	c.Moments.Merge(b.moments[k])
	m.batch.Parts = append(m.batch.Parts, Part{Channel: ch, T: t, V: v, Moments: b.moments[k]})
}

// longParts joins the channels of a block by name.
func (m *merger) longParts(b *block) {
	for k, name := range b.names {
		ch, ok := m.index[name]
		if !ok {
			ch = len(m.sum.Channels)
			m.index[name] = ch
			c := Channel{Name: name, Unit: b.units[k].si, Column: m.plan.valueCol}
			m.sum.Channels = append(m.sum.Channels, ChannelSummary{Channel: c})
			m.batch.Channels = append(m.batch.Channels, c)
			if ch > 0 {
				m.steps = append(m.steps, stepper{})
			}
		}
		c := &m.sum.Channels[ch]
		if b.units[k].si != c.Unit {
			b.unreadable += len(b.v[k])
			b.remark(1, "channel %q changes its unit: its values here are left out", name)
			continue
		}
		t := b.lt[k]
		if m.plan.time.Kind == NoTime {
			m.count(t, c.Samples())
		}
		st := &m.steps[ch]
		if m.plan.time.Kind == Clock && m.profile.column(Date) < 0 {
			st.unwrap(t)
		}
		st.watch(t, c.Samples()+1)
		if len(t) > 0 {
			if !m.first {
				m.first = true
				m.sum.First, m.sum.Last = t[0], t[0]
			}
			m.sum.First, m.sum.Last = min(m.sum.First, t[0]), max(m.sum.Last, t[len(t)-1])
		}
		m.part(ch, t, b.v[k], b, k)
	}
}

// finish returns the summary of what was taken.
func (m *merger) finish() *Summary {
	s := &m.sum
	o := m.origin
	switch m.plan.time.Kind {
	case DateTime, Epoch, Serial, Clock:
		if o.known && (m.plan.time.Kind != Clock || o.sec != 0) {
			s.Start = time.Unix(o.sec, o.nsec).UTC()
			s.ZoneKnown = o.zone
		}
		if m.plan.base != 0 && m.plan.time.Kind == Clock {
			s.Start = time.Unix(m.plan.base-m.plan.zone, 0).UTC()
			s.ZoneKnown = m.plan.time.Zone != ""
		}
	}
	if m.plan.layout == Long {
		for k := range s.Channels {
			s.Channels[k].Steps = m.steps[k].Steps
			s.Steps.Duplicates += m.steps[k].Duplicates
			s.Steps.Backward += m.steps[k].Backward
		}
	} else {
		s.Steps = m.steps[0].Steps
		for k := range s.Channels {
			s.Channels[k].Steps = s.Steps
		}
	}
	s.notes(m.profile)
	return s
}
