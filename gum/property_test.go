package gum

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// randomGraph records a model of a few inputs and some thirty operations,
// every one inside its domain, and returns the inputs and the last values.
// With linear set it keeps to linear operations.
func randomGraph(t *rapid.T, linear bool) (g *Graph, inputs, nodes []Value) {
	g = New()
	// Numbers are whole millionths, so that squares do not underflow.
	real := func(name string, lo, hi float64) float64 {
		return math.Round(rapid.Float64Range(lo, hi).Draw(t, name)*1e6) / 1e6
	}
	for range rapid.IntRange(1, 5).Draw(t, "inputs") {
		mean, u := real("mean", -2, 2), real("u", 0, 0.3)
		dist := []Distribution{Normal{mean, u}, Rectangular{mean - u, mean + u}, StudentT{mean, u, 9}, Triangular{mean - u, mean + u}}
		inputs = append(inputs, g.Input(Input{Name: "x", Dist: rapid.SampledFrom(dist).Draw(t, "dist")}))
	}
	if rapid.Bool().Draw(t, "joint") {
		r := real("r", -1, 1)
		u1, u2 := real("u1", 0, 0.3), real("u2", 0, 0.3)
		inputs = append(inputs, g.Joint("pair", []Input{{Name: "a", Dist: Normal{Mean: 1}}, {Name: "b", Dist: Normal{Mean: -0.5}}},
			mat.NewSymDense(2, []float64{u1 * u1, r * u1 * u2, r * u1 * u2, u2 * u2}), 7)...)
	}
	nodes = append(nodes, inputs...)
	nodes = append(nodes, g.Const(0.7))
	pick := func() Value { return rapid.SampledFrom(nodes).Draw(t, "operand") }
	positive := func() Value { return pick().PowConst(2).AddConst(1) }
	kinds := 23
	if linear {
		kinds = 8
	}
	for range rapid.IntRange(1, 30).Draw(t, "operations") {
		var v Value
		switch rapid.IntRange(0, kinds-1).Draw(t, "op") {
		case 0:
			v = pick().Add(pick())
		case 1:
			v = pick().Sub(pick())
		case 2:
			v = pick().AddConst(real("shift", -2, 2))
		case 3:
			v = pick().Scale(real("factor", -2, 2))
		case 4:
			v = pick().Neg()
		case 5:
			v = Sum(pick(), pick(), pick())
		case 6:
			v = Mean(pick(), pick())
		case 7:
			v = WeightedSum([]float64{real("c1", -2, 2), real("c2", -2, 2)}, []Value{pick(), pick()})
		case 8, 9, 10:
			v = pick().Mul(pick())
		case 11:
			v = pick().Div(positive())
		case 12:
			v = positive().Sqrt()
		case 13:
			v = positive().Log()
		case 14:
			v = positive().Log10()
		case 15:
			v = pick().Sin()
		case 16:
			v = pick().Cos()
		case 17:
			v = pick().Atan().Exp()
		case 18:
			v = positive().Pow(pick().Atan())
		case 19:
			v = pick().Atan().Scale(0.5).Tan()
		case 20:
			v = pick().Sin().Scale(0.9).Asin().Add(pick().Cos().Scale(0.9).Acos())
		case 21:
			x0 := pick().Sin()
			v = Interp(pick(), x0, pick(), x0.AddConst(1).Add(positive()), pick())
		case 22:
			v = Custom("hypotenuse", func(x []float64) float64 { return math.Hypot(1, math.Hypot(x[0], x[1])) },
				func(x, dst []float64) {
					h := math.Hypot(1, math.Hypot(x[0], x[1]))
					dst[0], dst[1] = x[0]/h, x[1]/h
				}, pick(), pick())
		}
		if math.Abs(v.Estimate()) > 10 { // keep numbers and slopes moderate
			v = v.Scale(1 / v.Estimate())
		}
		nodes = append(nodes, v)
	}
	return g, inputs, nodes
}

// recompute evaluates v afresh with other values of the inputs.
func recompute(v Value, inputs []Value, x []float64) float64 {
	g := v.g
	est := make([]float64, len(g.nodes))
	copy(est, g.est)
	for k, in := range inputs {
		est[in.i] = x[k]
	}
	for i := range g.nodes[:v.i+1] {
		n := &g.nodes[i]
		switch {
		case n.op == opConst || n.op == opInput:
		case n.op.binary():
			est[i] = evalBinary(n.op, est[n.a], est[n.b])
		case !n.op.nary():
			est[i] = evalUnary(n.op, est[n.a], n.x)
		default:
			var args []float64
			for _, a := range g.arguments(n) {
				args = append(args, est[a])
			}
			switch n.op {
			case opInterp:
				est[i] = evalInterp(args[0], args[1], args[2], args[3], args[4])
			case opCustom:
				est[i] = g.custom[n.c].f(args)
			default:
				est[i] = 0
				for k, a := range args {
					w := n.x
					if n.op == opWeighted {
						w = g.coefs[int(n.c)+k]
					}
					est[i] += w * a
				}
			}
		}
	}
	return est[v.i]
}

func TestGradientAgainstDifferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, inputs, nodes := randomGraph(t, false)
		v := nodes[len(nodes)-1]
		x := make([]float64, len(inputs))
		for k, in := range inputs {
			x[k] = in.Estimate()
		}
		for k, in := range inputs {
			central := func(h float64) float64 {
				at := func(dx float64) float64 {
					y := append([]float64(nil), x...)
					y[k] += dx
					return recompute(v, inputs, y)
				}
				return (at(h) - at(-h)) / (2 * h)
			}
			c := g.Sensitivity(v, in)
			// Richardson's extrapolation, whose own error is judged by the change
			// from one step to the next.
			d1, d2, d3 := central(4e-4), central(2e-4), central(1e-4)
			e1, e2 := (4*d2-d1)/3, (4*d3-d2)/3
			if tol := 1e-6*(1+math.Abs(c)) + 2*math.Abs(e1-e2); !(math.Abs(c-e2) <= tol) {
				t.Fatalf("sensitivity of %s to input %d is %g, by differences %g ± %g", g.describe(v.i), k, c, e2, tol)
			}
		}
	})
}

func TestCovarianceProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, inputs, nodes := randomGraph(t, false)
		vs := nodes[max(0, len(nodes)-6):]
		m, err := g.CovMatrix(vs...)
		if err != nil {
			t.Fatal(err)
		}
		scale := 0.0
		for k := range vs {
			scale = max(scale, m.At(k, k))
		}
		var eig mat.EigenSym
		if !eig.Factorize(m, false) || eig.Values(nil)[0] < -1e-12*scale {
			t.Fatalf("covariance matrix is not positive semidefinite: %v", eig.Values(nil))
		}
		for a := range vs {
			r, err := g.Result(vs[a])
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(r.U*r.U-m.At(a, a)) > 1e-12*scale || !(r.DOF >= 1-1e-9) {
				t.Fatalf("u² %g, variance %g, dof %g", r.U*r.U, m.At(a, a), r.DOF)
			}
			for b := range vs {
				ab, _ := g.Cov(vs[a], vs[b])
				ba, _ := g.Cov(vs[b], vs[a])
				if math.Abs(ab-ba) > 1e-13*scale {
					t.Fatalf("cov %g and %g", ab, ba)
				}
				if corr, err := g.Corr(vs[a], vs[b]); err == nil && !(corr >= -1 && corr <= 1) {
					t.Fatalf("correlation %g", corr)
				}
				// u²(a+b) = u²(a) + u²(b) + 2cov(a,b), by another way through the graph.
				s, err := g.Result(vs[a].Add(vs[b]))
				if err != nil {
					t.Fatal(err)
				}
				if want := m.At(a, a) + m.At(b, b) + 2*ab; math.Abs(s.U*s.U-want) > 1e-11*scale {
					t.Fatalf("u² of a sum %g, want %g", s.U*s.U, want)
				}
			}
			budget, _ := g.Budget(vs[a])
			sum := 0.0
			for _, s := range budget {
				sum += s.Fraction
			}
			if r.U > 0 && math.Abs(sum-1) > 1e-9 || len(budget) > len(inputs) {
				t.Fatalf("fractions sum to %g over %d inputs", sum, len(budget))
			}
		}
	})
}

func TestScaleInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, _, nodes := randomGraph(t, false)
		v := nodes[len(nodes)-1]
		k := math.Ldexp(1, rapid.IntRange(-40, 40).Draw(t, "binary exponent")) // rounds nothing
		r, err := g.Result(v)
		s, err2 := g.Result(v.Scale(-k))
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if s.U != k*r.U || s.Estimate != -k*r.Estimate || s.DOF != r.DOF {
			t.Fatalf("%+v scaled by %g is %+v", r, -k, s)
		}
	})
}

func TestTrialsFollowTheGraph(t *testing.T) {
	// The compiled program, with everything that it flattens and folds, gives
	// for each trial what the graph gives at the inputs of that trial.
	rapid.Check(t, func(t *rapid.T) {
		g, inputs, nodes := randomGraph(t, false)
		outs := nodes[max(0, len(nodes)-3):]
		opt := MCOptions{Trials: 40, Seed: rapid.Uint64().Draw(t, "seed"), Keep: true, Level: 0.5}
		alone, err := g.MonteCarlo(context.Background(), opt, outs...)
		if err != nil {
			t.Fatal(err)
		}
		all, err := g.MonteCarlo(context.Background(), opt, append(append([]Value(nil), inputs...), outs...)...)
		if err != nil {
			t.Fatal(err)
		}
		x := make([]float64, len(inputs))
		for i := range opt.Trials {
			for k := range inputs {
				x[k] = all.Samples[k][i]
			}
			for k, v := range outs {
				a, b, c := alone.Samples[k][i], all.Samples[len(inputs)+k][i], recompute(v, inputs, x)
				tol := 1e-9 * (1 + math.Abs(c))
				if math.Abs(a-c) > tol || math.Abs(b-c) > tol {
					t.Fatalf("trial %d of %s: %g alone, %g with its inputs, %g by the graph", i, g.describe(v.i), a, b, c)
				}
			}
		}
	})
}

func TestTrialsOfLinearModels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, _, nodes := randomGraph(t, true)
		v := nodes[len(nodes)-1]
		const n = 20_000
		mc, err := g.MonteCarlo(context.Background(), MCOptions{Trials: n, Seed: 3}, v)
		if err != nil {
			t.Fatal(err)
		}
		r, err := g.Result(v)
		if err != nil {
			t.Fatal(err)
		}
		// The trials of a t distribution spread wider than its scale: by
		// √(9/7) for inputs and √(7/5) for the joint pair, at most.
		o := mc.Outputs[0]
		if math.Abs(o.Mean-r.Estimate) > 5*1.19*r.U/math.Sqrt(n)+1e-12 || o.U < r.U*0.95-1e-12 || o.U > r.U*1.19*1.08+1e-12 {
			t.Fatalf("trials %g ± %g, linear %g ± %g", o.Mean, o.U, r.Estimate, r.U)
		}
	})
}
