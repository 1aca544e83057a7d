package notebook

import (
	"context"
	"math"

	"railtally/internal/trace"
)

// MaxSamples is how many samples of a channel TraceSamples returns at most unless told otherwise.
const MaxSamples = 1 << 21

// Samples are the samples of a window of a trace.
type Samples struct {
	Series []*trace.Series // of the channels asked for; those of one clock share their times
	// Averaged is how many neighbouring samples each one is the mean of; 1: none. Means keep the mean
	// of the window and what can be said of its uncertainty, as long as correlation outlasts them or
	// they are independent; they hide steps and spikes shorter than themselves.
	Averaged int
}

// TraceSamples returns the samples of some channels over from ≤ t ≤ to, times in order. Where a
// channel has more than most (0: MaxSamples), so many neighbours are averaged that it has not. It fails where
// a channel has no sample there.
func (nb *Notebook) TraceSamples(ctx context.Context, id int64, channels []int, from, to float64, most int) (*Samples, error) {
	if most <= 0 {
		most = MaxSamples
	}
	out := &Samples{Averaged: 1}
	err := nb.reading(ctx, id, func(r *reel) error {
		groups := map[int][]int{} // clock → places in channels
		var order []int
		for i, k := range channels {
			_, clock, err := r.channel(k)
			if err != nil {
				return err
			}
			if groups[clock.ordinal] == nil {
				order = append(order, clock.ordinal)
			}
			groups[clock.ordinal] = append(groups[clock.ordinal], i)
		}
		out.Series = make([]*trace.Series, len(channels))
		for _, ordinal := range order {
			var total int64
			clock := r.strands[ordinal]
			if err := r.pieces(clock, from, to, func(p piece) error { total += int64(p.samples); return nil }); err != nil {
				return err
			}
			out.Averaged = max(out.Averaged, int((total+int64(most)-1)/int64(most)))
		}
		for _, ordinal := range order {
			if err := r.gatherWindow(out, channels, groups[ordinal], r.strands[ordinal], from, to); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// gatherWindow reads the channels of one clock.
func (r *reel) gatherWindow(out *Samples, channels, places []int, clock strand, from, to float64) error {
	series := []strand{clock}
	for _, i := range places {
		series = append(series, r.at[channels[i]])
	}
	all := newAverager(len(series), out.Averaged)
	var cols [][]float64
	err := r.pieces(clock, from, to, func(p piece) (err error) {
		if cols, err = r.decode(p, clock, series, cols); err != nil {
			return err
		}
		for i, x := range cols[0] {
			if x >= from && x <= to {
				all.add(cols, i)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return r.finish(out, channels, places, all.out)
}

func (r *reel) finish(out *Samples, channels, places []int, all [][]float64) error {
	if len(all[0]) == 0 {
		return invalid("read the trace", "no sample in that window")
	}
	trace.SortByTime(all[0], all[1:]...)
	for k, i := range places {
		ch := r.trace.Channels[channels[i]]
		s, err := trace.NewSeries(ch.Name, ch.Unit, all[0], all[k+1])
		if err != nil {
			return err
		}
		s.Origin = r.trace.Zero
		out.Series[i] = s
	}
	return nil
}

// an averager takes the mean of each k samples in a row; those that are left over at the end are dropped.
type averager struct {
	k, seen int
	sum     []float64
	n       []int // finite ones
	out     [][]float64
}

func newAverager(cols, k int) *averager {
	return &averager{k: k, sum: make([]float64, cols), n: make([]int, cols), out: make([][]float64, cols)}
}

func (a *averager) add(cols [][]float64, i int) {
	if a.k == 1 {
		for c := range a.out {
			a.out[c] = append(a.out[c], cols[c][i])
		}
		return
	}
	for c := range a.out {
		if x := cols[c][i]; x-x == 0 {
			a.sum[c] += x
			a.n[c]++
		}
	}
	if a.seen++; a.seen < a.k {
		return
	}
	for c := range a.out {
		mean := math.NaN()
		if a.n[c] > 0 {
			mean = a.sum[c] / float64(a.n[c])
		}
		a.out[c] = append(a.out[c], mean)
		a.sum[c], a.n[c] = 0, 0
	}
	a.seen = 0
}
