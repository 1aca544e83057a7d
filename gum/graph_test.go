package gum

import (
	"math"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func panics(t *testing.T, what string, f func()) {
	t.Helper()
	defer func() {
		if recover() == nil {
			t.Errorf("%s does not panic", what)
		}
	}()
	f()
}

func TestMisusePanics(t *testing.T) {
	g, h := New(), New()
	a, b := normal(g, "a", 1, 0.1), normal(h, "b", 1, 0.1)
	panics(t, "mixing graphs", func() { a.Add(b) })
	panics(t, "summing over graphs", func() { Sum(a, b) })
	panics(t, "result of another graph", func() { g.Result(b) })
	panics(t, "zero value", func() { Value{}.Neg() })
	panics(t, "zero operand", func() { a.Add(Value{}) })
	panics(t, "empty sum", func() { Sum() })
	panics(t, "unequal lengths", func() { WeightedSum([]float64{1}, []Value{a, a}) })
	panics(t, "custom without gradient", func() { Custom("f", func([]float64) float64 { return 0 }, nil, a) })
	panics(t, "sensitivity to a result", func() { g.Sensitivity(a, a.Neg()) })
	panics(t, "comparing levels", func() { Compare(Result{}, MCOutput{Level: 0.95}, 0.99, 2) })
	if (Value{}).Valid() || !a.Valid() || a.Graph() != g {
		t.Error("validity")
	}
}

func TestFirstFaultIsKept(t *testing.T) {
	g := New()
	x := normal(g, "good", 1, 0.1)
	g.Const(math.NaN())
	normal(g, "late", 1, -1)
	x.Scale(math.Inf(1))
	if err := g.Err(); err == nil || !strings.Contains(err.Error(), "NaN") {
		t.Errorf("fault %v", err)
	}
	if _, err := g.Cov(x, x); err != g.Err() {
		t.Error("covariance ignores the fault")
	}
	if _, err := g.Budget(x); err != g.Err() {
		t.Error("budget ignores the fault")
	}
}

func TestErrorsNameTheNode(t *testing.T) {
	g := New()
	x, y := normal(g, "x", 0, 0.1), normal(g, "y", 2, 0.1)
	for _, c := range []struct {
		v    Value
		want string
	}{
		{x.AddConst(-1).Log().Mul(y), `log(shift("x", -1))`},
		{y.Div(x).Add(y), `quotient("y", "x")`},
		{x.Sqrt().Add(y), `sqrt("x")`}, // finite, but its slope is not
		{x.Pow(y.Scale(0.25)), `power("x", scale("y", 0.25))`},
		{Interp(y, x, y, x, y), `interpolation("y", "x", "y", …)`},
		{x.PowConst(-1), `power("x", -1)`},
	} {
		_, err := g.Result(c.v)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v does not name %s", err, c.want)
		}
		if !math.IsNaN(g.Sensitivity(c.v, y)) {
			t.Errorf("%s has a sensitivity", c.want)
		}
	}
	result(t, y.Log()) // others are not affected
}

func TestFlatSpots(t *testing.T) {
	g := New()
	x, y := normal(g, "x", 0, 0.1), normal(g, "y", 0, 0.2)
	big, small := normal(g, "big", 100, 5), normal(g, "small", 0, 0.001)
	for _, c := range []struct {
		name string
		v    Value
		warn bool
	}{
		{"square at zero", x.PowConst(2), true},
		{"square as a product", x.Mul(x), true},
		{"cube at zero", x.PowConst(3), true},
		{"product of zeros", x.Mul(y), true},
		{"cosine at zero", x.Cos(), true},
		{"absolute value at zero", x.Abs(), true},
		{"constant times zero", x.Mul(g.Const(3)), false},
		{"small beside large", big.Add(x.PowConst(2)), false},
		{"gain on a reading of zero", small.Mul(normal(g, "gain", 1, 0.003)), false},
		{"sine at zero", x.Sin(), false},
		{"ordinary square", big.PowConst(2), false},
	} {
		if r := result(t, c.v); (len(r.Warnings) > 0) != c.warn {
			t.Errorf("%s: u %g, warnings %q", c.name, r.U, r.Warnings)
		}
	}
}

func TestJointFaults(t *testing.T) {
	in := []Input{{Name: "a", Dist: Normal{Mean: 1}}, {Name: "b", Dist: Normal{Mean: 2}}}
	sym := func(x ...float64) *mat.SymDense { return mat.NewSymDense(2, []float64{x[0], x[1], x[1], x[2]}) }
	for _, c := range []struct {
		in   []Input
		cov  *mat.SymDense
		dof  float64
		want string
	}{
		{in, sym(1, 1.01, 1), 0, "semidefinite"},
		{in, sym(1, math.NaN(), 1), 0, "finite"},
		{in, sym(-1, 0, 1), 0, "negative"},
		{in, sym(0, 0.1, 1), 0, "exactly known"},
		{in[:1], sym(1, 0, 1), 0, "2 rows"},
		{nil, sym(1, 0, 1), 0, "0 inputs"},
		{in, sym(1, 0, 1), -1, "not positive"},
		{[]Input{in[0], {Name: "r", Dist: Rectangular{0, 1}}}, sym(1, 0, 1), 0, "not Normal"},
		{[]Input{in[0], {Name: "b", Dist: Normal{2, 0.5}}}, sym(1, 0, 1), 0, "disagrees"},
	} {
		g := New()
		out := g.Joint("pair", c.in, c.cov, c.dof)
		if g.Err() == nil || !strings.Contains(g.Err().Error(), c.want) || len(out) != len(c.in) {
			t.Errorf("fault %v, want %q", g.Err(), c.want)
		}
	}
	g := New() // the same in units a thousand million times smaller
	v := g.Joint("pair", in, sym(1e-18, 0.9e-18, 1e-18), 0)
	near(t, "u", result(t, v[0].Sub(v[1])).U, math.Sqrt(0.2)*1e-9, 1e-9)
}

func TestJointDegreesOfFreedom(t *testing.T) {
	cov := mat.NewSymDense(2, []float64{1, 0.5, 0.5, 1})
	for _, c := range []struct {
		a, b, given, want float64
		warn              bool
	}{
		{0, 0, 0, math.Inf(1), false}, {4, 4, 0, 4, false}, {4, 9, 0, 4, true}, {4, 0, 0, 4, true},
		{0, 0, 6, 6, false}, {4, 4, 6, 6, true}, {6, 6, 6, 6, false}, {0, 0, math.Inf(1), math.Inf(1), false},
	} {
		g := New()
		v := g.Joint("pair", []Input{{Name: "a", Dist: Normal{Mean: 1}, DOF: c.a}, {Name: "b", Dist: Normal{Mean: 1}, DOF: c.b}}, cov, c.given)
		r := result(t, v[0].Add(v[1]))
		if math.Abs(r.DOF-c.want) > 1e-9 || (len(r.Warnings) > 0) != c.warn {
			t.Errorf("%+v: dof %g, warnings %q", c, r.DOF, r.Warnings)
		}
	}
	// With an independent component of the same size and dof: (2u²)²/(2u⁴/4) = 8.
	g := New()
	v := g.Joint("pair", []Input{{Name: "a", Dist: Normal{}}, {Name: "b", Dist: Normal{}}}, cov, 4)
	z := g.Input(Input{Name: "z", Dist: Normal{0, math.Sqrt(3)}, DOF: 4})
	near(t, "dof", result(t, Sum(v[0], v[1], z)).DOF, 8, 1e-12)
	// A budget with a negative fraction: u²(a − b/2) = 1 − ½ + ¼ = ¾, of which a
	// has 1 − ¼ and b has ¼ − ¼.
	b := must[[]Share](t)(g.Budget(v[0].Sub(v[1].Scale(0.5))))
	within(t, "share of a", b[0].Fraction, 1, 1e-12)
	within(t, "share of b", b[1].Fraction, 0, 1e-12)
}

func TestCoverageFactorEdges(t *testing.T) {
	for _, p := range []float64{0, 1, -1, 2, math.NaN()} {
		if k := (Result{DOF: 5}).K(p); !math.IsNaN(k) {
			t.Errorf("K(%g) = %g", p, k)
		}
	}
	// Where the t quantile gives way to its expansion nothing jumps.
	a, b := coverageFactor(0.95, expansionDOF), coverageFactor(0.95, expansionDOF*(1+1e-9))
	near(t, "k where the expansion begins", a, b, 1e-9)
	near(t, "k at infinity", Result{DOF: math.Inf(1)}.K(0.95), 1.959963984540054, 1e-12) // scipy: norm.ppf(0.975)
	// Less than one degree of freedom, which truncation must not turn to zero.
	if r := (Result{DOF: 0.5}); r.KTruncated(0.95) != r.K(0.95) || !(r.K(0.95) > 12.7) {
		t.Errorf("k at half a degree of freedom: %g, %g", r.K(0.95), r.KTruncated(0.95))
	}
	lo, hi := Result{Estimate: 10, U: 2, DOF: math.Inf(1)}.Interval(0.95)
	near(t, "lo", lo, 10-2*1.959963984540054, 1e-12)
	near(t, "hi", hi, 10+2*1.959963984540054, 1e-12)
}

func TestConcurrentEvaluation(t *testing.T) { // meant for -race
	g, outs := mixture()
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			for _, v := range outs {
				if _, err := g.Result(v); err != nil {
					t.Error(err)
				}
				g.Sensitivity(v, outs[0].g.inputValue(0))
			}
			if _, err := g.CorrMatrix(outs...); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
}

// inputValue returns the value of the input with the given ordinal.
func (g *Graph) inputValue(ordinal int) Value { return Value{g, g.inputs[ordinal].node} }

func TestLongChain(t *testing.T) {
	g := New()
	x := normal(g, "x", 0, 1)
	y := x
	for range 100_000 {
		y = y.Add(x)
	}
	near(t, "u", result(t, y).U, 100_001, 1e-12)
	near(t, "u of trials", trials(t, y, 0.95, 2000).U, 100_001, 0.07)
}

func TestRound(t *testing.T) {
	for _, c := range []struct {
		value, u     float64
		wantV, wantU float64
		decimals     int
		display      string
	}{
		{100.02147, 0.00035, 100.02147, 0.00035, 5, "100.02147 ± 0.00035"}, // JCGM 100 7.2.2, from memory
		{1.2340, 0.0754, 1.234, 0.075, 3, "1.234 ± 0.075"},                 // JCGM 101 9.3
		{1.23405, 0.0996, 1.23, 0.10, 2, "1.23 ± 0.10"},
		{10.057, 0.0285, 10.057, 0.029, 3, "10.057 ± 0.029"},
		{1234, 567, 1230, 570, -1, "1230 ± 570"},
		{123456, 9960, 123000, 10000, -3, "123000 ± 10000"},
		{-0.0004, 0.21, 0, 0.21, 2, "-0.00 ± 0.21"},
		{-2.345, 0.1, -2.35, 0.1, 2, "-2.35 ± 0.10"},
		{7, 0, 7, 0, 0, "7"},
		{50000838, 31.66, 50000838, 32, 0, "50000838 ± 32"}, // JCGM 100 H.1
		{1.5e-20, 2e-22, 1.5e-20, 2e-22, 23, "1.500e-20 ± 2.0e-22"},
	} {
		v, u, d := Round(c.value, c.u)
		if math.Abs(v-c.wantV) > 1e-12*math.Abs(c.wantV) || math.Abs(u-c.wantU) > 1e-12*c.wantU || d != c.decimals {
			t.Errorf("Round(%g, %g) = %g, %g, %d", c.value, c.u, v, u, d)
		}
		if s := Display(c.value, c.u); s != c.display && s != strings.TrimPrefix(c.display, "-") {
			t.Errorf("Display(%g, %g) = %q, want %q", c.value, c.u, s, c.display)
		}
	}
}
