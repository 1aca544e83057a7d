package trace

import (
	"math/rand/v2"
	"testing"
)

func noisy(n int) *Series {
	rng := rand.New(rand.NewPCG(1, 2))
	v := make([]float64, n)
	for i := range v {
		v[i] = 3 + 0.01*rng.NormFloat64()
	}
	return even(v, 0.001)
}

func BenchmarkMoments(b *testing.B) {
	s := noisy(1 << 20)
	b.SetBytes(8 << 20)
	for b.Loop() {
		MomentsOf(s.V)
	}
}

func BenchmarkPyramid(b *testing.B) {
	s := noisy(1 << 20)
	b.SetBytes(8 << 20)
	for b.Loop() {
		NewPyramid(s)
	}
}

// BenchmarkView draws a view of 1500 pixels of a record of 10 million samples.
func BenchmarkView(b *testing.B) {
	p := NewPyramid(noisy(10_000_000))
	for b.Loop() {
		if _, err := p.View(1234.5, 8765.4, 1500); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSummarise(b *testing.B) {
	s := noisy(100_000)
	for b.Loop() {
		if _, err := Summarise(s); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSplit is the dear case: no step in it, so that nothing is pruned.
func BenchmarkSplit(b *testing.B) {
	s := noisy(1_000_000)
	for b.Loop() {
		if _, err := Split(s, SegmentOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWindows(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 4))
	v, _ := steps(rng, []float64{1, 2, 1.5, 3, 1, 2, 4, 1}, 20_000, 0.02, true)
	s := even(v, 0.01)
	for b.Loop() {
		if _, _, err := Windows(s, WindowOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAlign(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 6))
	v, _ := steps(rng, []float64{1, 2, 1.5, 3}, 5000, 0.05, false)
	w, _ := steps(rng, []float64{1, 2, 1.5, 3}, 5000, 0.05, false)
	for b.Loop() {
		if _, err := ByCorrelation(even(v, 0.1), even(w, 0.1), CorrelateOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
