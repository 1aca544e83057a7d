package gum

import (
	"context"
	"math"
	"testing"
)

// record makes a graph of about n nodes in the shape of many readings of eight
// rails by one clamp and one meter, and returns the sum of each state.
func record(n int) (*Graph, []Value) {
	g := New()
	gC, gM, oM := normal(g, "gC", 0, 0.008), normal(g, "gM", 0, 0.0005), normal(g, "oM", 0, 0.0003)
	fM, fC := gM.AddConst(1), gC.AddConst(1)
	var states []Value
	tags := []Tag{{"cause", "reading"}}
	for g.Len() < n {
		var rails [8]Value
		for k := range rails {
			y := g.Input(Input{Name: "y", Dist: StudentT{0.2, 0.0004, 9}, Tags: tags})
			z := g.Input(Input{Name: "z", Dist: Normal{0.002, 0.0002}, Tags: tags})
			v := g.Input(Input{Name: "v", Dist: Normal{1, 0.001}, Tags: tags})
			rails[k] = y.Mul(fM).Add(oM).Sub(z).Scale(10).Mul(fC).Mul(v)
		}
		states = append(states, Sum(rails[:]...))
	}
	return g, states
}

func BenchmarkRecord(b *testing.B) {
	b.ReportAllocs()
	nodes := 0
	for b.Loop() {
		g, _ := record(100_000)
		nodes += g.Len()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(nodes), "ns/node")
}

// BenchmarkSweep evaluates every state of a fresh graph of 100 000 nodes (some
// 1300 results), without the recording.
func BenchmarkSweep(b *testing.B) {
	g, states := record(100_000)
	b.ReportAllocs()
	for b.Loop() {
		g.cache = nil
		for _, v := range states {
			if _, err := g.Result(v); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(len(states)), "results")
}

// BenchmarkSweepAll evaluates one result that depends on the whole graph.
func BenchmarkSweepAll(b *testing.B) {
	g, states := record(100_000)
	all := Mean(states...)
	for b.Loop() {
		g.cache = nil
		if _, err := g.Result(all); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCovMatrix(b *testing.B) {
	g, states := record(20_000)
	states = states[:100]
	for b.Loop() {
		if _, err := g.CovMatrix(states...); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMonteCarlo(b *testing.B) {
	g, states := record(150)
	for b.Loop() {
		if _, err := g.MonteCarlo(context.Background(), MCOptions{Trials: 200_000}, states[0]); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDraws(b *testing.B) {
	d := make([]float64, lane)
	g := newRNG(1, 2, 3)
	perDraw := func(b *testing.B) {
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/lane, "ns/draw")
	}
	for name, nu := range map[string]float64{"normal": math.Inf(1), "t9": 9} {
		z := newZiggurat(nu)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				z.draw(foldSet, d, 0, 1, &g)
			}
			perDraw(b)
		})
	}
	b.Run("uniform", func(b *testing.B) {
		for b.Loop() {
			uniform(foldSet, d, 0, ulp53, &g)
		}
		perDraw(b)
	})
	b.Run("tables", func(b *testing.B) {
		for b.Loop() {
			newZiggurat(9)
		}
	})
}
