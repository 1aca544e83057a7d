package trace

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"railtally/internal/quantity"
)

// A Series is one channel of a log: values in SI at times that never decrease.
//
// A value is finite, NaN where the sample is missing, +Inf or −Inf where the meter was beyond its
// range. Channels that were sampled together share one slice of times.
type Series struct {
	Name   string
	Unit   quantity.Unit
	Origin time.Time // what T counts from; zero when only relative times are known
	T      []float64 // seconds from Origin
	V      []float64
}

// NewSeries checks times and values and returns a series of them; it keeps both slices. Times must be
// finite and not decrease (SortByTime puts them in order).
func NewSeries(name string, unit quantity.Unit, t, v []float64) (*Series, error) {
	if len(t) != len(v) {
		return nil, fmt.Errorf("series %q: %d times for %d values", name, len(t), len(v))
	}
	if len(t) == 0 {
		return nil, fmt.Errorf("series %q: no samples", name)
	}
	for i, x := range t {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil, fmt.Errorf("series %q: time %d is not finite", name, i)
		}
		if i > 0 && x < t[i-1] {
			return nil, fmt.Errorf("series %q: time decreases at sample %d", name, i)
		}
	}
	return &Series{Name: name, Unit: unit, T: t, V: v}, nil
}

// SortByTime puts samples in the order of their times, those of one time in the order given. The
// slices of columns are reordered along with t.
func SortByTime(t []float64, columns ...[]float64) {
	if slices.IsSorted(t) {
		return
	}
	order := make([]int, len(t))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case t[a] < t[b]:
			return -1
		case t[a] > t[b]:
			return 1
		}
		return 0
	})
	scratch := make([]float64, len(t))
	for _, c := range append([][]float64{t}, columns...) {
		for i, k := range order {
			scratch[i] = c[k]
		}
		copy(c, scratch)
	}
}

// Len returns the number of samples.
func (s *Series) Len() int { return len(s.T) }

// Index returns the first sample at or after time t; Len when there is none.
func (s *Series) Index(t float64) int { return sort.SearchFloat64s(s.T, t) }

// Window returns the samples with from ≤ t < to as a series that shares its slices with s. With to at
// or beyond the last time the last sample is in.
func (s *Series) Window(from, to float64) (*Series, error) {
	if !(from < to) {
		return nil, fmt.Errorf("window from %g s to %g s: the end must be later", from, to)
	}
	i, j := s.Index(from), s.Index(to)
	if to >= s.T[len(s.T)-1] {
		j = len(s.T)
	}
	if i >= j {
		return nil, fmt.Errorf("window from %g s to %g s holds no sample; the record spans %g s to %g s",
			from, to, s.T[0], s.T[len(s.T)-1])
	}
	return s.slice(i, j), nil
}

func (s *Series) slice(i, j int) *Series {
	w := *s
	w.T, w.V = s.T[i:j:j], s.V[i:j:j]
	return &w
}

// Shift returns the series as read by another clock that is dt seconds ahead.
func (s *Series) Shift(dt float64) *Series {
	w := *s
	w.T = make([]float64, len(s.T))
	for i, t := range s.T {
		w.T[i] = t + dt
	}
	return &w
}

// Span returns the time from first to last sample in seconds.
func (s *Series) Span() float64 { return s.T[len(s.T)-1] - s.T[0] }

// Step returns the median time between samples, 0 for a single sample.
func (s *Series) Step() float64 {
	if len(s.T) < 2 {
		return 0
	}
	d := make([]float64, 0, min(len(s.T)-1, stepSample))
	stride := (len(s.T)-2)/stepSample + 1
	for i := 1; i < len(s.T); i += stride {
		d = append(d, s.T[i]-s.T[i-1])
	}
	return median(d)
}

// stepSample bounds how many steps the median is taken of.
const stepSample = 1 << 16

// finite returns times and values of the finite samples; the slices of s when all are.
func (s *Series) finite() (t, v []float64) {
	bad := slices.IndexFunc(s.V, func(x float64) bool { return x-x != 0 })
	if bad < 0 {
		return s.T, s.V
	}
	t, v = slices.Clone(s.T[:bad]), slices.Clone(s.V[:bad])
	for i := bad; i < len(s.V); i++ {
		if x := s.V[i]; x-x == 0 {
			t, v = append(t, s.T[i]), append(v, x)
		}
	}
	return t, v
}

// A Gap is a stretch in which samples are absent.
type Gap struct {
	From, To float64 // times of the samples on either side
	Before   int     // index of the sample that ends it
}

// gapFactor is how many median steps make a gap; common practice, no source.
const gapFactor = 3

// Gaps returns where the time between two samples exceeds three median steps.
func (s *Series) Gaps() []Gap {
	var gaps []Gap
	limit := gapFactor * s.Step()
	if limit <= 0 {
		return nil
	}
	for i := 1; i < len(s.T); i++ {
		if s.T[i]-s.T[i-1] > limit {
			gaps = append(gaps, Gap{From: s.T[i-1], To: s.T[i], Before: i})
		}
	}
	return gaps
}

// SmallestStep returns the smallest difference between two different neighbouring samples: the least
// digit of the meter wherever noise covers a few of its digits. 0 means that all samples are equal.
// Differences below 1e-9 of the values are the rounding of float64 and are passed over.
func SmallestStep(v []float64) float64 {
	least := math.Inf(1)
	for i := 1; i < len(v); i++ {
		d := math.Abs(v[i] - v[i-1])
		if d < least && d > 1e-9*max(math.Abs(v[i]), math.Abs(v[i-1])) {
			least = d
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// median returns the median of x and reorders it; 0 for none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	n := len(x)
	if n%2 == 1 {
		return x[n/2]
	}
	return x[n/2-1] + (x[n/2]-x[n/2-1])/2
}

var errNoSamples = errors.New("no finite sample")
