package trace

import (
	"fmt"
	"math"
)

// SegmentOptions choose how eagerly a record is cut; the zero value is usable.
type SegmentOptions struct {
	// Penalty is the price of a cut in units of ln n; 0 means 4. A cut adds three parameters (place,
	// level, slope), for which Schwarz's criterion asks 3 ln n; the fourth keeps false cuts in pure
	// noise below one record in a hundred (TestSegmentsOfNoise).
	Penalty float64
	// Shortest is the least number of samples between cuts; 0 means 8.
	Shortest int
	// Material is the smallest change that matters, relative to the level; smaller steps are merged.
	// 0 means 0.001.
	Material float64
	// Bins bounds how many points the cuts are sought among; 0 means 2048. Longer records are
	// reduced to medians of equal runs first and the cuts then placed to the sample; a state shorter
	// than four points is not seen.
	Bins int
}

func (o SegmentOptions) withDefaults() (SegmentOptions, error) {
	if o.Penalty == 0 {
		o.Penalty = 4
	}
	if o.Shortest == 0 {
		o.Shortest = 8
	}
	if o.Material == 0 {
		o.Material = 0.001
	}
	if o.Bins == 0 {
		o.Bins = 2048
	}
	if !(o.Penalty > 0) || math.IsInf(o.Penalty, 0) || o.Shortest < 3 || !(o.Material > 0) || o.Material > 1 || o.Bins < 64 {
		return o, fmt.Errorf("segments: penalty %g, shortest %d, material %g, bins %d", o.Penalty, o.Shortest, o.Material, o.Bins)
	}
	return o, nil
}

// A Segment is a run of samples that one straight line describes.
type Segment struct {
	From, To   int     // samples From ≤ i < To of the series
	Start, End float64 // times of its first and last sample
	AtStart    float64 // the line there
	AtEnd      float64
}

// Slope returns the slope of the line per second.
func (s Segment) Slope() float64 {
	if s.End == s.Start {
		return 0
	}
	return (s.AtEnd - s.AtStart) / (s.End - s.Start)
}

// Level returns the line's value in the middle.
func (s Segment) Level() float64 { return (s.AtStart + s.AtEnd) / 2 }

// A Segmentation is a record cut into segments, with the figures that decided it.
type Segmentation struct {
	Segments  []Segment
	Noise     float64 // standard deviation of one point about its line
	Inflation float64 // of the variance of long averages, by correlation
	Penalty   float64 // price of a cut, in units of Noise²·Inflation
	Bin       int     // samples to a point
	Spikes    int     // points that were clipped
}

// Split cuts s where a straight line no longer describes it: the cuts minimise
//
//	Σ over segments of (residual sum of squares of its line)/(σ²F) + Penalty·ln n per cut.
//
// σ comes from the differences of neighbouring points and F, the inflation by correlation, from those of
// block means, both by medians, so that neither steps nor spikes enter. Spikes are clipped first.
// Missing samples and overloads are passed over.
func Split(s *Series, opt SegmentOptions) (*Segmentation, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return nil, err
	}
	index := make([]int, 0, len(s.V))
	for i, x := range s.V {
		if x-x == 0 {
			index = append(index, i)
		}
	}
	if len(index) == 0 {
		return nil, fmt.Errorf("segments of %s: %w", s.Name, errNoSamples)
	}
	bin := (len(index) + opt.Bins - 1) / opt.Bins
	x, y := binned(s, index, bin)
	g := &Segmentation{Bin: bin, Inflation: 1}
	g.Noise = differenceNoise(y)
	if digit := SmallestStep(y); g.Noise < digit/math.Sqrt(12) {
		g.Noise = digit / math.Sqrt(12) // a meter that repeats its last digit still rounds
	}
	var cuts []int
	shortest := max((opt.Shortest+bin-1)/bin, 4)
	if g.Noise > 0 {
		y, g.Spikes = clipSpikes(y, g.Noise, spikeLimit)
		g.Inflation = longNoise(y, g.Noise)
		g.Penalty = opt.Penalty * math.Log(float64(len(y)))
		sigma := g.Noise * math.Sqrt(g.Inflation)
		cuts = cutAt(x, y, sigma, g.Penalty, shortest)
		for range 2 { // a spike beside a step may have passed for the other state: judge it by its own
			n := clipToLines(x, y, cuts, spikeLimit*sigma)
			if n == 0 {
				break
			}
			g.Spikes += n
			cuts = cutAt(x, y, sigma, g.Penalty, shortest)
		}
		cuts = mergeImmaterial(x, y, cuts, opt.Material)
	}
	g.place(s, index, x, y, cuts)
	return g, nil
}

// binned returns times and values of runs of finite samples: medians, so that spikes vanish.
func binned(s *Series, index []int, bin int) (x, y []float64) {
	n := len(index) / bin
	x, y = make([]float64, n), make([]float64, n)
	run := make([]float64, bin)
	for i := range n {
		for k, at := range index[i*bin : (i+1)*bin] {
			run[k] = s.V[at]
			x[i] += (s.T[at] - s.T[0]) / float64(bin)
		}
		y[i] = median(run)
	}
	return x, y
}

// cutAt scales the points and partitions them.
func cutAt(x, y []float64, sigma, penalty float64, shortest int) []int {
	n := len(x)
	span := max(x[n-1]-x[0], math.SmallestNonzeroFloat64)
	level := MomentsOf(y).Mean()
	xs, ys := make([]float64, n), make([]float64, n)
	for i := range x {
		xs[i], ys[i] = (x[i]-x[0])/span-0.5, (y[i]-level)/sigma
	}
	return partition(n, newLineSums(xs, ys).cost, penalty, shortest)
}

// mergeImmaterial removes cuts, smallest jump first, at which neither level nor slope changes by more
// than material times the level over the shorter neighbour.
func mergeImmaterial(x, y []float64, cuts []int, material float64) []int {
	sums := newLineSums(x, y)
	scale := 0.0
	for _, v := range y {
		scale = max(scale, math.Abs(v))
	}
	for len(cuts) > 0 {
		best, least := -1, math.Inf(1)
		for k, c := range cuts {
			a, b := 0, len(x)
			if k > 0 {
				a = cuts[k-1]
			}
			if k+1 < len(cuts) {
				b = cuts[k+1]
			}
			la, sa := sums.line(a, c)
			lb, sb := sums.line(c, b)
			level := max(math.Abs(la+sa*x[c]), math.Abs(lb+sb*x[c]), scale*1e-6)
			// The largest distance between either line and the other's continuation over it.
			change := math.Abs(lb + sb*x[c] - la - sa*x[c])
			change = max(change, math.Abs(lb+sb*x[b-1]-la-sa*x[b-1]), math.Abs(lb+sb*x[a]-la-sa*x[a]))
			if r := change / level; r < least {
				best, least = k, r
			}
		}
		if least > material {
			break
		}
		cuts = append(cuts[:best:best], cuts[best+1:]...)
	}
	return cuts
}

// spikeLimit is how many standard deviations make a spike.
const spikeLimit = 3.5

// place turns cuts between points into segments of samples.
func (g *Segmentation) place(s *Series, index []int, x, y []float64, cuts []int) {
	sums := newLineSums(x, y)
	bounds := append(append([]int{0}, cuts...), len(x))
	t0 := s.T[0]
	type line struct{ level, slope float64 }
	lines := make([]line, len(bounds)-1)
	for k := range lines {
		lines[k].level, lines[k].slope = sums.line(bounds[k], bounds[k+1])
	}
	starts := make([]int, len(lines)+1)
	for k := 1; k < len(lines); k++ {
		at := bounds[k] * g.Bin
		if g.Bin > 1 { // the sample from which the line on the right fits better, within a point either way
			a, b := lines[k-1], lines[k]
			best, sum, least := at, 0.0, math.Inf(1)
			for i := max(at-g.Bin, 0); i < min(at+g.Bin, len(index)); i++ {
				t, v := s.T[index[i]]-t0, s.V[index[i]]
				if sum < least {
					best, least = i, sum
				}
				sum += math.Abs(v-a.level-a.slope*t) - math.Abs(v-b.level-b.slope*t)
			}
			at = best
		}
		starts[k] = index[at]
	}
	starts[len(lines)] = len(s.T)
	for k, l := range lines {
		seg := Segment{From: starts[k], To: starts[k+1]}
		seg.Start, seg.End = s.T[seg.From], s.T[seg.To-1]
		seg.AtStart, seg.AtEnd = l.level+l.slope*(seg.Start-t0), l.level+l.slope*(seg.End-t0)
		g.Segments = append(g.Segments, seg)
	}
}
