package gum

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// gauge records JCGM 100:2008 H.1, the calibration of an end gauge, in nm.
func gauge(t *testing.T, data map[string]any) (g *Graph, l, d Value) {
	g = New()
	in := map[string]Value{}
	for _, e := range dig(t, data, "inputs").([]any) {
		m := e.(map[string]any)
		name, value := m["name"].(string), m["value"].(float64)
		dof, _ := m["dof"].(float64)
		var dist Distribution = Normal{value, m["u"].(float64)}
		if a, ok := m["half_width"].(float64); ok {
			dist = Rectangular{value - a, value + a}
			if name == "Delta" {
				dist = Arcsine{value - a, value + a}
			}
		}
		in[name] = g.Input(Input{Name: name, Dist: dist, DOF: dof})
	}
	d = Sum(in["dbar"], in["d1"], in["d2"])
	theta := in["theta_bar"].Add(in["Delta"])
	l = in["ls"].Add(d).Sub(in["ls"].Mul(in["da"].Mul(theta).Add(in["as"].Mul(in["dtheta"]))))
	return g, l, d
}

func TestEndGauge(t *testing.T) { // JCGM 100:2008 H.1, testdata/gum-examples.json
	data := entry(t, load(t, "gum-examples.json")["examples"], "id", "H.1")
	want := func(q string) map[string]any { return entry(t, data["expected"], "q", q) }
	g, l, d := gauge(t, data)
	rd, r := result(t, d), result(t, l)
	near(t, "u(d)", rd.U, num(t, want("u(d) nm"), "recomputed"), 1e-6)
	near(t, "dof of d", rd.DOF, num(t, want("dof of d"), "recomputed"), 1e-6)
	near(t, "l", r.Estimate*1e-6, num(t, want("l mm"), "recomputed"), 1e-12)
	near(t, "uc(l)", r.U, num(t, want("uc(l) nm"), "recomputed"), 1e-6)
	near(t, "nu_eff", r.DOF, num(t, want("nu_eff"), "recomputed"), 1e-6)
	near(t, "t99(16)", r.KTruncated(0.99), num(t, want("t99(16)"), "recomputed"), 1e-6)
	near(t, "U99", r.KTruncated(0.99)*r.U, num(t, want("U99 nm"), "recomputed"), 1e-6)
	prints(t, "u(d)", rd.U, "9.7")
	prints(t, "uc(l)", r.U, "32")
	prints(t, "t99(16)", r.KTruncated(0.99), "2.92")

	// The Guide prints U99 = 93 nm, which is 2.92 times uc rounded to 32.
	// The product of unrounded factors is 92.5; it is not forced to 93.
	_, rounded, _ := Round(r.Estimate, r.U)
	prints(t, "U99 from rounded uc", r.KTruncated(0.99)*rounded, "93")
	if u := r.KTruncated(0.99) * r.U; u < 92.4 || u > 92.6 {
		t.Errorf("unrounded U99 = %g", u)
	}
	// Rounding uc first would also give 17 degrees of freedom instead of 16.
	if f := math.Floor(r.DOF); f != 16 {
		t.Errorf("truncated nu_eff = %g, want 16", f)
	}
	if r.K(0.99) >= r.KTruncated(0.99) {
		t.Error("the quantile at 16.75 degrees of freedom is not below that at 16")
	}

	for name, q := range map[string]string{"da": "|ls*theta|*u(da) nm", "dtheta": "ls*as*u(dtheta) nm"} {
		near(t, name, share(t, g, l, name).U, num(t, want(q), "recomputed"), 1e-5)
	}
	// as, theta_bar and Delta have no first-order effect. The second-order term
	// ls·u(da)·u(theta) = 11.7 nm is a third of uc and has to be mentioned;
	// ls·u(as)·u(dtheta) = 1.7 nm is not worth a warning.
	for _, name := range []string{"as", "theta_bar", "Delta"} {
		if s := share(t, g, l, name); s.U != 0 {
			t.Errorf("%s contributes %g", name, s.U)
		}
	}
	if len(r.Warnings) != 1 {
		t.Errorf("warnings %q, want one about da·theta", r.Warnings)
	}
}

func share(t *testing.T, g *Graph, v Value, name string) Share {
	t.Helper()
	for _, s := range must[[]Share](t)(g.Budget(v)) {
		if s.Name == name {
			return s
		}
	}
	t.Fatalf("no %q in the budget", name)
	return Share{}
}

// impedance records R, X and Z of JCGM 100:2008 H.2 from V, I and φ.
func impedance(v, i, phi Value) []Value {
	z := v.Div(i)
	return []Value{z.Mul(phi.Cos()), z.Mul(phi.Sin()), z}
}

// meansOf adds the means of simultaneous observations as a joint group with
// covariance matrix s(x,y)/n (JCGM 100 5.2.3), and n−1 degrees of freedom.
func meansOf(g *Graph, names []string, columns [][]float64) []Value {
	n := len(columns[0])
	cov := mat.NewSymDense(len(columns), nil)
	in := make([]Input, len(columns))
	for a := range columns {
		in[a] = Input{Name: names[a], Dist: Normal{Mean: stat.Mean(columns[a], nil)}}
		for b := range a + 1 {
			cov.SetSym(a, b, stat.Covariance(columns[a], columns[b], nil)/float64(n))
		}
	}
	return g.Joint("observed together", in, cov, float64(n-1))
}

func TestImpedance(t *testing.T) { // JCGM 100:2008 H.2, testdata/gum-examples.json
	data := entry(t, load(t, "gum-examples.json")["examples"], "id", "H.2")
	columns := [][]float64{nums(t, data, "data", "V_volt"), nums(t, data, "data", "I_ampere"), nums(t, data, "data", "phi_radian")}
	names := []string{"V", "I", "phi"}
	quantities := []string{"R", "X", "Z"}

	check := func(t *testing.T, g *Graph, out []Value, want any, rel float64, published bool) {
		t.Helper()
		corr := must[*mat.SymDense](t)(g.CorrMatrix(out...))
		for k, q := range quantities {
			r := result(t, out[k])
			near(t, q, r.Estimate, num(t, want, q, "recomputed", 0), 1e-9)
			near(t, "u("+q+")", r.U, num(t, want, q, "recomputed", 1), rel)
			if published {
				prints(t, q, r.Estimate, dig(t, want, q, "published", 0).(string))
			}
			for j := range k {
				name := fmt.Sprintf("r(%s,%s)", quantities[j], q)
				near(t, name, corr.At(j, k), num(t, want, name, "recomputed"), 1e-6)
				if published {
					prints(t, name, corr.At(j, k), dig(t, want, name, "published").(string))
				}
			}
		}
	}
	t.Run("means with their correlation", func(t *testing.T) {
		g := New()
		in := meansOf(g, names, columns)
		inCorr := must[*mat.SymDense](t)(g.CorrMatrix(in...))
		for k, want := range nums(t, entry(t, data["expected_inputs"], "q", "r(V,I), r(V,phi), r(I,phi)"), "recomputed") {
			a, b := []int{0, 0, 1}[k], []int{1, 2, 2}[k]
			near(t, "input correlation", inCorr.At(a, b), want, 1e-7)
		}
		out := impedance(in[0], in[1], in[2])
		check(t, g, out, data["approach_1"], 1e-6, true)
		// One sample of five simultaneous observations: n−1 (Willink 2007).
		near(t, "dof", result(t, out[0]).DOF, num(t, data, "approach_1", "dof_if_evaluated", "value"), 1e-12)
	})
	t.Run("each set of observations", func(t *testing.T) {
		sets := make([][]float64, 3)
		for k := range columns[0] {
			g := New()
			in := []Value{g.Const(columns[0][k]), g.Const(columns[1][k]), g.Const(columns[2][k])}
			for q, v := range impedance(in[0], in[1], in[2]) {
				sets[q] = append(sets[q], v.Estimate())
				near(t, "set", v.Estimate(), num(t, data, "approach_2", "sets_"+quantities[q], k), 1e-9)
			}
		}
		g := New()
		check(t, g, meansOf(g, quantities, sets), data["approach_2"], 1e-6, true)
	})
	t.Run("correlation wrongly ignored", func(t *testing.T) {
		g := New()
		var in []Value
		for k, c := range columns {
			mean, s := stat.MeanStdDev(c, nil)
			in = append(in, normal(g, names[k], mean, s/math.Sqrt(5)))
		}
		want := nums(t, data, "correlations_wrongly_ignored", "u(R), u(X), u(Z)", "recomputed")
		for k, v := range impedance(in[0], in[1], in[2]) {
			near(t, "u", result(t, v).U, want[k], 1e-6)
		}
	})
	t.Run("rounded inputs", func(t *testing.T) {
		// The trap: u and r as Table H.2 prints them give r(R,X) = −0.591.
		u := []float64{0.0032, 0.0095e-3, 0.00075}
		r := [][]float64{{1, -0.36, 0.86}, {-0.36, 1, -0.65}, {0.86, -0.65, 1}}
		cov := mat.NewSymDense(3, nil)
		in := make([]Input, 3)
		for a, mean := range []float64{4.999, 19.661e-3, 1.04446} {
			in[a] = Input{Name: names[a], Dist: Normal{mean, u[a]}}
			for b := range a + 1 {
				cov.SetSym(a, b, r[a][b]*u[a]*u[b])
			}
		}
		g := New()
		v := g.Joint("printed", in, cov, 4)
		out := impedance(v[0], v[1], v[2])
		prints(t, "u(R)", result(t, out[0]).U, "0.06998")
		prints(t, "r(R,X)", must[float64](t)(g.Corr(out[0], out[1])), "-0.5915")
	})
}

func TestThermometer(t *testing.T) { // JCGM 100:2008 H.3, testdata/gum-examples.json
	data := entry(t, load(t, "gum-examples.json")["examples"], "id", "H.3")
	want := func(q string) []float64 { return nums(t, entry(t, data["expected"], "q", q), "recomputed") }
	y1, y2, p := want("y1, u"), want("y2, u"), want("predicted b at 30 degC, u, dof")
	r := num(t, entry(t, data["expected"], "q", "r(y1,y2)"), "recomputed")
	g := New()
	fit := g.Joint("line", []Input{{Name: "y1", Dist: Normal{Mean: y1[0]}}, {Name: "y2", Dist: Normal{Mean: y2[0]}}},
		mat.NewSymDense(2, []float64{y1[1] * y1[1], r * y1[1] * y2[1], r * y1[1] * y2[1], y2[1] * y2[1]}), 9)
	at30 := fit[0].Add(fit[1].Scale(30 - 20))
	got := result(t, at30)
	near(t, "b(30)", got.Estimate, p[0], 1e-8)
	near(t, "u", got.U, p[1], 1e-6)
	near(t, "dof", got.DOF, p[2], 1e-12)
	prints(t, "b(30)", got.Estimate, "-0.1494")
	prints(t, "u", got.U, "0.0041")

	g = New()
	alone := normal(g, "y1", y1[0], y1[1]).Add(normal(g, "y2", y2[0], y2[1]).Scale(10))
	near(t, "u without correlation", result(t, alone).U,
		num(t, entry(t, data["expected"], "q", "u at 30 degC if r(y1,y2) wrongly ignored"), "recomputed"), 1e-6)
}

func TestSmallExamples(t *testing.T) { // testdata/gum-examples.json
	small := load(t, "gum-examples.json")["small_examples"]
	expect := func(id, q string) float64 {
		return num(t, entry(t, entry(t, small, "id", id)["expected"], "q", q), "recomputed")
	}
	t.Run("4.4.3 repeated readings", func(t *testing.T) {
		x := nums(t, entry(t, small, "id", "4.4.3"), "data_degC")
		mean, s := stat.MeanStdDev(x, nil)
		g := New()
		r := result(t, g.Input(Input{Name: "t", Dist: StudentT{mean, s / math.Sqrt(20), 19}}))
		near(t, "mean", r.Estimate, expect("4.4.3", "mean"), 1e-12)
		near(t, "u", r.U, expect("4.4.3", "u = s/sqrt(20)"), 1e-7)
		if r.DOF != 19 {
			t.Errorf("dof = %g", r.DOF)
		}
	})
	t.Run("4.4.5 limits", func(t *testing.T) {
		near(t, "rectangular", Rectangular{96, 104}.StdDev(), expect("4.4.5/4.4.6", "rectangular u = a/sqrt(3)"), 1e-12)
		near(t, "triangular", Triangular{96, 104}.StdDev(), expect("4.4.5/4.4.6", "triangular u = a/sqrt(6)"), 1e-12)
	})
	t.Run("5.2.2 ten resistors", func(t *testing.T) {
		const n = 10
		in := make([]Input, n)
		ones := mat.NewSymDense(n, nil)
		for a := range n {
			in[a] = Input{Name: fmt.Sprint("R", a), Dist: Normal{1000, 0.1}}
			for b := range a + 1 {
				ones.SetSym(a, b, 0.1*0.1)
			}
		}
		g := New()
		full := Sum(g.Joint("one standard", in, ones, 0)...)
		near(t, "r=1", result(t, full).U, expect("5.2.2-example", "uc of the sum, r=1"), 1e-12)

		var alone, shared []Value
		standard := normal(g, "standard", 0, 0.1)
		for k := range n {
			alone = append(alone, g.Input(in[k]))
			shared = append(shared, standard.AddConst(1000))
		}
		near(t, "r=0", result(t, Sum(alone...)).U, expect("5.2.2-example", "(wrong) uc with r=0"), 1e-12)
		near(t, "shared cause", result(t, Sum(shared...)).U, 1, 1e-12)
	})
	t.Run("G.4.1 product", func(t *testing.T) {
		g := New()
		y := g.Const(1)
		for k, u := range []float64{0.0025, 0.0057, 0.0082} {
			y = y.Mul(g.Input(Input{Name: fmt.Sprint("X", k+1), Dist: Normal{1, u}, DOF: []float64{9, 4, 14}[k]}))
		}
		r := result(t, y)
		near(t, "uc/y", 100*r.U, expect("G.4.1-example", "uc(y)/y %"), 1e-9)
		near(t, "nu_eff", r.DOF, expect("G.4.1-example", "nu_eff"), 1e-9)
		prints(t, "nu_eff", r.DOF, "19.0")
		// The trap: 18.9987 truncates to 18, the Guide takes 19.
		near(t, "truncated", r.KTruncated(0.95), coverageFactor(0.95, 18), 1e-12)
		near(t, "t95(19)", coverageFactor(0.95, math.Round(r.DOF)), expect("G.4.1-example", "t95(19)"), 1e-9)
		near(t, "U95/y", 100*r.U*coverageFactor(0.95, math.Round(r.DOF)), expect("G.4.1-example", "U95/y %"), 1e-8)
	})
	t.Run("G.4.2 reliability", func(t *testing.T) {
		for q, ratio := range map[string]float64{"25 %": 0.25, "10 %": 0.10, "50 %": 0.50} {
			near(t, q, DOFFromReliability(ratio), expect("G.4.2", q), 1e-12)
		}
	})
}

func TestCoverageFactors(t *testing.T) { // JCGM 100:2008 Table G.2, testdata/gum-examples.json
	table := load(t, "gum-examples.json")["table_G2"]
	p := dig(t, table, "probabilities").(map[string]any)
	rows := dig(t, table, "rows").([]any)
	if len(rows) < 100 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, e := range rows {
		row := e.(map[string]any)
		dof, finite := row["dof"].(float64)
		if !finite {
			dof = math.Inf(1)
		}
		for column, prob := range p {
			r := Result{DOF: dof}
			if got, want := r.K(prob.(float64)), row[column].(float64); math.Abs(got-want) > 0.51e-4 {
				t.Errorf("t_%s(%g) = %s, want %g", column, dof, strconv.FormatFloat(got, 'f', 5, 64), want)
			}
		}
	}
}
