package notebook

import (
	"railtally/internal/quantity"
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

// A sealJob is a chunk that is being made, all series of a clock side by side.
type sealJob struct {
	parts []sealing
	done  chan error // one for each part
	seq   int64
	buf   [][]float64
	tails bool // some of its samples are in tail rows
}

func (s *sealing) make(e *packed.Encoder, c *clockWriter, j *sealJob, i int, last bool) error {
	v := j.buf[i]
	id := c.strands[i].id
	buckets, m := packed.Summarise(make([]packed.Bucket, 0, packed.RunSize), v)
	if len(v) > 0 {
		s.chunk = traceRow{kind: rowChunk, series: id, seq: j.seq, samples: len(v), moments: packed.AppendMoments(nil, m)}
		if m.N > 0 {
			s.chunk.least, s.chunk.most = m.Min, m.Max
		}
		var err error
		// A chunk is about as large as the one before it.
		if s.chunk.data, err = e.Encode(make([]byte, 0, c.sizes[i]+c.sizes[i]/16), v); err != nil {
			return err
		}
		c.sizes[i] = len(s.chunk.data)
	}
	return s.climb(e, id, &c.levels[i], buckets, last)
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
