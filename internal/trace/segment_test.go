package trace

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestPartitionIsOptimal compares PELT with a search through all partitions by dynamic programming
// without pruning.
func TestPartitionIsOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(-5, 5), 8, 60).Draw(t, "y")
		if rapid.Bool().Draw(t, "step") {
			for i := len(y) / 3; i < len(y); i++ {
				y[i] += 12
			}
		}
		x := make([]float64, len(y))
		for i := range x {
			x[i] = float64(i)/float64(len(x)) - 0.5
		}
		penalty := rapid.Float64Range(0.5, 60).Draw(t, "penalty")
		shortest := rapid.IntRange(2, 6).Draw(t, "shortest")
		sums := newLineSums(x, y)
		total := func(cuts []int) float64 {
			b := append(append([]int{0}, cuts...), len(y))
			sum := float64(len(cuts)) * penalty
			for k := 1; k < len(b); k++ {
				if b[k]-b[k-1] < shortest {
					t.Fatalf("part of %d", b[k]-b[k-1])
				}
				sum += sums.cost(b[k-1], b[k])
			}
			return sum
		}
		best := make([]float64, len(y)+1)
		for e := 1; e <= len(y); e++ {
			best[e] = math.Inf(1)
			for s := 0; s+shortest <= e; s++ {
				c := sums.cost(s, e)
				if s > 0 {
					c += best[s] + penalty
				}
				best[e] = min(best[e], c)
			}
		}
		if len(y) < shortest {
			return
		}
		if got := total(partition(len(y), sums.cost, penalty, shortest)); got > best[len(y)]+1e-9*math.Abs(best[len(y)]) {
			t.Fatalf("cost %g, least %g", got, best[len(y)])
		}
	})
}

// TestSegmentsOfNoise: white noise and first-order autoregressions have no cut; at most one record in a
// hundred of white noise, and one in twenty of correlated noise, may be cut.
func TestSegmentsOfNoise(t *testing.T) {
	for _, c := range []struct {
		phi   float64
		share float64
	}{{0, 0.01}, {0.5, 0.05}, {0.8, 0.05}} {
		rng := rand.New(rand.NewPCG(11, uint64(100*c.phi)))
		cut := 0
		const runs = 100
		for range runs {
			v := ar1(rng, 400, c.phi)
			for i := range v {
				v[i] = 10 + 0.05*v[i]
			}
			g, err := Split(even(v, 1), SegmentOptions{Material: 1e-6})
			if err != nil {
				t.Fatal(err)
			}
			if len(g.Segments) > 1 {
				cut++
			}
		}
		if float64(cut) > c.share*runs {
			t.Errorf("phi %g: %d of %d records are cut", c.phi, cut, runs)
		}
	}
}

// steps makes a record of levels, each so many samples long, with noise and a spike now and then.
func steps(rng *rand.Rand, levels []float64, length int, sigma float64, spikes bool) ([]float64, []int) {
	var v []float64
	var cuts []int
	for k, l := range levels {
		if k > 0 {
			cuts = append(cuts, len(v))
		}
		for range length {
			x := l + sigma*rng.NormFloat64()
			if spikes && rng.IntN(40) == 0 {
				x += 30 * sigma
			}
			v = append(v, x)
		}
	}
	return v, cuts
}

// TestSegmentsFindSteps: made records whose cuts are known, with and without spikes: each cut is found
// within two samples (four beside a spike), and there is no other.
func TestSegmentsFindSteps(t *testing.T) {
	for _, spikes := range []bool{false, true} {
		rng := rand.New(rand.NewPCG(12, 1))
		near := 2
		if spikes {
			near = 4
		}
		for run := range 40 {
			v, want := steps(rng, []float64{1, 1.4, 1.1, 2, 1.9}, 150, 0.015, spikes)
			g, err := Split(even(v, 0.1), SegmentOptions{})
			if err != nil {
				t.Fatal(err)
			}
			var got []int
			for _, s := range g.Segments[1:] {
				got = append(got, s.From)
			}
			if len(got) != len(want) {
				t.Errorf("spikes %v, run %d: cuts %v, want %v", spikes, run, got, want)
				continue
			}
			for k := range got {
				if d := got[k] - want[k]; d < -near || d > near {
					t.Errorf("spikes %v, run %d: cuts %v, want %v", spikes, run, got, want)
				}
			}
		}
	}
}

// TestSegmentsOfLongRecords: beyond 2048 points cuts are still placed to a few samples.
func TestSegmentsOfLongRecords(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 1))
	v, want := steps(rng, []float64{5, 5.5, 5.2}, 70001, 0.1, true)
	g, err := Split(even(v, 0.001), SegmentOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(g.Segments) != 3 || g.Bin < 2 {
		t.Fatalf("%+v", g)
	}
	for k, w := range want {
		if d := g.Segments[k+1].From - w; d < -4 || d > 4 {
			t.Errorf("cut at %d, want %d", g.Segments[k+1].From, w)
		}
	}
	if last := g.Segments[2].To; last != len(v) {
		t.Errorf("ends at %d of %d", last, len(v))
	}
}

// TestSegmentsCoverTheRecord: whatever the samples, segments follow one another from first to last.
func TestSegmentsCoverTheRecord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := values(t)
		s := even(v, 1)
		st, g, err := Windows(s, WindowOptions{})
		if !slices.ContainsFunc(v, func(x float64) bool { return x-x == 0 }) {
			if err == nil {
				t.Fatal("a record without samples has windows")
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		at := g.Segments[0].From
		for _, seg := range g.Segments {
			if seg.From != at || seg.To <= seg.From {
				t.Fatalf("segment %+v begins at %d", seg, at)
			}
			at = seg.To
		}
		end := st[0].From
		for _, x := range st {
			if x.From != end || x.To <= x.From {
				t.Fatalf("stretch %+v begins at %d", x, end)
			}
			end = x.To
		}
		if at != len(v) || end != len(v) {
			t.Fatalf("ends at %d and %d of %d", at, end, len(v))
		}
	})
}

func TestQuantisedRecord(t *testing.T) {
	v := make([]float64, 600)
	for i := range v {
		v[i] = 0.41
		if i >= 300 {
			v[i] = 0.53
		}
		if i%50 == 7 {
			v[i] += 0.01
		}
	}
	g, err := Split(even(v, 1), SegmentOptions{})
	if err != nil || len(g.Segments) != 2 || g.Segments[1].From != 300 {
		t.Errorf("%+v %v", g, err)
	}
	flat, err := Split(even(make([]float64, 50), 1), SegmentOptions{})
	if err != nil || len(flat.Segments) != 1 {
		t.Errorf("%+v %v", flat, err)
	}
	if _, err := Split(even(v, 1), SegmentOptions{Shortest: 1}); err == nil {
		t.Error("segments of one sample")
	}
}
