package notebook

import (
	"context"
	"database/sql"
	"fmt"
	"math"

	"railtally/internal/trace"
	"railtally/internal/trace/packed"
)

// a reel reads the series of one trace within one transaction.
type reel struct {
	q       querier
	d       *packed.Decoder
	trace   Trace
	strands []strand // all series
	at      []strand // those of the channels
}

// reading runs fn with a reel of a trace.
func (nb *Notebook) reading(ctx context.Context, id int64, fn func(*reel) error) error {
	return nb.read(ctx, "read the trace", func(q querier) error {
		x, err := traceByID(q, id)
		if err != nil {
			return err
		}
		d, err := packed.NewDecoder()
		if err != nil {
			return err
		}
		defer d.Close()
		r := &reel{q: q, d: d, trace: x}
		if r.strands, err = strandsOf(q, id); err != nil {
			return err
		}
		_, r.at = channelsOf(r.strands)
		return fn(r)
	})
}

// channel returns the series of a channel and of its clock.
func (r *reel) channel(k int) (s, clock strand, err error) {
	if k < 0 || k >= len(r.at) {
		return s, clock, invalid("read the trace", "channel %d of %d", k, len(r.at))
	}
	return r.at[k], r.strands[r.at[k].clock], nil
}

// a piece is a run of samples that is decoded at once: a chunk, or a row of the tail.
type piece struct {
	first       int64
	samples     int
	least, most float64 // of its times
	seq         int64   // of a chunk, −1 for a tail
	tail        []byte
}

// pieces calls fn for the pieces of a clock that reach into from ≤ t ≤ to, in the order of the record.
func (r *reel) pieces(clock strand, from, to float64, fn func(piece) error) error {
	return r.piecesOf(clock, span{0, math.MaxInt64}, from, to, fn)
}

// piecesOf does the same for pieces that hold some of a span of samples.
func (r *reel) piecesOf(clock strand, of span, from, to float64, fn func(piece) error) error {
	rows, err := r.q.query(`SELECT seq, samples, least, most FROM chunk
		WHERE series = ? AND seq BETWEEN ? AND ? AND most >= ? AND least <= ? ORDER BY seq`,
		clock.id, of.from/packed.ChunkSize, (of.to-1)/packed.ChunkSize, from, to)
	if err != nil {
		return err
	}
	var list []piece
	for rows.Next() {
		var p piece
		if err := rows.Scan(&p.seq, &p.samples, &p.least, &p.most); err != nil {
			rows.Close()
			return err
		}
		p.first = p.seq * packed.ChunkSize
		list = append(list, p)
	}
	if err := rows.Close(); err != nil {
		return err
	}
	if err := rows.Err(); err != nil {
		return err
	}
	for _, p := range list {
		if err := fn(p); err != nil {
			return err
		}
	}
	if r.trace.Outcome == Complete {
		return nil
	}
	return eachTail(r.q, clock.id, of.from, func(first int64, samples int, data []byte) error {
		if first >= of.to {
			return nil
		}
		return fn(piece{first: first, samples: samples, least: math.Inf(-1), most: math.Inf(1), seq: -1, tail: data})
	})
}

// decode reads the samples of some series of a clock in one piece. cols are used again.
func (r *reel) decode(p piece, clock strand, series []strand, cols [][]float64) ([][]float64, error) {
	for len(cols) < len(series) {
		cols = append(cols, nil)
	}
	if p.seq < 0 {
		var all [][]float64
		for _, s := range r.strands {
			if s.clock == clock.ordinal {
				all = append(all, nil)
			}
		}
		if err := untail(r.d, p.tail, len(all), p.samples, all); err != nil {
			return nil, damaged(fmt.Sprintf("trace %d", r.trace.ID), err)
		}
		for i, s := range series {
			cols[i] = all[s.ordinal-clock.ordinal]
		}
		return cols, nil
	}
	for i, s := range series {
		var err error
		if cols[i], err = r.chunk(cols[i][:0], s, p.seq); err != nil {
			return nil, err
		}
		if len(cols[i]) != p.samples {
			return nil, damaged(fmt.Sprintf("trace %d", r.trace.ID), fmt.Errorf("chunk %d of %q has %d samples of %d", p.seq, s.name, len(cols[i]), p.samples))
		}
	}
	return cols, nil
}

// chunk appends the samples of one chunk.
func (r *reel) chunk(dst []float64, s strand, seq int64) ([]float64, error) {
	rows, err := r.q.query("SELECT data FROM chunk WHERE series = ? AND seq = ?", s.id, seq)
	if err != nil {
		return dst, err
	}
	defer rows.Close()
	if !rows.Next() {
		return dst, damaged(fmt.Sprintf("trace %d", r.trace.ID), fmt.Errorf("chunk %d of %q is missing (%v)", seq, s.name, rows.Err()))
	}
	var data sql.RawBytes
	if err := rows.Scan(&data); err != nil {
		return dst, err
	}
	dst, err = r.d.Decode(dst, data)
	return dst, damaged(fmt.Sprintf("trace %d, chunk %d of %q", r.trace.ID, seq, s.name), err)
}

// TraceStats returns the exact statistics of a channel over from ≤ t ≤ to, whatever the order that its samples came
// in; only First and Last follow that order. Only chunks at the edges of the window are decoded, or, of a record whose
// times go back, those that reach beyond it.
func (nb *Notebook) TraceStats(ctx context.Context, id int64, channel int, from, to float64) (out TraceStats, err error) {
	out.From, out.To = from, to
	err = nb.reading(ctx, id, func(r *reel) error {
		s, clock, err := r.channel(channel)
		if err != nil {
			return err
		}
		var cols [][]float64
		return r.pieces(clock, from, to, func(p piece) error {
			if p.seq >= 0 && p.least >= from && p.most <= to {
				var raw []byte
				if err := r.q.row("SELECT moments FROM chunk WHERE series = ? AND seq = ?", s.id, p.seq).Scan(&raw); err != nil {
					return err
				}
				m, err := packed.ReadMoments(raw)
				out.Merge(m)
				return damaged(fmt.Sprintf("trace %d", id), err)
			}
			var err error
			if cols, err = r.decode(p, clock, []strand{clock, s}, cols); err != nil {
				return err
			}
			out.Merge(trace.MomentsOf(within(cols[0], cols[1], from, to)))
			return nil
		})
	})
	return out, err
}

// within keeps of v the values at from ≤ t ≤ to, in place.
func within(t, v []float64, from, to float64) []float64 {
	n := 0
	for i, x := range t {
		if x >= from && x <= to {
			v[n] = v[i]
			n++
		}
	}
	return v[:n]
}
