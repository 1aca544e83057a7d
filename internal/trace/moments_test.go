package trace

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// values draws samples; those whose squares would underflow (no quantity of a bench) become 0.
func values(t *rapid.T) []float64 {
	v := rapid.SliceOfN(rapid.OneOf(
		rapid.Float64Range(-1e9, 1e9),
		rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0}),
	), 1, 1500).Draw(t, "v")
	for i, x := range v {
		if math.Abs(x) < 1e-100 {
			v[i] = 0
		}
	}
	return v
}

func close15(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 4e-15*max(math.Abs(a), math.Abs(b))
}

// sameMoments compares counts exactly and sums to a few units of float64's last place.
func sameMoments(a, b Moments) bool {
	return a.N == b.N && a.Missing == b.Missing && a.Over == b.Over && a.Under == b.Under &&
		a.Min == b.Min && a.Max == b.Max && a.First == b.First && a.Last == b.Last &&
		(a.N == 0 || math.Abs(a.Mean()-b.Mean()) <= 1e-15*max(math.Abs(a.Min), math.Abs(a.Max))) &&
		(a.N < 2 || close15(a.SumHigh, b.SumHigh) || math.Abs(a.SumHigh-b.SumHigh) <= 1e-28*max(a.Max*a.Max, a.Min*a.Min)*float64(a.N))
}

// TestMomentsSplitAnywhere: a record's statistics do not depend on how it is cut, and agree with exact
// arithmetic.
func TestMomentsSplitAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := values(t)
		whole := MomentsOf(v)
		k := rapid.IntRange(0, len(v)).Draw(t, "cut")
		parts := MomentsOf(v[:k])
		parts.Merge(MomentsOf(v[k:]))
		if !sameMoments(whole, parts) {
			t.Fatalf("whole %+v\nparts %+v", whole, parts)
		}
		finite := slices.DeleteFunc(slices.Clone(v), func(x float64) bool { return x-x != 0 })
		if len(finite) >= 2 {
			mean, sd := exactMoments(finite)
			if math.Abs(whole.Mean()-mean) > 2e-16*math.Abs(mean)+1e-300 || !close15(whole.SD(), sd) && math.Abs(whole.SD()-sd) > 1e-14*sd {
				t.Fatalf("mean %v sd %v, exactly %v %v", whole.Mean(), whole.SD(), mean, sd)
			}
		}
		if whole.Samples() != int64(len(v)) {
			t.Fatalf("%d samples of %d", whole.Samples(), len(v))
		}
	})
}

func TestMomentsOfHugeValues(t *testing.T) {
	m := MomentsOf([]float64{1e308, 1e308, -1e308, 3})
	if m.N != 4 || m.Max != 1e308 || m.Min != -1e308 {
		t.Errorf("%+v", m)
	}
	if m := MomentsOf(nil); m.N != 0 || !math.IsNaN(m.Mean()) || !math.IsNaN(m.SD()) {
		t.Errorf("%+v", m)
	}
}

// TestPyramid: any window and any view have the statistics that a plain sum over their samples has.
func TestPyramid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5000).Draw(t, "n")
		seed := rapid.Uint32().Draw(t, "seed")
		v, at := make([]float64, n), make([]float64, n)
		x := seed
		for i := range v {
			x = x*1664525 + 1013904223
			v[i] = 1000 + float64(x>>8)/1e6
			if x%97 == 0 {
				v[i] = math.NaN()
			}
			if i > 0 {
				at[i] = at[i-1] + float64(x>>28)
			}
		}
		s, err := NewSeries("made", 0, at, v)
		if err != nil {
			t.Fatal(err)
		}
		p := NewPyramid(s)
		from := rapid.IntRange(0, n).Draw(t, "from")
		to := rapid.IntRange(from, n).Draw(t, "to")
		got, err := p.Moments(from, to)
		if err != nil || !sameMoments(got, MomentsOf(v[from:to])) {
			t.Fatalf("%d..%d: %+v, want %+v (%v)", from, to, got, MomentsOf(v[from:to]), err)
		}
		width := rapid.IntRange(1, 300).Draw(t, "width")
		pixels, err := p.View(at[0]-1, at[n-1]+1, width)
		if err != nil || len(pixels) > width {
			t.Fatalf("%d pixels of %d (%v)", len(pixels), width, err)
		}
		var all Moments
		for _, px := range pixels {
			all.Merge(px.Moments)
		}
		if !sameMoments(all, MomentsOf(v)) {
			t.Fatalf("the view has %+v, the record %+v", all, MomentsOf(v))
		}
	})
}

func TestPyramidRefuses(t *testing.T) {
	p := NewPyramid(even([]float64{1, 2, 3}, 1))
	if _, err := p.Moments(-1, 2); err == nil {
		t.Error("window before the record")
	}
	if _, err := p.Moments(2, 9); err == nil {
		t.Error("window beyond the record")
	}
	if _, err := p.View(2, 1, 10); err == nil {
		t.Error("view backwards")
	}
}

func TestSeriesRefuses(t *testing.T) {
	for _, c := range [][2][]float64{{{1, 2}, {1}}, {{}, {}}, {{2, 1}, {0, 0}}, {{0, math.NaN()}, {0, 0}}} {
		if _, err := NewSeries("x", 0, c[0], c[1]); err == nil {
			t.Errorf("accepted %v", c)
		}
	}
	s := even([]float64{1, 2, 3, 4}, 1)
	if w, err := s.Window(1, 2.5); err != nil || w.Len() != 2 || w.V[0] != 2 {
		t.Errorf("%+v %v", w, err)
	}
	if w, err := s.Window(1, 9); err != nil || w.Len() != 3 {
		t.Errorf("%+v %v", w, err)
	}
	for _, c := range [][2]float64{{3, 1}, {7, 9}, {math.NaN(), 1}} {
		if _, err := s.Window(c[0], c[1]); err == nil {
			t.Errorf("window %v", c)
		}
	}
	at, v := []float64{0, 2, 1, 1}, []float64{0, 3, 1, 2}
	SortByTime(at, v)
	if !slices.Equal(at, []float64{0, 1, 1, 2}) || !slices.Equal(v, []float64{0, 1, 2, 3}) {
		t.Errorf("%v %v", at, v)
	}
}
