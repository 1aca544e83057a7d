package gum_test

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"railtally/gum"
)

// The power of a rail from its voltage and current, which have nothing in
// common.
func ExampleGraph() {
	g := gum.New()
	v := g.Input(gum.Input{Name: "voltage", Dist: gum.Normal{Mean: 1.05, U: 0.002}})
	i := g.Input(gum.Input{Name: "current", Dist: gum.StudentT{Mean: 8, Scale: 0.04, DOF: 9}})
	r, err := g.Result(v.Mul(i))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s (standard uncertainty), %.0f degrees of freedom\n", gum.Display(r.Estimate, r.U), r.DOF)
	fmt.Printf("%s (k = %.2f, 95 %%)\n", gum.Display(r.Estimate, r.Expanded(0.95)), r.K(0.95))
	// Output:
	// 8.400 ± 0.045 (standard uncertainty), 12 degrees of freedom
	// 8.400 ± 0.098 (k = 2.18, 95 %)
}

// Two results that share an input are correlated; their difference loses what
// they share.
func ExampleGraph_Corr() {
	g := gum.New()
	gain := g.Input(gum.Input{Name: "gain", Dist: gum.Normal{U: 0.015}}).AddConst(1)
	read := func(name string, x float64) gum.Value {
		return g.Input(gum.Input{Name: name, Dist: gum.Normal{Mean: x, U: 0.02}}).Mul(gain)
	}
	on, off := read("on", 5.90), read("off", 5.45)
	corr, _ := g.Corr(on, off)
	diff, _ := g.Result(on.Sub(off))
	fmt.Printf("correlation %.2f\n", corr)
	fmt.Println("difference", gum.Display(diff.Estimate, diff.U))
	// Output:
	// correlation 0.95
	// difference 0.450 ± 0.029
}

// A straight line fitted elsewhere enters with its covariance matrix
// (JCGM 100 H.3).
func ExampleGraph_Joint() {
	g := gum.New()
	u1, u2, r := 0.0028776, 0.00066794, -0.93043
	line := g.Joint("calibration line", []gum.Input{
		{Name: "intercept", Dist: gum.Normal{Mean: -0.171204}},
		{Name: "slope", Dist: gum.Normal{Mean: 0.0021827}},
	}, mat.NewSymDense(2, []float64{u1 * u1, r * u1 * u2, r * u1 * u2, u2 * u2}), 9)
	at30, _ := g.Result(line[0].Add(line[1].Scale(30 - 20)))
	fmt.Printf("%s, %.0f degrees of freedom\n", gum.Display(at30.Estimate, at30.U), at30.DOF)
	// Output:
	// -0.1494 ± 0.0041, 9 degrees of freedom
}

// Tags say what inputs have in common; a budget can be added up by them.
func ExampleGraph_BudgetBy() {
	g := gum.New()
	clamp, meter := []gum.Tag{{Key: "instrument", Value: "clamp"}}, []gum.Tag{{Key: "instrument", Value: "meter"}}
	y := g.Input(gum.Input{Name: "reading", Dist: gum.StudentT{Mean: 0.25, Scale: 0.0004, DOF: 9}})
	gain := g.Input(gum.Input{Name: "gain", Dist: gum.Normal{U: 0.008}, Tags: clamp})
	drift := g.Input(gum.Input{Name: "drift", Dist: gum.Rectangular{Lo: -0.0004, Hi: 0.0004}, Tags: clamp})
	offset := g.Input(gum.Input{Name: "offset", Dist: gum.Rectangular{Lo: -0.0003, Hi: 0.0003}, Tags: meter})
	current := y.Add(offset).Sub(drift).Scale(10).Mul(gain.AddConst(1))
	shares, _ := g.BudgetBy(current, "instrument")
	for _, s := range shares {
		fmt.Printf("%-6s %.4f %3.0f %%\n", s.Name, s.U, 100*s.Fraction)
	}
	// Output:
	// clamp  0.0201  96 %
	//        0.0040   4 %
	// meter  0.0017   1 %
}

func ExampleGraph_Budget() {
	g := gum.New()
	v := g.Input(gum.Input{Name: "V", Dist: gum.Normal{Mean: 12, U: 0.05}})
	i := g.Input(gum.Input{Name: "I", Dist: gum.Normal{Mean: 2, U: 0.03}})
	shares, _ := g.Budget(v.Mul(i))
	for _, s := range shares {
		fmt.Printf("%s: |%g| × %g = %.2f, %.0f %%\n", s.Name, s.Sensitivity, s.InputU, s.U, 100*s.Fraction)
	}
	// Output:
	// I: |12| × 0.03 = 0.36, 93 %
	// V: |2| × 0.05 = 0.10, 7 %
}

// The sum of two squares near zero, where the law of propagation sees no
// uncertainty at all and says so (JCGM 101 9.4.2).
func ExampleGraph_MonteCarlo() {
	g := gum.New()
	x := g.Input(gum.Input{Name: "X1", Dist: gum.Normal{U: 0.005}})
	y := g.Input(gum.Input{Name: "X2", Dist: gum.Normal{U: 0.005}})
	loss := x.PowConst(2).Add(y.PowConst(2))
	lin, _ := g.Result(loss)
	mc, err := g.MonteCarlo(context.Background(), gum.MCOptions{Trials: 1_000_000, Seed: 1}, loss)
	if err != nil {
		fmt.Println(err)
		return
	}
	out := mc.Outputs[0]
	fmt.Println("linear: u =", lin.U, "with", len(lin.Warnings), "warnings")
	fmt.Printf("trials: u = %.6f, shortest 95 %% interval %.6f to %.6f\n", out.U, out.Shortest.Lo, out.Shortest.Hi)
	fmt.Println("validated:", gum.Compare(lin, out, 0.95, 1).Valid)
	// Output:
	// linear: u = 0 with 2 warnings
	// trials: u = 0.000050, shortest 95 % interval 0.000000 to 0.000150
	// validated: false
}

// The adaptive procedure runs until two digits of u are stable.
func ExampleGraph_MonteCarlo_adaptive() {
	g := gum.New()
	r := g.Input(gum.Input{Name: "R", Dist: gum.Rectangular{Lo: 98, Hi: 102}})
	i := g.Input(gum.Input{Name: "I", Dist: gum.Normal{Mean: 0.5, U: 0.002}})
	mc, _ := g.MonteCarlo(context.Background(), gum.MCOptions{Adaptive: true, Seed: 1}, i.PowConst(2).Mul(r))
	out := mc.Outputs[0]
	fmt.Println(mc.Stable, gum.Display(out.Mean, out.U))
	// Output:
	// true 25.00 ± 0.35
}

// An operation of one's own brings its derivative.
func ExampleCustom() {
	g := gum.New()
	x := g.Input(gum.Input{Name: "x", Dist: gum.Normal{Mean: 3, U: 0.1}})
	y := g.Input(gum.Input{Name: "y", Dist: gum.Normal{Mean: 4, U: 0.1}})
	r := gum.Custom("hypot",
		func(v []float64) float64 { return math.Hypot(v[0], v[1]) },
		func(v, dst []float64) {
			h := math.Hypot(v[0], v[1])
			dst[0], dst[1] = v[0]/h, v[1]/h
		}, x, y)
	res, _ := g.Result(r)
	fmt.Println(gum.Display(res.Estimate, res.U))
	// Output:
	// 5.00 ± 0.10
}

func ExampleRound() {
	fmt.Println(gum.Round(1.23405, 0.0754))
	fmt.Println(gum.Round(1234, 567))
	// Output:
	// 1.234 0.075 3
	// 1230 570 -1
}
