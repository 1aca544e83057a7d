package fit

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func TestLinearMisuse(t *testing.T) {
	x := mat.NewDense(5, 2, []float64{1, 0, 1, 1, 1, 2, 1, 3, 1, 4})
	y := []float64{1, 2, 2, 4, 5}
	bad := mat.DenseCopyOf(x)
	bad.Set(3, 1, math.Inf(1))
	unit := func(i, j int, v float64) *mat.SymDense {
		m := mat.NewSymDense(5, nil)
		for k := range 5 {
			m.SetSym(k, k, 1)
		}
		m.SetSym(i, j, v)
		return m
	}
	indefinite, singular := unit(0, 1, 2), unit(0, 1, 1-1e-14)
	none, nan := unit(2, 2, 0), unit(0, 1, math.NaN())
	for _, tc := range []struct {
		name    string
		x       mat.Matrix
		y       []float64
		opt     Options
		message string
	}{
		{"length", x, y[:4], Options{}, "4 observations for 5 rows"},
		{"too few", x.Slice(0, 2, 0, 2), y[:2], Options{}, "2 observations for 2 parameters, need more than 2"},
		{"nan y", x, []float64{1, 2, math.NaN(), 3, 4}, Options{}, "observation 2 is NaN"},
		{"inf x", bad, y, Options{}, "design column 1, row 3 is +Inf"},
		{"names", x, y, Options{Names: []string{"a"}}, "1 names for 2 parameters"},
		{"no basis", x, y, Options{Variances: ones(5)}, "without a basis"},
		{"basis alone", x, y, Options{Basis: Absolute}, "absolute basis without variances"},
		{"basis unknown", x, y, Options{Basis: 7}, "unknown basis(7)"},
		{"both", x, y, Options{Variances: ones(5), Covariance: singular, Basis: Absolute}, "both variances and a covariance"},
		{"zero variance", x, y, Options{Variances: []float64{1, 1, 0, 1, 1}, Basis: Relative}, "variance 2 is 0, need a positive"},
		{"negative variance", x, y, Options{Variances: []float64{1, 1, 1, 1, -1}, Basis: Relative}, "variance 4 is -1"},
		{"nan variance", x, y, Options{Variances: []float64{1, 1, 1, 1, math.NaN()}, Basis: Relative}, "variance 4 is NaN"},
		{"variance length", x, y, Options{Variances: ones(4), Basis: Relative}, "4 variances for 5 observations"},
		{"covariance size", x, y, Options{Covariance: mat.NewSymDense(4, nil), Basis: Absolute}, "4×4 covariance matrix for 5"},
		{"covariance diagonal", x, y, Options{Covariance: none, Basis: Absolute}, "variance 2 is 0"},
		{"covariance nan", x, y, Options{Covariance: nan, Basis: Absolute}, "covariance 0,1 is NaN"},
		{"not symmetric", x, y, Options{Covariance: lopsided{unit(0, 0, 1)}, Basis: Absolute}, "covariance 0,1 is not symmetric"},
		{"not positive", x, y, Options{Covariance: indefinite, Basis: Absolute}, "covariance matrix is not positive definite"},
		{"near singular", x, y, Options{Covariance: singular, Basis: Absolute}, "near singular: condition"},
		{"tolerance", x, y, Options{Tolerance: 2}, "tolerance 2 outside"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r, err := Linear(tc.x, tc.y, tc.opt)
			if err == nil || !strings.Contains(err.Error(), tc.message) {
				t.Fatalf("got %v, %v; want %q", r, err, tc.message)
			}
		})
	}
	_, err := Linear(x, y, Options{Covariance: singular, Basis: Absolute})
	var c *CovarianceError
	// Two variables with correlation r: condition (1+r)/(1−r), here 2e14; the
	// estimate from the Cholesky factor is of that order.
	if !errors.As(err, &c) || math.Abs(math.Log10(c.Condition/2e14)) > 1 {
		t.Errorf("got %v, want condition near 2e14", err)
	}
	_, err = Linear(x, y, Options{Covariance: indefinite, Basis: Absolute})
	if !errors.As(err, &c) || !math.IsInf(c.Condition, 1) {
		t.Errorf("got %v, want infinite condition", err)
	}
}

// lopsided claims symmetry and has none.
type lopsided struct{ *mat.SymDense }

func (l lopsided) At(i, j int) float64 {
	if i < j {
		return 0.5
	}
	return l.SymDense.At(i, j)
}

func TestRankErrors(t *testing.T) {
	// Columns: 1, a, b, c = 2a − 3b, zero, d.
	const n = 12
	names := []string{"one", "a", "b", "c", "none", "d"}
	x := mat.NewDense(n, 6, nil)
	y := make([]float64, n)
	for i := range n {
		u := float64(i)
		a, b := math.Sin(u), 1e6*math.Cos(1.7*u)
		x.SetRow(i, []float64{1, a, b, 2*a - 3*b, 0, math.Sqrt(u)})
		y[i] = u
	}
	_, err := Linear(x, y, Options{Names: names})
	var e *RankError
	if !errors.As(err, &e) {
		t.Fatalf("got %v, want a rank error", err)
	}
	const want = "linear fit: design has rank 4 of 6: c = 2·a - 3·b; none = 0"
	if err.Error() != want {
		t.Errorf("got  %q\nwant %q", err, want)
	}
	if e.Rank != 4 || e.Columns != 6 || len(e.Dependencies) != 2 || e.Dependencies[0].Column != 3 || e.Dependencies[1].Column != 4 {
		t.Errorf("got %+v", e)
	}
	// The same under weights and under a full covariance matrix.
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, math.Pow(0.9, float64(j-i))*math.Sqrt(float64((i+1)*(j+1))))
		}
	}
	for _, opt := range []Options{
		{Names: names, Variances: mat.Col(nil, 0, mat.NewDense(n, 1, seq(n))), Basis: Relative},
		{Names: names, Covariance: cov, Basis: Absolute},
	} {
		if _, err := Linear(x, y, opt); err == nil || err.Error() != want {
			t.Errorf("got  %v\nwant %q", err, want)
		}
	}
	// Nearly the same, but honestly different: a fit with a warning.
	for i := range n {
		x.Set(i, 3, x.At(i, 3)+1e-3*math.Sin(float64(i*i)))
		x.Set(i, 4, math.Cos(float64(i*i)))
	}
	r, err := Linear(x, y, Options{Names: names})
	if err != nil {
		t.Fatal(err)
	}
	if r.Condition < 1e8 || len(r.Warnings) == 0 || !strings.Contains(strings.Join(r.Warnings, "\n"), "digits of the data are lost") {
		t.Errorf("condition %g, warnings %q", r.Condition, r.Warnings)
	}
}

func seq(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = float64(i + 1)
	}
	return out
}

// A dependency spread over many columns (Kahan's matrix) leaves no small pivot;
// the singular values still find it. With its θ such that cos θ = 0.8 and 60
// columns the smallest singular value is far below the last pivot.
func TestRankKahan(t *testing.T) {
	const p, c = 60, 0.8
	s := math.Sqrt(1 - c*c)
	x := mat.NewDense(p+2, p, nil)
	f := 1.0
	for i := range p {
		x.Set(i, i, f)
		for j := i + 1; j < p; j++ {
			x.Set(i, j, -c*f)
		}
		f *= s
	}
	_, err := Linear(x, seq(p+2), Options{})
	var e *RankError
	if !errors.As(err, &e) {
		t.Fatalf("got %v, want a rank error", err)
	}
}

// The same x throughout, or fewer different x than coefficients.
func TestPolynomialRank(t *testing.T) {
	_, err := Polynomial([]float64{2, 2, 2, 2}, seq(4), 1, PolynomialOptions{})
	var e *RankError
	if !errors.As(err, &e) || e.Error() != "design has rank 1 of 2: x^1 = 2·x^0" {
		t.Errorf("got %v", err)
	}
	_, err = Polynomial([]float64{0, 1, 0, 1}, seq(4), 2, PolynomialOptions{})
	if !errors.As(err, &e) || e.Error() != "design has rank 2 of 3: x^2 = 1·x^1" {
		t.Errorf("got %v", err)
	}
	for _, tc := range []struct {
		x       []float64
		degree  int
		opt     PolynomialOptions
		message string
	}{
		{seq(3), -1, PolynomialOptions{}, "degree -1, need 0 or more"},
		{seq(3), 0, PolynomialOptions{NoIntercept: true}, "degree 0, need 1 or more"},
		{seq(3), 2, PolynomialOptions{}, "3 observations for 3 parameters"},
		{[]float64{1, 2, math.NaN()}, 1, PolynomialOptions{}, "x 2 is NaN"},
		{[]float64{1, 2, 1e200}, 2, PolynomialOptions{NoIntercept: true}, "x 2 is 1e+200: its power overflows"},
		{seq(3), 1, PolynomialOptions{Origin: math.Inf(1)}, "origin 0 is +Inf"},
	} {
		if _, err := Polynomial(tc.x, seq(3), tc.degree, tc.opt); err == nil || !strings.Contains(err.Error(), tc.message) {
			t.Errorf("got %v, want %q", err, tc.message)
		}
	}
	c, err := Polynomial(seq(4), []float64{1, 3, 2, 5}, 2, PolynomialOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := c.Inverse(1, 0); err == nil {
		t.Error("inverse of a parabola: no error")
	}
	if c, err = Polynomial([]float64{-1, 0, 1}, []float64{1, 2, 1}, 1, PolynomialOptions{}); err != nil {
		t.Fatal(err)
	}
	if _, _, err := c.Inverse(1, 0); !errors.Is(err, errNoSlope) {
		t.Errorf("inverse of a level line: %v", err)
	}
	if _, err := c.At(math.NaN()); err == nil {
		t.Error("prediction at NaN: no error")
	}
	if _, err := c.Predict([]float64{1}); err == nil {
		t.Error("prediction from a short row: no error")
	}
	if _, err := c.PredictWith([]float64{1, 2}, -1); err == nil {
		t.Error("prediction with a negative variance: no error")
	}
}

// Extreme units neither overflow nor underflow: y and x near 1e±150.
func TestExtremeUnits(t *testing.T) {
	base, err := Polynomial(seq(6), []float64{1, 3, 2, 5, 4, 6}, 1, PolynomialOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range []float64{0x1p-250, 0x1p250} {
		x := seq(6)
		for i := range x {
			x[i] *= f
		}
		y := []float64{1 * f, 3 * f, 2 * f, 5 * f, 4 * f, 6 * f}
		c, err := Polynomial(x, y, 1, PolynomialOptions{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "slope", c.Coef[1], base.Coef[1], 1e-14)
		near(t, "u(slope)", c.StdErr[1], base.StdErr[1], 1e-13)
		near(t, "R²", c.R2, base.R2, 1e-14)
		s, err := Summarize(y)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "sd", s.SD, math.Sqrt(3.5)*f, 1e-14)
	}
}

func TestDiagnosticsFlag(t *testing.T) {
	x, y := make([]float64, 20), make([]float64, 20)
	for i := range x {
		x[i] = float64(i)
		y[i] = 2 + 0.5*x[i] + 0.1*math.Sin(float64(7*i*i))
	}
	u := make([]float64, 20)
	for i := range u {
		u[i] = 0.01
	}
	opt := func(v float64) PolynomialOptions {
		w := make([]float64, 20)
		for i := range w {
			w[i] = v * v
		}
		return PolynomialOptions{Options: Options{Variances: w, Basis: Absolute}}
	}
	warned := func(name string, y []float64, o PolynomialOptions, want string) {
		t.Helper()
		c, err := Polynomial(x, y, 1, o)
		if err != nil {
			t.Fatal(err)
		}
		all := strings.Join(c.Warnings, "\n")
		if want == "" && all != "" || want != "" && !strings.Contains(all, want) {
			t.Errorf("%s: warnings %q, want %q", name, all, want)
		}
		if c.N != 20 || len(c.Residuals) != 20 {
			t.Errorf("%s: an observation was removed", name)
		}
	}
	warned("sound", y, PolynomialOptions{}, "")
	warned("sound, stated", y, opt(0.07), "")
	warned("too large", y, opt(0.02), "residuals exceed the stated uncertainties")
	warned("too small", y, opt(0.5), "residuals are smaller than the stated uncertainties")
	out := append([]float64(nil), y...)
	out[7] += 1
	warned("outlier", out, PolynomialOptions{}, "observation 7 stands out")
	warned("outlier, stated", out, opt(0.1), "observation 7 stands out")
	bent := append([]float64(nil), y...)
	for i := range bent {
		bent[i] += 0.02 * x[i] * x[i]
	}
	warned("bent", bent, PolynomialOptions{}, "too few")
	zigzag := append([]float64(nil), y...)
	for i := range zigzag {
		zigzag[i] += 0.5 * float64(i%2)
	}
	warned("zigzag", zigzag, PolynomialOptions{}, "too many")
	exact := make([]float64, 20)
	for i := range exact {
		exact[i] = 2 + 0.5*x[i]
	}
	warned("exact", exact, PolynomialOptions{}, "")
}

func TestSummarizeAndANOVAMisuse(t *testing.T) {
	for _, x := range [][]float64{nil, {1}, {1, math.NaN()}, {1, math.Inf(-1)}} {
		if _, err := Summarize(x); err == nil {
			t.Errorf("Summarize(%v): no error", x)
		}
	}
	s, err := Summarize([]float64{0.1, 0.1, 0.1})
	if err != nil || s.SD != 0 || s.Mean != 0.1 || !math.IsNaN(s.Lag1) {
		t.Errorf("equal values: %+v, %v", s, err)
	}
	for _, g := range [][][]float64{nil, {{1, 2}}, {{1, 2}, {}}, {{1}, {2}}, {{1, 2}, {math.NaN()}}} {
		if _, err := OneWay(g); err == nil {
			t.Errorf("OneWay(%v): no error", g)
		}
	}
	for _, g := range [][]Group{nil, {{2, 1, 1}}, {{2, 1, 1}, {0, 1, 1}}, {{2, 1, -1}, {2, 1, 1}}, {{2, 1, math.NaN()}, {2, 1, 1}}, {{2, math.Inf(1), 1}, {2, 1, 1}}} {
		if _, err := OneWaySummaries(g); err == nil {
			t.Errorf("OneWaySummaries(%v): no error", g)
		}
	}
	a, err := OneWay([][]float64{{1, 1}, {1, 1, 1}})
	if err != nil || !math.IsNaN(a.F) || a.BetweenVariance != 0 {
		t.Errorf("equal values: %+v, %v", a, err)
	}
	if a, err = OneWay([][]float64{{1, 1}, {2, 2}}); err != nil || !math.IsInf(a.F, 1) || a.P != 0 {
		t.Errorf("no scatter within: %+v, %v", a, err)
	}
	if a, err = OneWay([][]float64{{1, 3}, {2, 2.1}, {1.9, 2.1}}); err != nil || a.BetweenVariance != 0 || !(a.RawBetweenVariance < 0) ||
		!strings.Contains(strings.Join(a.Warnings, "\n"), "comes out negative") {
		t.Errorf("negative component: %+v, %v", a, err)
	}
}

func TestNonlinearMisuse(t *testing.T) {
	y := seq(5)
	line := func(p, dst []float64) {
		for i := range dst {
			dst[i] = p[0] + p[1]*float64(i)
		}
	}
	same := func(p, dst []float64) {
		for i := range dst {
			dst[i] = (p[0] + p[1]) * float64(i*i)
		}
	}
	for _, tc := range []struct {
		name    string
		m       Model
		start   []float64
		opt     NonlinearOptions
		message string
	}{
		{"no model", Model{}, ones(2), NonlinearOptions{}, "no model"},
		{"few", Model{Eval: line}, ones(5), NonlinearOptions{}, "need more than 5"},
		{"nan start", Model{Eval: line}, []float64{1, math.NaN()}, NonlinearOptions{}, "start value 1 is NaN"},
		{"nan model", Model{Eval: func(p, dst []float64) { dst[0] = math.NaN() }}, ones(2), NonlinearOptions{}, "not finite at the start"},
		{"typical length", Model{Eval: line}, ones(2), NonlinearOptions{Typical: ones(1)}, "1 typical sizes for 2"},
		{"typical", Model{Eval: line}, ones(2), NonlinearOptions{Typical: []float64{1, 0}}, "typical size 1 is 0"},
		{"limit", Model{Eval: line}, ones(2), NonlinearOptions{MaxIterations: -1}, "limit -1 is negative"},
		{"indistinguishable", Model{Eval: same}, ones(2), NonlinearOptions{Options: Options{Names: []string{"gain", "scale"}}}, "scale = 1·gain"},
	} {
		if _, err := Nonlinear(tc.m, y, tc.start, tc.opt); err == nil || !strings.Contains(err.Error(), tc.message) {
			t.Errorf("%s: got %v, want %q", tc.name, err, tc.message)
		}
	}
	// The cap on iterations is kept, and the error carries the best point.
	s := nistSets(t)["MGH17"]
	d := s.columns(t)
	start := make([]float64, len(s.Start1))
	for j, w := range s.Start1 {
		start[j] = num(t, w)
	}
	_, err := Nonlinear(nistModels["MGH17"].over(d[1], true), d[0], start, NonlinearOptions{MaxIterations: 10})
	var c *ConvergenceError
	if !errors.As(err, &c) || c.Iterations != 10 || len(c.Coef) != 5 || !(c.RSS > 0) {
		t.Errorf("got %v, want a convergence error after 10 iterations", err)
	}
}
