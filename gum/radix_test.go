package gum

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestSortTrials(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		some := rapid.SliceOfN(rapid.Float64(), 1, 50).Draw(t, "numbers")
		x := make([]float64, rapid.IntRange(900, 2000).Draw(t, "length"))
		for i := range x { // repeated, with signs and last bits changed
			x[i] = some[i*i%len(some)] * float64(1-i%3)
			if i%7 == 0 {
				x[i] = math.Nextafter(x[i], 1)
			}
		}
		want := slices.Clone(x)
		slices.Sort(want)
		sortTrials(x)
		if !slices.Equal(x, want) { // −0 and 0 are equal, their order is open
			t.Fatal("not sorted")
		}
	})
}

func BenchmarkSortTrials(b *testing.B) {
	g := newRNG(1, 2, 3)
	x, y := make([]float64, 50_000), make([]float64, 50_000)
	for i := range x {
		x[i] = g.open() - 0.5
	}
	for name, sort := range map[string]func([]float64){"radix": sortTrials, "compare": slices.Sort[[]float64]} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				copy(y, x)
				sort(y)
			}
		})
	}
}
