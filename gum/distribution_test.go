package gum

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// cdfs has the cumulative distribution function and the standard deviation of
// the trials for each kind of distribution, written apart from the package:
// from gonum's distuv, or by integrating the density.
var cdfs = []struct {
	d   Distribution
	sd  float64
	cdf func(x float64) float64
}{
	{Normal{1, 2}, 2, distuv.Normal{Mu: 1, Sigma: 2}.CDF},
	{StudentT{1, 2, 9}, 2 * math.Sqrt(9.0/7), distuv.StudentsT{Mu: 1, Sigma: 2, Nu: 9}.CDF},
	{StudentT{0, 1, 1}, math.Inf(1), func(x float64) float64 { return 0.5 + math.Atan(x)/math.Pi }}, // Cauchy
	{StudentT{0, 1, 2}, math.Inf(1), func(x float64) float64 { return 0.5 + x/(2*math.Sqrt(2+x*x)) }},
	{StudentT{-3, 0.5, 3.5}, 0, distuv.StudentsT{Mu: -3, Sigma: 0.5, Nu: 3.5}.CDF}, // no fourth moment: sd not tested
	{StudentT{0, 1, 49}, math.Sqrt(49.0 / 47), distuv.StudentsT{Sigma: 1, Nu: 49}.CDF},
	{StudentT{0, 1, 1e5}, 1, distuv.StudentsT{Sigma: 1, Nu: 1e5}.CDF},
	{StudentT{0, 1, 1e9}, 1, distuv.UnitNormal.CDF},
	{Rectangular{2, 5}, 3 / math.Sqrt(12), distuv.Uniform{Min: 2, Max: 5}.CDF},
	{Triangular{2, 5}, 3 / math.Sqrt(24), distuv.NewTriangle(2, 5, 3.5, nil).CDF},
	{Trapezoidal{-1, 1, 0.4}, math.Sqrt(1.16 / 6), trapezoidCDF(0.4)},
	{Trapezoidal{-1, 1, 0}, math.Sqrt(1.0 / 6), trapezoidCDF(0)},
	{Trapezoidal{-1, 1, 1}, math.Sqrt(1.0 / 3), distuv.Uniform{Min: -1, Max: 1}.CDF},
	{Arcsine{2, 6}, math.Sqrt2, func(x float64) float64 { return 0.5 + math.Asin(max(-1, min(1, (x-4)/2)))/math.Pi }},
	{CurvilinearTrapezoid{-1, 1, 0.3}, math.Sqrt(4.0/12 + 0.09/9), curvilinearCDF(1, 0.3)},
	{CurvilinearTrapezoid{-1, 1, 1}, math.Sqrt(4.0/12 + 1.0/9), curvilinearCDF(1, 1)},
}

// trapezoidCDF integrates the trapezoid of half-widths 1 and beta.
func trapezoidCDF(beta float64) func(float64) float64 {
	top := 1 / (1 + beta)
	var cdf func(x float64) float64
	cdf = func(x float64) float64 {
		switch {
		case x > 0:
			return 1 - cdf(-x)
		case x <= -1:
			return 0
		case x < -beta:
			return top * (x + 1) * (x + 1) / (2 * (1 - beta))
		}
		return 0.5 + top*x
	}
	return cdf
}

// curvilinearCDF integrates the distribution function of a rectangle of
// half-width s, ½ + x/(2s) for |x| < s, over s from w−d to w+d.
func curvilinearCDF(w, d float64) func(float64) float64 {
	var cdf func(x float64) float64
	cdf = func(x float64) float64 {
		switch {
		case x < 0:
			return 1 - cdf(-x)
		case x == 0:
			return 0.5
		case x >= w+d:
			return 1
		}
		inside := max(x, w-d) // rectangles wider than this reach beyond x
		return (inside - (w - d) + (w+d-inside)/2 + x/2*math.Log((w+d)/inside)) / (2 * d)
	}
	return cdf
}

func samplesOf(t *testing.T, d Distribution, n int) []float64 {
	t.Helper()
	g := New()
	v := g.Input(Input{Name: "x", Dist: d})
	r := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: n, Seed: 99, Keep: true}, v))
	return r.Samples[0]
}

// kolmogorov returns the largest distance between the empirical distribution
// of x and cdf, times √n. Above 1.95 lies 1 run in 1000 (Kolmogorov 1933).
func kolmogorov(x []float64, cdf func(float64) float64) float64 {
	slices.Sort(x)
	n, d := float64(len(x)), 0.0
	for k, v := range x {
		f := cdf(v)
		d = max(d, f-float64(k)/n, float64(k+1)/n-f)
	}
	return d * math.Sqrt(n)
}

func TestDistributions(t *testing.T) {
	const n = 100_000
	for _, c := range cdfs {
		t.Run(fmt.Sprintf("%T%v", c.d, c.d), func(t *testing.T) {
			x := samplesOf(t, c.d, n)
			if c.sd > 0 && !math.IsInf(c.sd, 1) {
				mean, sd := stat.MeanStdDev(x, nil)
				within(t, "mean", mean, c.d.Expectation(), 4*c.sd/math.Sqrt(n))
				// The standard error of sd is sd·√((κ−1)/4n), with κ estimated.
				kurtosis := stat.ExKurtosis(x, nil) + 3
				near(t, "sd", sd, c.sd, 4*math.Sqrt((kurtosis-1)/(4*n)))
				if _, isT := c.d.(StudentT); !isT {
					near(t, "StdDev", c.d.StdDev(), c.sd, 1e-12)
				}
			}
			if k := kolmogorov(x, c.cdf); k > 1.95 {
				t.Errorf("Kolmogorov distance %.2f/√n", k)
			}
		})
	}
}

func TestZeroWidth(t *testing.T) {
	for _, d := range []Distribution{Normal{3, 0}, StudentT{3, 0, 4}, Rectangular{3, 3}, Triangular{3, 3},
		Trapezoidal{3, 3, 0.5}, Arcsine{3, 3}, CurvilinearTrapezoid{3, 3, 0}} {
		g := New()
		x := g.Input(Input{Name: "x", Dist: d})
		y := Sum(x.Mul(x), x.AddConst(1).Mul(x.Scale(2)), normal(g, "n", 0, 1).Scale(0).Mul(x), x.Neg().Exp()) // 9 + 24 + 0 + e⁻³
		r := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 2000}, x, y))
		for k, want := range []float64{3, 33 + math.Exp(-3)} {
			o := r.Outputs[k]
			if math.Abs(o.Mean-want) > 1e-12 || o.U > 1e-12 || math.Abs(o.Symmetric.Lo-want) > 1e-12 || o.Symmetric.Width() != 0 {
				t.Errorf("%T: %+v, want %g", d, o, want)
			}
		}
		lin := result(t, y)
		if lin.U != 0 || !math.IsInf(lin.DOF, 1) {
			t.Errorf("%T: %+v", d, lin)
		}
	}
}

func TestInvalidInputs(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, in := range []Input{
		{}, {Dist: Normal{nan, 1}}, {Dist: Normal{inf, 1}}, {Dist: Normal{0, -1}}, {Dist: Normal{0, nan}},
		{Dist: Normal{0, 1}, DOF: -1}, {Dist: Normal{0, 1}, DOF: nan},
		{Dist: StudentT{0, 1, 0}}, {Dist: StudentT{0, 1, 0.5}}, {Dist: StudentT{0, -1, 5}}, {Dist: StudentT{0, 1, nan}},
		{Dist: StudentT{0, 1, 5}, DOF: 6}, {Dist: Rectangular{1, 0}}, {Dist: Rectangular{0, inf}},
		{Dist: Rectangular{-math.MaxFloat64, math.MaxFloat64}}, {Dist: Triangular{1, 0}}, {Dist: Arcsine{1, 0}},
		{Dist: Trapezoidal{0, 1, 1.1}}, {Dist: Trapezoidal{0, 1, nan}}, {Dist: Trapezoidal{1, 0, 0.5}},
		{Dist: CurvilinearTrapezoid{0, 1, 0.6}}, {Dist: CurvilinearTrapezoid{0, 1, -0.1}}, {Dist: CurvilinearTrapezoid{1, 0, 0}},
	} {
		g := New()
		in.Name = "bad"
		v := g.Input(in)
		if g.Err() == nil || !math.IsNaN(v.Estimate()) {
			t.Errorf("%+v is accepted", in)
		}
		if _, err := g.Result(g.Const(1)); err != g.Err() {
			t.Errorf("a result ignores the fault of the graph")
		}
	}
}
