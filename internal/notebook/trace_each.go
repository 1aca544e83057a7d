package notebook

import (
	"context"
	"math"
)

// EachSample calls fn for all samples of the channels of one clock, piece by piece in the order of the
// record: times, and the values of each channel that was sampled then, in the order of Trace.Channels. What
// fn is given is used again for the next piece.
func (nb *Notebook) EachSample(ctx context.Context, id int64, clock int, fn func(times []float64, values [][]float64) error) error {
	return nb.reading(ctx, id, func(r *reel) error {
		var series []strand
		for k, ch := range r.trace.Channels {
			if ch.Clock != clock {
				continue
			}
			s, of, err := r.channel(k)
			if err != nil {
				return err
			}
			if series == nil {
				series = append(series, of)
			}
			series = append(series, s)
		}
		if series == nil {
			return invalid("read the trace", "clock %d of trace %d", clock, id)
		}
		var cols [][]float64
		return r.pieces(series[0], math.Inf(-1), math.Inf(1), func(p piece) (err error) {
			if err := ctx.Err(); err != nil {
				return err
			}
			if cols, err = r.decode(p, series[0], series, cols); err != nil {
				return err
			}
			return fn(cols[0], cols[1:])
		})
	})
}
