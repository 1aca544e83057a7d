package gum

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// adaptive runs the procedure of JCGM 101 7.9.4: blocks of M = max(J, 10⁴)
// trials, J the smallest whole number not below 100/(1−p), until twice the
// standard deviation of the average over blocks of each of y, u, y_low and
// y_high is within the numerical tolerance of u, for every output. The ends
// are those of the symmetric interval, since those of the shortest one are
// poorly determined for nearly symmetric distributions.
//
// Blocks are drawn a few at a time to keep the workers busy, but judged one by
// one, and those beyond the stop are dropped: the outcome does not depend on
// the number of workers.
func (s *simulation) adaptive(ctx context.Context, res *MCResult) error {
	size := max(10_000, int(math.Ceil(100/(1-s.opt.Level)-1e-6)))
	if size > s.opt.MaxTrials/2 {
		return fmt.Errorf("at most %d trials leave no room for two blocks of %d", s.opt.MaxTrials, size)
	}
	const wave = 4
	lanes := (size + lane - 1) / lane
	most := s.opt.MaxTrials / size
	watch := make([]blockStats, len(s.outs))
	s.total = make([]moments, len(s.outs))
	scratch := make([]float64, size)
	for h := 0; h < most; {
		n := min(wave, most-h)
		var plan []span
		for b := h; b < h+n; b++ {
			plan = append(plan, spans(b*lanes, b*size, size)...)
		}
		for k := range s.samples {
			s.samples[k] = append(s.samples[k], make([]float64, n*size)...)
		}
		got, err := s.run(ctx, plan, h*size, most*size)
		if err != nil {
			return err
		}
		for b := range n {
			h++
			for k := range s.outs {
				var m moments
				for i := b * lanes; i < (b+1)*lanes; i++ {
					m = m.merge(got[i*len(s.outs)+k])
				}
				s.total[k] = s.total[k].merge(m)
				x := s.samples[k][(h-1)*size : h*size]
				watch[k].add(m, finiteOnly(x, scratch[:0]), s.opt.Level)
			}
			if h >= 2 && s.settled(watch) {
				res.Stable = true
				for k := range s.samples {
					s.samples[k] = s.samples[k][:h*size]
				}
				if s.opt.Progress != nil {
					s.opt.Progress(h*size, h*size)
				}
				return nil
			}
		}
	}
	res.Warnings = append(res.Warnings, fmt.Sprintf("not stable to %d digits after %d trials", s.opt.Digits, most*size))
	return nil
}

func (s *simulation) settled(watch []blockStats) bool {
	for k := range watch {
		delta := Tolerance(s.total[k].sd(), s.opt.Digits) * s.opt.Tolerance
		if !watch[k].within(delta) {
			return false
		}
	}
	return true
}

// blockStats are the moments, over blocks, of the four figures of an output.
type blockStats [4]moments

// add takes in one block of trials, in any order, which it may reorder.
func (b *blockStats) add(m moments, trials []float64, level float64) {
	z := [4]float64{m.mean, m.sd(), math.NaN(), math.NaN()}
	if q := coverageCount(level, len(trials)); q >= 1 && q < len(trials) {
		sym, _ := intervalsOf(trials, q)
		z[2], z[3] = sym.Lo, sym.Hi
	}
	for k, v := range z {
		b[k] = b[k].merge(moments{n: 1, mean: v})
	}
}

// within reports whether 2s_z ≤ delta for the four figures. It is false when a
// figure is not a number.
func (b *blockStats) within(delta float64) bool {
	for _, m := range b {
		if !(2*m.sd()/math.Sqrt(float64(m.n)) <= delta) {
			return false
		}
	}
	return true
}

// finiteOnly appends the finite numbers of x to dst.
func finiteOnly(x, dst []float64) []float64 {
	dst = slices.Grow(dst, len(x))
	for _, v := range x {
		if v-v == 0 {
			dst = append(dst, v)
		}
	}
	return dst
}
