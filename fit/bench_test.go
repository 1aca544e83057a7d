package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// bigProblem is a random design.
func bigProblem(n, p int) (*mat.Dense, []float64) {
	rng := rand.New(rand.NewPCG(1, 2))
	x, y := mat.NewDense(n, p, nil), make([]float64, n)
	for i := range n {
		for j := range p {
			x.Set(i, j, rng.NormFloat64())
		}
		y[i] = rng.NormFloat64()
	}
	return x, y
}

// 500 observations, 20 coefficients, full 500×500 covariance: the target is
// under 100 ms.
func BenchmarkGLS500x20(b *testing.B) {
	const n = 500
	x, y := bigProblem(n, 20)
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, math.Pow(0.8, float64(j-i)))
		}
	}
	for b.Loop() {
		if _, err := Linear(x, y, Options{Covariance: cov, Basis: Absolute}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLinear500x20(b *testing.B) {
	x, y := bigProblem(500, 20)
	for b.Loop() {
		if _, err := Linear(x, y, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLine100000(b *testing.B) {
	x, y := bigProblem(100000, 1)
	for b.Loop() {
		if _, err := Polynomial(x.RawMatrix().Data, y, 1, PolynomialOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOneWay18009(b *testing.B) {
	g := nistSets(b)["SmLs09"].groups(b, 0)
	for b.Loop() {
		if _, err := OneWay(g); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSummarize100000(b *testing.B) {
	_, y := bigProblem(100000, 1)
	for b.Loop() {
		if _, err := Summarize(y); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSettling(b *testing.B) {
	for _, bc := range []struct {
		name     string
		n, terms int
	}{{"n=100/terms=1", 100, 1}, {"n=100/terms=2", 100, 2}, {"n=10000/terms=1", 10000, 1}, {"n=10000/terms=2", 10000, 2}} {
		b.Run(bc.name, func(b *testing.B) {
			t, y := curve(bc.n, 30, 60, 0.02, 1, Exponential{Amplitude: -30, Tau: 6}, Exponential{Amplitude: -8, Tau: 0.7})
			for b.Loop() {
				if _, err := Settling(t, y, SettlingOptions{Terms: bc.terms}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkNonlinearMGH17(b *testing.B) {
	s := nistSets(b)["MGH17"]
	d := s.columns(b)
	start := make([]float64, len(s.Start2))
	for j, w := range s.Start2 {
		start[j] = num(b, w)
	}
	for b.Loop() {
		if _, err := Nonlinear(nistModels["MGH17"].over(d[1], true), d[0], start, NonlinearOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
