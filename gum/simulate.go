package gum

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// simulation is one run of a program.
type simulation struct {
	*program
	opt      MCOptions
	samples  [][]float64 // per output, in the order of drawing
	total    []moments   // per output, of all trials
	machines []*machine
}

// moments are the count, mean and sum of squared deviations of finite trials.
type moments struct {
	n        int
	mean, m2 float64
}

func (m moments) sd() float64 { return math.Sqrt(m.m2 / float64(m.n-1)) }

// merge combines the moments of two sets of trials (T. F. Chan, G. H. Golub,
// R. J. LeVeque, The American Statistician 37, 1983).
func (m moments) merge(o moments) moments {
	if m.n == 0 {
		return o
	}
	if o.n == 0 {
		return m
	}
	n := m.n + o.n
	d := o.mean - m.mean
	w := float64(o.n) / float64(n)
	return moments{n, m.mean + float64(d*w), m.m2 + o.m2 + float64(d*d*float64(m.n)*w)}
}

// momentsOf computes in two passes, over one lane in cache.
func momentsOf(x []float64) moments {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	m := moments{n: len(x), mean: sum / float64(len(x))}
	if sum-sum != 0 { // a trial is not finite, or the sum overflows
		finite := make([]float64, 0, len(x))
		for _, v := range x {
			if v-v == 0 {
				finite = append(finite, v)
			}
		}
		if len(finite) < len(x) {
			if len(finite) == 0 {
				return moments{}
			}
			return momentsOf(finite)
		}
	}
	for _, v := range x {
		d := v - m.mean
		m.m2 += float64(d * d)
	}
	return m
}

// span is a lane of trials: its number, which picks the random streams, and
// where its trials go.
type span struct{ lane, start, n int }

// spans cuts n trials that start at the given place into lanes.
func spans(firstLane, start, n int) []span {
	var out []span
	for done := 0; done < n; done += lane {
		out = append(out, span{firstLane + done/lane, start + done, min(lane, n-done)})
	}
	return out
}

// fixed runs a given number of trials.
func (s *simulation) fixed(ctx context.Context) error {
	for k := range s.samples {
		s.samples[k] = make([]float64, s.opt.Trials)
	}
	plan := spans(0, 0, s.opt.Trials)
	got, err := s.run(ctx, plan, 0, s.opt.Trials)
	if err != nil {
		return err
	}
	s.total = make([]moments, len(s.outs))
	for i := range plan {
		for k := range s.total {
			s.total[k] = s.total[k].merge(got[i*len(s.outs)+k])
		}
	}
	return nil
}

// run computes the spans on all workers. It returns the moments of each span
// and output, which do not depend on who computed them. Progress counts from
// already done.
func (s *simulation) run(ctx context.Context, plan []span, already, total int) ([]moments, error) {
	workers := s.opt.Workers
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	workers = min(workers, len(plan))
	for len(s.machines) < workers {
		s.machines = append(s.machines, newMachine(s.program, s.opt.Seed))
	}
	got := make([]moments, len(plan)*len(s.outs))
	report := s.reporter(already, total)
	var next atomic.Int64
	var group sync.WaitGroup
	for _, m := range s.machines[:workers] {
		group.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(plan) {
					return
				}
				p := plan[i]
				m.run(uint64(p.lane), p.n)
				for k, b := range s.outs {
					x := s.samples[k][p.start : p.start+p.n]
					copy(x, m.buf[b])
					got[i*len(s.outs)+k] = momentsOf(x)
				}
				report(p.n)
			}
		})
	}
	group.Wait()
	return got, ctx.Err()
}

// reporter returns a function that counts trials and passes the count on,
// about a hundred times in all.
func (s *simulation) reporter(already, total int) func(n int) {
	if s.opt.Progress == nil {
		return func(int) {}
	}
	var mu sync.Mutex
	done, told := already, already
	return func(n int) {
		mu.Lock()
		defer mu.Unlock()
		done += n
		if done == total || done-told >= total/100 {
			told = done
			s.opt.Progress(done, total)
		}
	}
}
