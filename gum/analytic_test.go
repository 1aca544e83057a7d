package gum

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// analytic returns inputs and expected values of a case of
// testdata/analytic.json, which gives the formula of each.
func analytic(t *testing.T, id string) (in, want map[string]any) {
	c := entry(t, load(t, "analytic.json")["cases"], "id", id)
	in, _ = c["inputs"].(map[string]any)
	want, _ = c["expected"].(map[string]any)
	return in, want
}

const digits10 = 5e-10 // half a unit of the last of ten digits, at worst

func TestCorrelatedProduct(t *testing.T) {
	in, want := analytic(t, "product-correlated")
	uv, ui, r := num(t, in, "uV"), num(t, in, "uI"), num(t, in, "r")
	product := func(r float64) Value {
		g := New()
		v := g.Joint("VI", []Input{{Name: "V", Dist: Normal{Mean: num(t, in, "V")}}, {Name: "I", Dist: Normal{Mean: num(t, in, "I")}}},
			mat.NewSymDense(2, []float64{uv * uv, r * uv * ui, r * uv * ui, ui * ui}), 0)
		return v[0].Mul(v[1])
	}
	for name, r := range map[string]float64{"u_first_order": r, "u_if_r_0": 0, "u_if_r_1": 1, "u_if_r_minus1": -1} {
		near(t, name, result(t, product(r)).U, num(t, want, name), digits10)
	}
	mc := trials(t, product(r), 0.95, 0)
	within(t, "exact mean", mc.Mean, num(t, want, "mean_exact"), 4*0.436/1e3)
	near(t, "exact u", mc.U, num(t, want, "u_exact"), 4/math.Sqrt(2e6))
}

func TestSharedGain(t *testing.T) {
	in, want := analytic(t, "same-gain-on-V-and-I")
	g := New()
	gain := normal(g, "gain", 0, num(t, in, "ug")).AddConst(1)
	r := result(t, gain.Scale(num(t, in, "V")).Mul(gain.Scale(num(t, in, "I"))))
	near(t, "P", r.Estimate, num(t, want, "P"), digits10)
	near(t, "u", r.U, num(t, want, "u"), digits10)

	for _, id := range []string{"difference-shared-gain", "difference-shared-gain-plus-independent"} {
		in, want := analytic(t, id)
		g := New()
		gain := normal(g, "gain", 0, num(t, in, "ug_relative")).AddConst(1)
		state := func(terms, us string) Value {
			var sum []Value
			for k, x := range nums(t, in, terms) {
				term := gain.Scale(x)
				if in[us] != nil {
					term = term.Add(normal(g, us, 0, nums(t, in, us)[k]))
				}
				sum = append(sum, term)
			}
			return Sum(sum...)
		}
		a, b := state("sum1_terms", "u1"), state("sum2_terms", "u2")
		d := result(t, a.Sub(b))
		corr := must[float64](t)(g.Corr(a, b))
		if id == "difference-shared-gain" {
			near(t, "u(D)", d.U, num(t, want, "u"), digits10)
			near(t, "r", corr, num(t, want, "correlation_of_sums"), 1e-12)
			continue
		}
		near(t, "u(S1)", result(t, a).U, num(t, want, "u_S1"), digits10)
		near(t, "u(S2)", result(t, b).U, num(t, want, "u_S2"), digits10)
		near(t, "u(D)", d.U, num(t, want, "u_D"), digits10)
		near(t, "r", corr, num(t, want, "r"), digits10)
	}
}

func TestRatioOfResults(t *testing.T) {
	in, want := analytic(t, "ratio")
	g := New()
	gain := normal(g, "gain", 1, num(t, in, "rel_u_shared_gain"))
	side := func(x, u string) Value {
		v := num(t, in, x)
		return normal(g, x, v, v*num(t, in, u)).Mul(gain)
	}
	r := result(t, side("A", "rel_u_A_independent").Div(side("B", "rel_u_B_independent")))
	near(t, "ratio", r.Estimate, num(t, want, "ratio"), 1e-12)
	near(t, "u", r.U, num(t, want, "u"), digits10)
}

func TestRailsOfOneClamp(t *testing.T) {
	in, want := analytic(t, "n-rails-one-clamp")
	g := New()
	tag := []Tag{{"cause", "gain"}}
	gain := g.Input(Input{Name: "gain", Dist: Normal{0, num(t, in, "ug_relative")}, Tags: tag}).AddConst(1)
	var sum []Value
	for k, v := range nums(t, in, "V") {
		i := normal(g, "reading", nums(t, in, "I")[k], nums(t, in, "uI_independent")[k])
		sum = append(sum, i.Mul(gain).Scale(v))
	}
	total := Sum(sum...)
	near(t, "total", total.Estimate(), num(t, want, "total"), 1e-12)
	near(t, "u", result(t, total).U, num(t, want, "u"), digits10)
	by := must[[]Share](t)(g.BudgetBy(total, "cause"))
	if len(by) != 2 || by[0].Name != "gain" || by[1].Name != "" {
		t.Fatalf("budget %+v", by)
	}
	near(t, "gain part", by[0].U, num(t, want, "u_gain_part"), digits10)
	near(t, "gain share", 100*by[0].Fraction, num(t, want, "share_gain_percent"), digits10)
	near(t, "independent part", by[1].U, num(t, want, "u_independent_part"), 1e-9)
}

func TestSharedZero(t *testing.T) {
	in, want := analytic(t, "shared-zero-offset")
	g := New()
	state := func(volts string, zero Value) Value {
		return WeightedSum(nums(t, in, volts), []Value{zero, zero, zero, zero}).Neg()
	}
	z1, z2 := normal(g, "zero", 0, num(t, in, "uz")), normal(g, "second zero", 0, num(t, in, "uz"))
	near(t, "total", result(t, state("VA", z1)).U, num(t, want, "u_total_A"), digits10)
	near(t, "same zero", result(t, state("VA", z1).Sub(state("VB", z1))).U, num(t, want, "u_diff_same_zero"), 1e-9)
	near(t, "zeroed again", result(t, state("VA", z1).Sub(state("VB", z2))).U, num(t, want, "u_diff_rezeroed"), digits10)
}

func TestEffectiveDegreesOfFreedom(t *testing.T) {
	for _, id := range []string{"welch-satterthwaite-1", "welch-satterthwaite-2"} {
		in, want := analytic(t, id)
		g := New()
		var sum []Value
		for _, c := range dig(t, in, "components").([]any) {
			dof, _ := c.(map[string]any)["dof"].(float64)
			sum = append(sum, g.Input(Input{Dist: Normal{0, num(t, c, "u")}, DOF: dof}))
		}
		r := result(t, Sum(sum...))
		near(t, "uc", r.U, num(t, want, "uc"), digits10)
		near(t, "nu_eff", r.DOF, num(t, want, "nu_eff"), 1e-9)
		if id == "welch-satterthwaite-1" {
			near(t, "k95", r.K(0.95), num(t, want, "k95_noninteger"), 1e-9)
			near(t, "k95 truncated", r.KTruncated(0.95), num(t, want, "k95_truncated"), 1e-9)
			near(t, "U95", r.Expanded(0.95), num(t, want, "U95_noninteger"), 1e-9)
		} else {
			near(t, "k95", result(t, Sum(sum...)).K(0.95), num(t, want, "k95"), 1e-8)
		}
	}
	in, want := analytic(t, "welch-satterthwaite-shared-cause")
	g := New()
	cause := g.Input(Input{Name: "cause", Dist: Normal{0, 1}, DOF: num(t, in, "dof_shared")})
	s := nums(t, in, "shared")
	y := Sum(cause.Scale(s[0]), cause.Scale(s[1]), normal(g, "other", 0, num(t, in, "other")))
	r := result(t, y)
	near(t, "uc", r.U, num(t, want, "uc"), digits10)
	near(t, "nu_eff", r.DOF, num(t, want, "nu_eff"), 1e-4)
	near(t, "k95", r.KTruncated(0.95), num(t, want, "k95_truncated"), 1e-9)
}

func TestFactorAtFractionalDOF(t *testing.T) {
	c := entry(t, load(t, "analytic.json")["cases"], "id", "t-noninteger")
	for _, row := range dig(t, c, "rows").([]any) {
		r := Result{DOF: num(t, row, "nu")}
		near(t, "t95", r.K(0.95), num(t, row, "t95_noninteger"), 1e-9)
		near(t, "t95 truncated", r.KTruncated(0.95), num(t, row, "t95_truncated"), 1e-9)
	}
}

func TestStandardDeviations(t *testing.T) {
	rows := dig(t, entry(t, load(t, "analytic.json")["cases"], "id", "distribution-sds"), "rows")
	for name, d := range map[string]Distribution{
		"rectangular half-width a":                          Rectangular{-1, 1},
		"triangular half-width a":                           Triangular{-1, 1},
		"trapezoidal half-width a, top/base ratio beta=0.4": Trapezoidal{-1, 1, 0.4},
		"arcsine (U-shaped) half-width a":                   Arcsine{-1, 1},
		"resolution step q (read to nearest)":               Rectangular{-0.5, 0.5},
		"bounded only 0..m (mean m/2)":                      Rectangular{0, 1},
		"curvilinear trapezoid a=-1,b=1,d=0.3":              CurvilinearTrapezoid{-1, 1, 0.3},
	} {
		near(t, name, d.StdDev(), num(t, entry(t, rows, "name", name), "u"), digits10)
	}
	in, want := analytic(t, "asymmetric-bounds")
	x := num(t, in, "x")
	d := Rectangular{x - num(t, in, "minus"), x + num(t, in, "plus")}
	near(t, "mean", d.Expectation(), num(t, want, "mean"), 1e-12)
	near(t, "u", d.StdDev(), num(t, want, "u"), digits10)
	in, want = analytic(t, "band-as-rectangle-or-arcsine")
	lo, hi := num(t, in, "lo"), num(t, in, "hi")
	near(t, "rectangle", Rectangular{lo, hi}.StdDev(), num(t, want, "u_rect"), digits10)
	near(t, "arcsine", Arcsine{lo, hi}.StdDev(), num(t, want, "u_arcsine"), digits10)
	near(t, "triangle", Triangular{lo, hi}.StdDev(), num(t, want, "u_triangle"), digits10)
}

func TestTurnsAndLeadDrop(t *testing.T) {
	in, want := analytic(t, "lead-drop")
	g := New()
	v := normal(g, "V", num(t, in, "V"), num(t, in, "uV"))
	i := normal(g, "I", num(t, in, "I"), num(t, in, "uI"))
	r := normal(g, "R", num(t, in, "R"), num(t, in, "uR"))
	p := v.Mul(i).Sub(i.PowConst(2).Mul(r))
	near(t, "P", p.Estimate(), num(t, want, "P"), digits10)
	near(t, "u", result(t, p).U, num(t, want, "u"), digits10)
	for name, x := range map[string]Value{"cV": v, "cI": i, "cR": r} {
		near(t, name, g.Sensitivity(p, x), num(t, want, name), 1e-12)
	}
	mc := trials(t, p, 0.95, 0)
	near(t, "u of trials", mc.U, num(t, want, "u"), 4/math.Sqrt(2e6))

	in, want = analytic(t, "turns-multiplier") // one rectangle: gain and digits add to its half-width
	n := num(t, in, "n")
	a := num(t, in, "I_ind")*num(t, in, "gain_pct_half_width")/100 + num(t, in, "digits")*num(t, in, "digit")
	g = New()
	one := result(t, g.Input(Input{Dist: Rectangular{num(t, in, "I_ind") - a, num(t, in, "I_ind") + a}}).Scale(1/n))
	near(t, "I", one.Estimate, num(t, want, "I"), 1e-12)
	near(t, "u", one.U, num(t, want, "u"), digits10)
}
