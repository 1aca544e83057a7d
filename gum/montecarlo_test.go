package gum

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// mixture records a model that uses every kind of draw and of instruction.
func mixture() (*Graph, []Value) {
	g := New()
	n, s := normal(g, "n", 1, 0.1), g.Input(Input{Name: "t", Dist: StudentT{2, 0.1, 5}})
	r, tri := g.Input(Input{Name: "r", Dist: Rectangular{1, 2}}), g.Input(Input{Name: "tri", Dist: Triangular{1, 2}})
	trap, arc := g.Input(Input{Name: "trap", Dist: Trapezoidal{1, 2, 0.5}}), g.Input(Input{Name: "arc", Dist: Arcsine{1, 2}})
	cur := g.Input(Input{Name: "cur", Dist: CurvilinearTrapezoid{1, 2, 0.2}})
	j := g.Joint("j", []Input{{Name: "a", Dist: Normal{Mean: 1}}, {Name: "b", Dist: Normal{Mean: 2}}, {Name: "c", Dist: Normal{Mean: 3}}},
		mat.NewSymDense(3, []float64{0.01, 0.005, 0, 0.005, 0.02, -0.01, 0, -0.01, 0.03}), 6)
	a := n.Mul(s.AddConst(1)).Sub(r.Scale(2)).Div(tri).Add(trap.Mul(arc)).Add(j[2])
	b := Custom("square", func(x []float64) float64 { return x[0] * x[0] }, func(x, d []float64) { d[0] = 2 * x[0] }, cur)
	return g, []Value{a, b, a.Mul(b).Sin(), Interp(n, r, s, j[0].AddConst(3), cur), j[1].Abs().Pow(n)}
}

func TestWorkersDoNotMatter(t *testing.T) {
	g, outs := mixture()
	var first *MCResult
	for _, w := range []int{1, 2, 3, 8} {
		r := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 10_500, Seed: 42, Workers: w, Keep: true}, outs...))
		if first == nil {
			first = r
			continue
		}
		for k := range outs {
			if r.Outputs[k] != first.Outputs[k] || !slices.Equal(r.Samples[k], first.Samples[k]) {
				t.Errorf("output %d differs between 1 and %d workers", k, w)
			}
		}
	}
	other := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 10_500, Seed: 43}, outs...))
	if other.Outputs[0].Mean == first.Outputs[0].Mean {
		t.Error("another seed gives the same trials")
	}
	// An unrelated output changes nothing.
	z := normal(g, "later", 0, 1).Exp()
	with := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 10_500, Seed: 42}, append([]Value{z}, outs...)...))
	for k := range outs {
		if with.Outputs[k+1] != first.Outputs[k] {
			t.Errorf("output %d differs beside an unrelated one", k)
		}
	}
	// Without Keep the trials may be reordered, the figures may not change.
	bare := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 10_500, Seed: 42}, outs...))
	if bare.Samples != nil || !slices.Equal(bare.Outputs, first.Outputs) {
		t.Error("figures depend on Keep")
	}
}

func TestJointTrials(t *testing.T) {
	cov := mat.NewSymDense(3, []float64{4, 3, -1, 3, 9, 1, -1, 1, 2})
	in := []Input{{Name: "a", Dist: Normal{Mean: 1}}, {Name: "b", Dist: Normal{Mean: 2}}, {Name: "c", Dist: Normal{Mean: 3}}}
	const n = 200_000
	for _, dof := range []float64{0, 12} {
		g := New()
		v := g.Joint("j", in, cov, dof)
		r := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: n, Keep: true}, v...))
		// The covariance of a multivariate t with scale matrix V is ν/(ν−2)·V
		// (JCGM 102:2011 5.3.2, from memory).
		k := 1.0
		if dof > 0 {
			k = dof / (dof - 2)
		}
		for a := range v {
			for b := range v {
				got := stat.Covariance(r.Samples[a], r.Samples[b], nil)
				within(t, "covariance", got, k*cov.At(a, b), 6*k*math.Sqrt(2*cov.At(a, a)*cov.At(b, b)/n))
			}
		}
	}
	// A singular matrix: b is −2a exactly; the unused a must still be drawn.
	g := New()
	v := g.Joint("s", in[:2], mat.NewSymDense(2, []float64{1, -2, -2, 4}), 0)
	r := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 5000, Keep: true}, v[1], v[0].Scale(2).Add(v[1])))
	near(t, "u(b)", r.Outputs[0].U, 2, 0.05)
	within(t, "2a+b", r.Outputs[1].U, 0, 1e-12)
	within(t, "linear u(2a+b)", result(t, v[0].Scale(2).Add(v[1])).U, 0, 1e-7)
	one := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 5000, Keep: true}, v[1]))
	if !slices.Equal(one.Samples[0], r.Samples[0]) {
		t.Error("a member draws differently alone")
	}
}

func TestIntervalsOf(t *testing.T) {
	// JCGM 101 7.7.2 with M = 1000 and p = 0.95: q = 950, r = 25, so the ends are
	// the 25th and the 975th value; with M = 999 q = int(949.55) = 949, M−q = 50.
	for _, m := range []int{1000, 999, 1001, 20} {
		x := make([]float64, m)
		for k := range x {
			x[k] = float64((k*7919)%m + 1) // 1..m in some order
		}
		q := coverageCount(0.95, m)
		r := math.Ceil(float64(m-q) / 2)
		sym, short := intervalsOf(x, q)
		if sym.Lo != r || sym.Hi != r+float64(q) || short.Width() != float64(q) {
			t.Errorf("M = %d: %v, %v", m, sym, short)
		}
	}
	// Against sorting everything, also with ties and for p below a half.
	g := newRNG(1, 1, 1)
	for _, m := range []int{2, 3, 10, 700, 5000} {
		for _, p := range []float64{0.1, 0.5, 0.9, 0.99} {
			x := make([]float64, m)
			for k := range x {
				x[k] = math.Floor(g.open() * g.open() * 300)
			}
			q := coverageCount(p, m)
			if q < 1 || q >= m {
				continue
			}
			s := slices.Sorted(slices.Values(x))
			sym, short := intervalsOf(x, q)
			r := (m-q+1)/2 - 1
			best := s[q] - s[0]
			for k := range m - q {
				best = min(best, s[k+q]-s[k])
			}
			if sym.Lo != s[r] || sym.Hi != s[r+q] || short.Width() != best {
				t.Errorf("M = %d, p = %g: %v, %v", m, p, sym, short)
			}
		}
	}
}

func TestTrialsWithoutValue(t *testing.T) {
	g := New()
	x := normal(g, "x", 2, 1) // negative in 2.3 % of the trials
	r := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 50_000, Keep: true}, x.Log(), x))
	o := r.Outputs[0]
	within(t, "negative trials", float64(o.NonFinite), 0.02275*50_000, 4*math.Sqrt(0.02275*50_000))
	if len(r.Warnings) != 1 || !strings.Contains(r.Warnings[0], "no finite value") || o.Mean-o.Mean != 0 || o.U-o.U != 0 || !(o.Symmetric.Lo < o.Symmetric.Hi) {
		t.Errorf("%+v, warnings %q", o, r.Warnings)
	}
	if r.Outputs[1].NonFinite != 0 || len(r.Samples[0]) != 50_000 {
		t.Error("trials of the other output are missing")
	}
	// At p = 0.99 more than 1−p of the trials are lost, and that is an error.
	if _, err := g.MonteCarlo(context.Background(), MCOptions{Trials: 50_000, Level: 0.99}, x.Log()); err == nil || !strings.Contains(err.Error(), "no finite value") {
		t.Errorf("error %v", err)
	}
	if _, err := g.MonteCarlo(context.Background(), MCOptions{Trials: 50_000}, x.Scale(0).Add(g.Const(-1)).Log()); err == nil {
		t.Error("an output without any value passes")
	}
}

func TestCancel(t *testing.T) {
	g, outs := mixture()
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	progress := func(done, total int) {
		if calls++; calls == 2 {
			cancel()
		}
	}
	r, err := g.MonteCarlo(ctx, MCOptions{Trials: 2_000_000, Progress: progress}, outs...)
	if !errors.Is(err, context.Canceled) || r != nil {
		t.Errorf("%v, %v", r, err)
	}
	if calls > 10 {
		t.Errorf("%d progress reports although cancelled in the second", calls)
	}
	if _, err := g.MonteCarlo(ctx, MCOptions{Adaptive: true}, outs...); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

func TestProgress(t *testing.T) {
	g, outs := mixture()
	for _, adaptive := range []bool{false, true} {
		last, final, calls := 0, 0, 0
		r := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 300_000, Adaptive: adaptive, Digits: 1, Progress: func(done, total int) {
			if done <= last && done != total || done > total {
				t.Errorf("%d of %d after %d", done, total, last)
			}
			last, final = done, total
			calls++
		}}, outs[0]))
		if last != r.Trials || final != r.Trials || calls > 110 {
			t.Errorf("%d calls end with %d of %d; %d trials", calls, last, final, r.Trials)
		}
	}
}

func TestOptionsAreChecked(t *testing.T) {
	g := New()
	x := normal(g, "x", 0, 1)
	for _, o := range []MCOptions{{Level: 1}, {Level: -0.1}, {Level: math.NaN()}, {Trials: -5}, {Trials: 1}, {Trials: 10}, {Workers: -1}, {Digits: 7},
		{Tolerance: -1}, {Adaptive: true, MaxTrials: 15_000}, {Adaptive: true, Level: 0.999999}} {
		if _, err := g.MonteCarlo(context.Background(), o, x); err == nil {
			t.Errorf("%+v passes", o)
		}
	}
	if _, err := g.MonteCarlo(context.Background(), MCOptions{}); err == nil {
		t.Error("no outputs pass")
	}
}

func TestNoStandardDeviation(t *testing.T) {
	g := New()
	x := g.Input(Input{Name: "two readings", Dist: StudentT{0, 1, 1}})
	r := must[*MCResult](t)(g.MonteCarlo(context.Background(), MCOptions{Trials: 100_000}, x))
	if len(r.Warnings) != 1 || !strings.Contains(r.Warnings[0], "two readings") {
		t.Errorf("warnings %q", r.Warnings)
	}
	near(t, "upper end", r.Outputs[0].Symmetric.Hi, 12.7062, 0.1) // t95(1), Table G.2
}
