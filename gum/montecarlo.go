package gum

import (
	"context"
	"fmt"
	"math"
)

// MCOptions say how to run a Monte Carlo evaluation. The zero value runs a
// million trials at a level of 95 % on all processors.
type MCOptions struct {
	Trials  int     // number of trials, 10⁶ when zero; not used when Adaptive
	Seed    uint64  // the same seed gives the same trials
	Level   float64 // coverage probability of the intervals, 0.95 when zero
	Workers int     // goroutines, GOMAXPROCS when zero; the results do not depend on it

	// Adaptive runs blocks of trials until mean, u and the ends of the
	// symmetric interval of every output are stable to Digits significant
	// digits of u (JCGM 101 7.9). It gives up after MaxTrials.
	Adaptive  bool
	Digits    int // 2 when zero
	MaxTrials int // 10⁷ when zero
	// Tolerance is a factor on the numerical tolerance of the adaptive
	// procedure, 1 when zero. To validate another result take 0.2 (8.2).
	Tolerance float64

	// Progress, when set, is told about a hundred times how many trials are
	// done, of total or, when Adaptive, of at most total. Its calls do not
	// overlap, but come from several goroutines. It should return quickly.
	Progress func(done, total int)
	Keep     bool // keep the trials in MCResult.Samples
}

// An Interval is a closed range of values.
type Interval struct{ Lo, Hi float64 }

// Width returns Hi−Lo.
func (i Interval) Width() float64 { return i.Hi - i.Lo }

// MCOutput is what the trials say about one value.
type MCOutput struct {
	Mean  float64 // average of the trials (JCGM 101 eq. 16)
	U     float64 // their standard deviation (eq. 17)
	Level float64
	// Symmetric leaves the same probability out on both sides; Shortest is the
	// narrowest interval that holds Level of the trials (7.7, 5.3.4). Where the
	// distribution is nearly symmetric the position of the shortest interval is
	// poorly determined, its width well.
	Symmetric, Shortest Interval
	// NonFinite counts trials without a finite value, such as the logarithm of
	// a negative number. The other figures describe the remaining trials.
	NonFinite int
}

// MCResult is the outcome of a Monte Carlo evaluation.
type MCResult struct {
	Trials int
	Seed   uint64
	// Stable reports that the adaptive procedure met its tolerance. A run with
	// a fixed number of trials makes no such statement, and it is false.
	Stable   bool
	Warnings []string
	Outputs  []MCOutput // in the order asked for
	// Samples are the trials of each output, in the order of drawing, so that
	// the k-th trials of two outputs belong together. Nil unless kept.
	Samples [][]float64
}

// MonteCarlo propagates the distributions of the inputs to outs
// (JCGM 101:2008).
//
// Trials are drawn in lanes of 1024, each with its own random streams, one per
// input. A stream depends only on the seed, the ordinal of the input and the
// lane, so the result is the same for every number of workers, and an input
// keeps its draws when other outputs are asked for. (Asking for an intermediate
// result as well may change how sums are grouped, and with it the last bits.)
//
// It needs 8 bytes per trial and output, twice that with Keep, and a few
// kilobytes per live node and worker.
//
// Trials without a finite value are counted and warned about. They are an error
// when they are more than 1−Level of all, since then no interval with that
// probability exists. When ctx ends its error is returned, within
// milliseconds unless a [Custom] function takes longer.
func (g *Graph) MonteCarlo(ctx context.Context, opt MCOptions, outs ...Value) (*MCResult, error) {
	for _, v := range outs {
		g.own(v)
	}
	opt, err := opt.withDefaults()
	if err != nil {
		return nil, err
	}
	if len(outs) == 0 {
		return nil, fmt.Errorf("monte carlo of no values")
	}
	if g.fault != nil {
		return nil, g.fault
	}
	g.mu.Lock()
	p := g.compile(outs)
	g.mu.Unlock()
	r := &simulation{program: p, opt: opt, samples: make([][]float64, len(outs))}
	res := &MCResult{Seed: opt.Seed, Warnings: p.notes}
	if opt.Adaptive {
		err = r.adaptive(ctx, res)
	} else {
		err = r.fixed(ctx)
	}
	if err != nil {
		return nil, err
	}
	res.Trials = len(r.samples[0])
	return res, r.finish(res)
}

func (o MCOptions) withDefaults() (MCOptions, error) {
	setInt := func(p *int, v int) {
		if *p == 0 {
			*p = v
		}
	}
	setInt(&o.Trials, 1_000_000)
	setInt(&o.MaxTrials, 10_000_000)
	setInt(&o.Digits, 2)
	if o.Level == 0 {
		o.Level = 0.95
	}
	if o.Tolerance == 0 {
		o.Tolerance = 1
	}
	switch {
	case !(o.Level > 0 && o.Level < 1):
		return o, fmt.Errorf("coverage probability %g is not between 0 and 1", o.Level)
	case o.Trials < 2 || o.MaxTrials < 2:
		return o, fmt.Errorf("%d trials; at least 2 are needed", min(o.Trials, o.MaxTrials))
	case o.Digits < 1 || o.Digits > 6:
		return o, fmt.Errorf("%d significant digits are not in 1..6", o.Digits)
	case o.Workers < 0:
		return o, fmt.Errorf("%d workers", o.Workers)
	case !(o.Tolerance > 0) || math.IsInf(o.Tolerance, 1):
		return o, fmt.Errorf("tolerance factor %g is not positive", o.Tolerance)
	}
	if q := coverageCount(o.Level, o.Trials); !o.Adaptive && (q < 1 || q >= o.Trials) {
		return o, fmt.Errorf("%d trials are too few for a coverage probability of %g", o.Trials, o.Level)
	}
	return o, nil
}

// finish computes the figures of each output from its trials.
func (s *simulation) finish(res *MCResult) error {
	res.Outputs = make([]MCOutput, len(s.samples))
	for k, all := range s.samples {
		m := s.total[k]
		out := &res.Outputs[k]
		*out = MCOutput{Mean: m.mean, U: m.sd(), Level: s.opt.Level, NonFinite: len(all) - m.n}
		if out.NonFinite > 0 {
			text := fmt.Sprintf("output %d: %d of %d trials have no finite value; the figures describe the others", k, out.NonFinite, len(all))
			if float64(out.NonFinite) > (1-s.opt.Level)*float64(len(all)) {
				return fmt.Errorf("output %d: %d of %d trials have no finite value", k, out.NonFinite, len(all))
			}
			res.Warnings = append(res.Warnings, text)
		}
	}
	if s.opt.Keep {
		res.Samples = s.samples
	}
	s.intervals(res.Outputs)
	return nil
}
