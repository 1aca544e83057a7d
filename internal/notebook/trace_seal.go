package notebook

import (
	"railtally/internal/quantity"
	"railtally/internal/trace"
	"railtally/internal/trace/packed"
)

const secondUnit = quantity.Second

// rowKind tells what a traceRow is.
type rowKind uint8

const (
	rowChunk    rowKind = iota
	rowOutline          // seq of a level
	rowTail             // seq is the number of samples before
	rowTailGone         // samples before seq are in chunks now
)

// A traceRow is a row that waits to be written.
type traceRow struct {
	kind        rowKind
	series      int64
	seq         int64
	level       int
	samples     int
	least, most any // float64, or nil
	moments     []byte
	data        []byte
}

// A ladder holds the buckets of each level of an outline that do not fill a run yet.
type ladder struct {
	part [packed.Levels][]packed.Bucket
	runs [packed.Levels]int64 // written
}

// A sealing is what becomes of one series of a full chunk.
type sealing struct {
	chunk    traceRow
	outlines []traceRow
}

func (s *sealing) make(e *packed.Encoder, c *clockWriter, i int, last bool) error {
	v := c.buf[i]
	id := c.strands[i].id
	if len(v) > 0 {
		m := trace.MomentsOf(v)
		s.chunk = traceRow{kind: rowChunk, series: id, seq: c.chunks, samples: len(v), moments: packed.AppendMoments(nil, m)}
		if m.N > 0 {
			s.chunk.least, s.chunk.most = m.Min, m.Max
		}
		var err error
		if s.chunk.data, err = e.Encode(nil, v); err != nil {
			return err
		}
	}
	return s.climb(e, id, &c.levels[i], packed.Buckets(make([]packed.Bucket, 0, packed.RunSize), v), last)
}

// climb adds buckets of level 0 to a ladder and makes rows of the runs that are full; with last, of
// those that are not as well. A level above a single run would say nothing new and is left out.
func (s *sealing) climb(e *packed.Encoder, id int64, l *ladder, b []packed.Bucket, last bool) error {
	for level := range packed.Levels {
		l.part[level] = append(l.part[level], b...)
		part := l.part[level]
		full := len(part) >= packed.RunSize
		if !full && !(last && len(part) > 0 && (level == 0 || l.runs[level-1] > 1)) {
			if !last {
				return nil
			}
			b = nil
			continue
		}
		n := min(len(part), packed.RunSize)
		data, err := e.EncodeRun(nil, part[:n])
		if err != nil {
			return err
		}
		s.outlines = append(s.outlines, traceRow{kind: rowOutline, series: id, level: level, seq: l.runs[level], data: data})
		l.runs[level]++
		b = packed.Raise(nil, part[:n])
		l.part[level] = append(part[:0], part[n:]...)
	}
	return nil
}
