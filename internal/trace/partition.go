package trace

// lineSums are running sums of points, from which the straight line through any run of them follows
// in constant time. Points are centred and scaled by the caller, so that little is lost in differences.
type lineSums struct {
	x, y, xx, xy, yy []float64
}

func newLineSums(x, y []float64) *lineSums {
	n := len(x) + 1
	s := &lineSums{make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)}
	for i := range x {
		s.x[i+1] = s.x[i] + x[i]
		s.y[i+1] = s.y[i] + y[i]
		s.xx[i+1] = s.xx[i] + x[i]*x[i]
		s.xy[i+1] = s.xy[i] + x[i]*y[i]
		s.yy[i+1] = s.yy[i] + y[i]*y[i]
	}
	return s
}

// cost returns the residual sum of squares of the line through points a ≤ i < b.
func (s *lineSums) cost(a, b int) float64 {
	n := float64(b - a)
	sx, sy := s.x[b]-s.x[a], s.y[b]-s.y[a]
	sxx := s.xx[b] - s.xx[a] - sx*sx/n
	sxy := s.xy[b] - s.xy[a] - sx*sy/n
	syy := s.yy[b] - s.yy[a] - sy*sy/n
	if sxx > 0 {
		syy -= sxy * sxy / sxx
	}
	return max(syy, 0)
}

// line returns level at x = 0 and slope of the line through points a ≤ i < b.
func (s *lineSums) line(a, b int) (level, slope float64) {
	n := float64(b - a)
	sx, sy := s.x[b]-s.x[a], s.y[b]-s.y[a]
	sxx := s.xx[b] - s.xx[a] - sx*sx/n
	sxy := s.xy[b] - s.xy[a] - sx*sy/n
	if b-a > 1 && sxx > 0 {
		slope = sxy / sxx
	}
	return (sy - slope*sx) / n, slope
}

// partition cuts points 0 ≤ i < n where the sum of cost(a, b) over the parts plus penalty for each cut
// is least, every part at least shortest long. It returns where the parts begin, 0 excepted.
//
// This is PELT (Killick, Fearnhead and Eckley, J. Am. Stat. Assoc. 107 (2012) 1590, from memory): optimal
// partitioning in which a start that lost once by more than the penalty is dropped for good; with a
// shortest part it may be dropped only that many points later, which keeps the optimum exact.
func partition(n int, cost func(a, b int) float64, penalty float64, shortest int) []int {
	if n < 2*shortest {
		return nil
	}
	best := make([]float64, n+1) // least cost of the first t points
	from := make([]int, n+1)
	best[0] = -penalty
	const never = 1 << 62
	type start struct{ at, until int }
	starts := []start{{0, never}}
	for t := shortest; t <= n; t++ {
		if s := t - shortest; s >= shortest {
			starts = append(starts, start{s, never})
		}
		least := -1
		costs := make([]float64, len(starts))
		for k, s := range starts {
			costs[k] = best[s.at] + cost(s.at, t) + penalty
			if least < 0 || costs[k] < costs[least] {
				least = k
			}
		}
		best[t], from[t] = costs[least], starts[least].at
		kept := starts[:0]
		for k, s := range starts {
			if costs[k]-penalty > best[t] {
				s.until = min(s.until, t+shortest)
			}
			if s.until > t {
				kept = append(kept, s)
			}
		}
		starts = kept
	}
	var cuts []int
	for t := from[n]; t > 0; t = from[t] {
		cuts = append(cuts, t)
	}
	for i, j := 0, len(cuts)-1; i < j; i, j = i+1, j-1 {
		cuts[i], cuts[j] = cuts[j], cuts[i]
	}
	return cuts
}
