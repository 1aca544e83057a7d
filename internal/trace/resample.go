package trace

import (
	"fmt"
	"math"
)

// Hold returns s at the times t, which must not decrease: at each the last sample at or before it, NaN
// before the first sample and inside gaps (see Gaps), where nothing was known.
func (s *Series) Hold(t []float64) *Series {
	w := *s
	w.T, w.V = t, make([]float64, len(t))
	limit := gapFactor * s.Step()
	if limit <= 0 {
		limit = math.Inf(1)
	}
	k := -1
	for i, x := range t {
		for k+1 < len(s.T) && s.T[k+1] <= x {
			k++
		}
		if k < 0 || x-s.T[k] > limit {
			w.V[i] = math.NaN()
			continue
		}
		w.V[i] = s.V[k]
	}
	return &w
}

// Nearest returns the values of s, its times brought to another clock by an offset, at the times t of that
// clock, which must not decrease: at each the sample that is nearest, NaN where none is nearer than three steps
// (see Gaps).
func (s *Series) Nearest(t []float64, offset float64) []float64 {
	out := make([]float64, len(t))
	limit := gapFactor * s.Step()
	if limit <= 0 {
		limit = math.Inf(1)
	}
	k := 0
	for i, x := range t {
		x -= offset
		for k+1 < len(s.T) && s.T[k+1]-x <= x-s.T[k] {
			k++
		}
		out[i] = math.NaN()
		if math.Abs(x-s.T[k]) <= limit {
			out[i] = s.V[k]
		}
	}
	return out
}

// Grid returns the mean of s over each of n intervals of length step that begin at from: samples count by
// the time for which they stand, until the next one. An interval is NaN unless known samples cover
// more than half of it. Times are the middles of the intervals.
func (s *Series) Grid(from, step float64, n int) (*Series, error) {
	if n < 1 || !(step > 0) || math.IsInf(step*float64(n), 0) || from-from != 0 {
		return nil, fmt.Errorf("grid of %d intervals of %g s from %g s", n, step, from)
	}
	w := *s
	w.T, w.V = make([]float64, n), make([]float64, n)
	limit := gapFactor * s.Step()
	k := max(s.Index(from)-1, 0)
	for i := range n {
		lo, hi := from+float64(i)*step, from+float64(i+1)*step
		w.T[i] = lo + step/2
		for k+1 < len(s.T) && s.T[k+1] <= lo {
			k++
		}
		var sum, known float64
		for j := k; j < len(s.T) && s.T[j] < hi; j++ {
			until := s.T[j] + s.stands(j, limit)
			span := min(until, hi) - max(s.T[j], lo)
			if x := s.V[j]; x-x == 0 && span > 0 {
				sum += x * span
				known += span
			}
		}
		w.V[i] = math.NaN()
		if known > step/2 {
			w.V[i] = sum / known
		}
	}
	return &w, nil
}

// stands returns for how long sample j stands: until the next one, limit at most; the last for as
// long as the one before it.
func (s *Series) stands(j int, limit float64) float64 {
	switch {
	case j+1 < len(s.T):
		return min(s.T[j+1]-s.T[j], limit)
	case j > 0:
		return min(s.T[j]-s.T[j-1], limit)
	}
	return limit
}
