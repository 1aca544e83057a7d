package trace

// lineSums are running sums of points, from which the straight line through any run of them follows
// in constant time. Points are centred and scaled by the caller, so that little is lost in differences.
type lineSums []lineSum

// A lineSum is the sum over all points before one.
type lineSum struct{ x, y, xx, xy, yy float64 }

func newLineSums(x, y []float64) lineSums {
	s := make(lineSums, len(x)+1)
	for i := range x {
		p := s[i]
		s[i+1] = lineSum{p.x + x[i], p.y + y[i], p.xx + x[i]*x[i], p.xy + x[i]*y[i], p.yy + y[i]*y[i]}
	}
	return s
}

// centred returns the sums over points a ≤ i < b, those of squares about the means.
func (s lineSums) centred(a, b int) lineSum {
	p, q := &s[a], &s[b]
	n := 1 / float64(b-a)
	x, y := q.x-p.x, q.y-p.y
	return lineSum{x, y, q.xx - p.xx - x*x*n, q.xy - p.xy - x*y*n, q.yy - p.yy - y*y*n}
}

// cost returns the residual sum of squares of the line through points a ≤ i < b.
func (s lineSums) cost(a, b int) float64 {
	c := s.centred(a, b)
	if c.xx > 0 {
		c.yy -= c.xy * c.xy / c.xx
	}
	return max(c.yy, 0)
}

// line returns level at x = 0 and slope of the line through points a ≤ i < b.
func (s lineSums) line(a, b int) (level, slope float64) {
	c := s.centred(a, b)
	if b-a > 1 && c.xx > 0 {
		slope = c.xy / c.xx
	}
	return (c.y - slope*c.x) / float64(b-a), slope
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
	costs := make([]float64, 0, n)
	for t := shortest; t <= n; t++ {
		if s := t - shortest; s >= shortest {
			starts = append(starts, start{s, never})
		}
		least := -1
		costs = costs[:0]
		for k, s := range starts {
			costs = append(costs, best[s.at]+cost(s.at, t)+penalty)
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
