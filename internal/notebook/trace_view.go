package notebook

import (
	"context"
	"fmt"
	"math"
	"slices"

	"railtally/internal/trace/packed"
)

// A Pixel is what one column of a plot shows of a channel.
type Pixel struct {
	From, To float64 // times of its first and last sample
	packed.Bucket
}

// TraceView returns at most width pixels of a channel over from ≤ t ≤ to. It reads the level of the outline
// whose buckets are no wider than a pixel, or the samples themselves where there are fewer than a
// bucket to the pixel. Every sample of the window is in exactly one pixel; one in a bucket across the edge of
// two may be drawn in the neighbour. Pixels without a sample are left out.
func (nb *Notebook) TraceView(ctx context.Context, id int64, channel int, from, to float64, width int) (out []Pixel, err error) {
	if width < 1 || width > 1<<16 || !(from <= to) || math.IsInf(to-from, 0) {
		return nil, invalid("draw the trace", "%d pixels from %g s to %g s", width, from, to)
	}
	err = nb.reading(ctx, id, func(r *reel) error {
		s, clock, err := r.channel(channel)
		if err != nil {
			return err
		}
		p := painter{from: from, to: to, pixels: make([]Pixel, width)}
		if err := r.paint(&p, s, clock); err != nil {
			return err
		}
		out = p.done()
		return nil
	})
	return out, err
}

// paint narrows, from the coarsest level down, where the window lies, until a level is fine enough. Of
// that level it paints the buckets inside the window; those that reach beyond its ends are looked at on the
// levels below, and in the end sample by sample.
func (r *reel) paint(p *painter, s, clock strand) error {
	_, samples, err := samplesOf(r.q, clock.id)
	if err != nil || samples == 0 {
		return err
	}
	fine := false
	spans := []span{{0, samples}} // of samples that may reach into the window
	for level := packed.Levels - 1; level >= 0 && len(spans) > 0; level-- {
		size := packed.Span(level)
		if samples <= size {
			continue
		}
		var times [][]packed.Bucket
		if spans, times, err = r.narrow(clock, level, spans, samples, p.from, p.to); err != nil {
			return err
		}
		if fine = fine || spanned(spans) >= int64(len(p.pixels))*size; fine {
			if spans, err = r.brush(p, s, level, spans, times, samples); err != nil {
				return err
			}
		}
	}
	return r.dots(p, s, clock, spans)
}

// narrow keeps of spans the buckets of a level that reach into from ≤ t ≤ to, and gives their times.
func (r *reel) narrow(clock strand, level int, spans []span, samples int64, from, to float64) (out []span, times [][]packed.Bucket, err error) {
	size := packed.Span(level)
	for _, sp := range spans {
		first := sp.from / size
		b, err := r.buckets(clock, clock, level, first, (sp.to+size-1)/size, samples)
		if err != nil {
			return nil, nil, err
		}
		for i := 0; i < len(b); i++ {
			if b[i].Max < from || b[i].Min > to {
				continue
			}
			j := i + 1
			for j < len(b) && b[j].Max >= from && b[j].Min <= to {
				j++
			}
			out = append(out, span{(first + int64(i)) * size, min((first+int64(j))*size, samples)})
			times = append(times, b[i:j])
			i = j
		}
	}
	return out, times, nil
}

// buckets returns the buckets first ≤ b < end of one level of a series. What a record that still grows has
// not drawn yet is drawn from the level below, and in the end from its tail.
func (r *reel) buckets(s, clock strand, level int, first, end, samples int64) (out []packed.Bucket, err error) {
	var have int64
	if err := r.q.row("SELECT coalesce(max(seq) + 1, 0) FROM outline WHERE series = ? AND level = ?", s.id, level).Scan(&have); err != nil {
		return nil, err
	}
	if first < have*packed.RunSize {
		run := first / packed.RunSize
		if out, err = runs(r.q, r.d, s.id, level, run, min((end+packed.RunSize-1)/packed.RunSize, have)); err != nil {
			return nil, err
		}
		skip := min(first-run*packed.RunSize, int64(len(out)))
		out = out[skip:min(int64(len(out)), skip+end-first)]
	}
	at := first + int64(len(out))
	if at >= end {
		return out, nil
	}
	if level == 0 {
		return r.drawTail(out, s, clock, at, end)
	}
	below := packed.Span(level - 1)
	fine, err := r.buckets(s, clock, level-1, at*packed.Fan, min(end*packed.Fan, (samples+below-1)/below), samples)
	return packed.Raise(out, fine), err
}

// drawTail appends the buckets at ≤ b < end of samples that are in no chunk yet.
func (r *reel) drawTail(out []packed.Bucket, s, clock strand, at, end int64) ([]packed.Bucket, error) {
	chunks, _, err := samplesOf(r.q, clock.id)
	if err != nil {
		return nil, err
	}
	var v []float64
	err = eachTail(r.q, clock.id, chunks*packed.ChunkSize, func(first int64, samples int, data []byte) error {
		cols, err := r.decode(piece{seq: -1, samples: samples, tail: data}, clock, []strand{s}, nil)
		if err == nil {
			v = append(v, cols[0]...)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	b, _ := packed.Summarise(nil, v)
	skip := at - chunks*packed.RunSize
	if skip < 0 || skip > int64(len(b)) {
		return nil, damaged(fmt.Sprintf("trace %d", r.trace.ID), fmt.Errorf("bucket %d of %q is missing", at, s.name))
	}
	return append(out, b[skip:min(end-at+skip, int64(len(b)))]...), nil
}

// A span is a run of samples, from ≤ i < to.
type span struct{ from, to int64 }

func spanned(list []span) (n int64) {
	for _, s := range list {
		n += s.to - s.from
	}
	return n
}

// A painter collects what falls into each pixel.
type painter struct {
	from, to float64
	pixels   []Pixel
}

// add puts what stands between two times into the pixel of their middle.
func (p *painter) add(least, most float64, b packed.Bucket) {
	k := 0
	if p.to > p.from {
		k = int((least/2 + most/2 - p.from) / (p.to - p.from) * float64(len(p.pixels)))
	}
	x := &p.pixels[min(max(k, 0), len(p.pixels)-1)]
	if x.N+x.Odd == 0 {
		x.From, x.To = least, most
	} else {
		x.From, x.To = min(x.From, least), max(x.To, most)
	}
	x.Add(b)
}

// done returns the pixels that hold something.
func (p *painter) done() []Pixel {
	return slices.DeleteFunc(p.pixels, func(x Pixel) bool { return x.N+x.Odd == 0 })
}

// brush paints the buckets of one level that lie inside the window, and returns the spans of the others.
func (r *reel) brush(p *painter, s strand, level int, spans []span, times [][]packed.Bucket, samples int64) (rest []span, err error) {
	size := packed.Span(level)
	for i, sp := range spans {
		first := sp.from / size
		b, err := r.buckets(s, r.strands[s.clock], level, first, first+int64(len(times[i])), samples)
		if err != nil {
			return nil, err
		}
		if len(b) != len(times[i]) {
			return nil, damaged(fmt.Sprintf("trace %d", r.trace.ID), fmt.Errorf("%d buckets of %q for %d of its times", len(b), s.name, len(times[i])))
		}
		for k, t := range times[i] {
			if t.Min >= p.from && t.Max <= p.to {
				p.add(t.Min, t.Max, b[k])
				continue
			}
			at := (first + int64(k)) * size
			rest = append(rest, span{at, min(at+size, samples)})
		}
	}
	return rest, nil
}

// dots paints single samples.
func (r *reel) dots(p *painter, s, clock strand, spans []span) error {
	series := []strand{clock, s}
	var cols [][]float64
	for _, sp := range spans {
		err := r.piecesOf(clock, sp, p.from, p.to, func(x piece) (err error) {
			if cols, err = r.decode(x, clock, series, cols); err != nil {
				return err
			}
			for i := max(sp.from-x.first, 0); i < min(sp.to-x.first, int64(x.samples)); i++ {
				t, v := cols[0][i], cols[1][i]
				switch {
				case t < p.from || t > p.to:
				case v-v != 0:
					p.add(t, t, packed.Bucket{Odd: 1})
				default:
					p.add(t, t, packed.Bucket{N: 1, Min: v, Max: v, Mean: v})
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}
