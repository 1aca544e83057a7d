package gum

import (
	"math"
	"runtime"
	"sync"
)

// coverageCount returns q of JCGM 101 7.7.2: of m trials an interval for
// probability p spans q of the gaps between them.
func coverageCount(p float64, m int) int { return int(p*float64(m) + 0.5) }

// intervals fills in both intervals of each output, several outputs at a time.
func (s *simulation) intervals(outs []MCOutput) {
	workers := s.opt.Workers
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	slots := make(chan struct{}, workers)
	var group sync.WaitGroup
	for k := range outs {
		slots <- struct{}{}
		group.Go(func() {
			defer func() { <-slots }()
			x := s.samples[k]
			if s.opt.Keep || outs[k].NonFinite > 0 {
				x = finiteOnly(x, nil)
			}
			if q := coverageCount(s.opt.Level, len(x)); q >= 1 && q < len(x) {
				outs[k].Symmetric, outs[k].Shortest = intervalsOf(x, q)
			} else {
				nan := Interval{math.NaN(), math.NaN()}
				outs[k].Symmetric, outs[k].Shortest = nan, nan
			}
		})
	}
	group.Wait()
}

// intervalsOf returns the symmetric and the shortest interval that span q gaps
// (JCGM 101 7.7). It reorders x. Only the two tails are sorted, since no other
// order statistic can be an end of such an interval.
func intervalsOf(x []float64, q int) (symmetric, shortest Interval) {
	m := len(x)
	tail := m - q // lower ends are among the first tail values, upper among the last
	if 2*tail >= m {
		sortTrials(x)
	} else {
		selectNth(x, 0, m-1, tail-1)
		var group sync.WaitGroup
		if tail > 1000 {
			group.Go(func() { sortTrials(x[:tail]) })
		} else {
			sortTrials(x[:tail])
		}
		selectNth(x, tail, m-1, q)
		sortTrials(x[q:])
		group.Wait()
	}
	r := (tail + 1) / 2 // (M−q)/2, rounded up: a rank that starts at one
	symmetric = Interval{x[r-1], x[r-1+q]}
	best := 0
	for k := range tail {
		if x[k+q]-x[k] < x[best+q]-x[best] {
			best = k
		}
	}
	return symmetric, Interval{x[best], x[best+q]}
}

// selectNth reorders x[lo..hi] so that x[k] is where sorting would put it, with
// nothing larger before and nothing smaller after it. It is algorithm 489 of
// R. W. Floyd and R. L. Rivest (Communications of the ACM 18, 1975).
func selectNth(x []float64, lo, hi, k int) {
	for hi > lo {
		if hi-lo > 600 { // narrow the range by selecting in a sample first
			n, i := float64(hi-lo+1), float64(k-lo+1)
			z := math.Log(n)
			s := 0.5 * math.Exp(2*z/3)
			sd := 0.5 * math.Sqrt(z*s*(n-s)/n)
			if i < n/2 {
				sd = -sd
			}
			selectNth(x, max(lo, int(float64(k)-i*s/n+sd)), min(hi, int(float64(k)+(n-i)*s/n+sd)), k)
		}
		t := x[k]
		i, j := lo, hi
		x[lo], x[k] = x[k], x[lo]
		if x[hi] > t {
			x[hi], x[lo] = x[lo], x[hi]
		}
		for i < j {
			x[i], x[j] = x[j], x[i]
			i++
			j--
			for x[i] < t {
				i++
			}
			for x[j] > t {
				j--
			}
		}
		if x[lo] == t {
			x[lo], x[j] = x[j], x[lo]
		} else {
			j++
			x[j], x[hi] = x[hi], x[j]
		}
		if j <= k {
			lo = j + 1
		}
		if k <= j {
			hi = j - 1
		}
	}
}
