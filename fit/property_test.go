package fit

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// problem is a random well-posed linear problem.
type problem struct {
	x        *mat.Dense
	y        []float64
	variance []float64
}

func drawProblem(t *rapid.T) problem {
	p := rapid.IntRange(1, 5).Draw(t, "p")
	n := rapid.IntRange(p+2, 25).Draw(t, "n")
	unit := rapid.Float64Range(-1, 1)
	x := mat.NewDense(n, p, nil)
	q := problem{x: x, y: make([]float64, n), variance: make([]float64, n)}
	for i := range n {
		for j := range p {
			// A strong diagonal keeps the condition moderate.
			v := unit.Draw(t, "x")
			if i%p == j {
				v += 3
			}
			x.Set(i, j, v)
		}
		// Steps of 0.01: not all at once 1e-160, where squares underflow.
		q.y[i] = float64(rapid.IntRange(-1000, 1000).Draw(t, "y")) / 100
		q.variance[i] = math.Pow(10, 2*unit.Draw(t, "v"))
	}
	return q
}

func (q problem) fit(t *rapid.T, opt Options) *Result {
	r, err := Linear(q.x, q.y, opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// agree fails when two slices differ by more than tol of the larger norm.
func agree(t *rapid.T, what string, a, b []float64, tol float64) {
	if len(a) != len(b) {
		t.Fatalf("%s: lengths %d and %d", what, len(a), len(b))
	}
	var size float64
	for i := range a {
		size = math.Max(size, math.Max(math.Abs(a[i]), math.Abs(b[i])))
	}
	for i := range a {
		if !(math.Abs(a[i]-b[i]) <= tol*size) {
			t.Fatalf("%s %d: %.15g and %.15g", what, i, a[i], b[i])
		}
	}
}

// The residuals are orthogonal to every column (the normal equations), the hat
// matrix has trace p, and u of the fitted value at a row is s·√h.
func TestNormalEquations(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawProblem(t)
		r := q.fit(t, Options{Variances: q.variance, Basis: Relative})
		n, p := q.x.Dims()
		var trace, scale float64
		for i := range n {
			trace += r.Leverage[i]
			scale += math.Abs(q.y[i]) / q.variance[i]
		}
		if math.Abs(trace-float64(p)) > 1e-12*float64(p) {
			t.Fatalf("trace of the hat matrix = %.15g, want %d", trace, p)
		}
		for j := range p {
			var s float64
			for i := range n {
				s += q.x.At(i, j) * r.Residuals[i] / q.variance[i]
			}
			if math.Abs(s) > 1e-13*4*scale {
				t.Fatalf("residuals on column %d: %g", j, s)
			}
		}
		for i := range n {
			pr, err := r.PredictWith(q.x.RawRowView(i), q.variance[i])
			if err != nil {
				t.Fatal(err)
			}
			want := r.ResidualSD * math.Sqrt(r.Leverage[i]*q.variance[i])
			agree(t, "u of fitted value", []float64{pr.U, pr.Value}, []float64{want, r.Fitted[i]}, 1e-11)
		}
	})
}

// Order of rows, units of y and of a column, and adding X·c to y do what
// algebra says.
func TestInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawProblem(t)
		n, p := q.x.Dims()
		r := q.fit(t, Options{})

		perm := rapid.Permutation(indices(n)).Draw(t, "order")
		m := problem{x: mat.NewDense(n, p, nil), y: make([]float64, n)}
		for i, k := range perm {
			m.x.SetRow(i, q.x.RawRowView(k))
			m.y[i] = q.y[k]
		}
		rm := m.fit(t, Options{})
		agree(t, "permuted coef", rm.Coef, r.Coef, 1e-12)
		agree(t, "permuted u", withSize(rm.StdErr, r.Coef), withSize(r.StdErr, r.Coef), 1e-10)

		c := rapid.SliceOfN(rapid.Float64Range(-5, 5), p, p).Draw(t, "shift")
		f := math.Pow(10, rapid.Float64Range(-6, 6).Draw(t, "unit"))
		k := rapid.IntRange(0, p-1).Draw(t, "column")
		g := math.Pow(10, rapid.Float64Range(-6, 6).Draw(t, "column unit"))
		s := problem{x: mat.DenseCopyOf(q.x), y: make([]float64, n)}
		want := make([]float64, p)
		u := append([]float64(nil), r.StdErr...)
		for i := range n {
			s.y[i] = f * (q.y[i] + mat.Dot(q.x.RowView(i), mat.NewVecDense(p, c)))
			s.x.Set(i, k, q.x.At(i, k)*g)
		}
		for j := range p {
			want[j], u[j] = f*(r.Coef[j]+c[j]), f*u[j]
		}
		rs := s.fit(t, Options{})
		got := append([]float64(nil), rs.Coef...)
		us := append([]float64(nil), rs.StdErr...)
		got[k] *= g
		us[k] *= g
		agree(t, "scaled coef", got, want, 1e-11)
		size := append([]float64{f * mat.Norm(mat.NewVecDense(p, c), 2)}, want...)
		agree(t, "scaled u", withSize(us, size), withSize(u, size), 1e-10)
		if math.Abs(rs.Condition-r.Condition) > 1e-9*r.Condition {
			t.Fatalf("condition depends on units: %g, %g", rs.Condition, r.Condition)
		}
	})
}

// withSize adds 1e-4 of the largest coefficient to a list of uncertainties, so
// that those of an exact fit, which are rounding, are compared beside it.
func withSize(u, coef []float64) []float64 {
	return append(append([]float64(nil), u...), 1e-4*mat.Norm(mat.NewVecDense(len(coef), coef), math.Inf(1)))
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// A diagonal covariance matrix is the same as variances, and a full one the
// same as fitting data decorrelated by hand.
func TestGLSMatchesWLS(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawProblem(t)
		n, p := q.x.Dims()
		for _, basis := range []Basis{Relative, Absolute} {
			w := q.fit(t, Options{Variances: q.variance, Basis: basis})
			g := q.fit(t, Options{Covariance: mat.NewDiagDense(n, q.variance), Basis: basis})
			agree(t, "coef", g.Coef, w.Coef, 1e-11)
			agree(t, "u", g.StdErr, w.StdErr, 1e-11)
			agree(t, "leverage", g.Leverage, w.Leverage, 1e-11)
			agreeStandardized(t, q, g, w, 1e-12)
			agree(t, "rss, R²", []float64{g.RSS, g.R2}, []float64{w.RSS, w.R2}, 1e-11)
		}
		// Σ = D·(I + a·11ᵀ)·D; its inverse square root is known (Sherman–Morrison).
		a := rapid.Float64Range(0, 3).Draw(t, "shared")
		cov := mat.NewSymDense(n, nil)
		for i := range n {
			for j := i; j < n; j++ {
				v := a
				if i == j {
					v++
				}
				cov.SetSym(i, j, v*math.Sqrt(q.variance[i]*q.variance[j]))
			}
		}
		g := q.fit(t, Options{Covariance: cov, Basis: Absolute})
		b := (1 - 1/math.Sqrt(1+a*float64(n))) / float64(n)
		white := func(v []float64) []float64 {
			out, s := make([]float64, n), 0.0
			for i := range v {
				out[i] = v[i] / math.Sqrt(q.variance[i])
				s += out[i]
			}
			for i := range out {
				out[i] -= b * s
			}
			return out
		}
		h := problem{x: mat.NewDense(n, p, nil), y: white(q.y)}
		for j := range p {
			h.x.SetCol(j, white(mat.Col(nil, j, q.x)))
		}
		r := h.fit(t, Options{Variances: ones(n), Basis: Absolute})
		agree(t, "coef", g.Coef, r.Coef, 1e-10)
		agree(t, "u", g.StdErr, r.StdErr, 1e-10)
		agree(t, "chi²", []float64{g.RSS}, []float64{r.RSS}, 1e-10)
		var trace float64
		for i, l := range g.Leverage {
			trace += l
			// By definition: var(residual i) = Σ[i,i] − u²(fitted i).
			pr, err := g.PredictWith(q.x.RawRowView(i), 0)
			if err != nil {
				t.Fatal(err)
			}
			if left := 1 - pr.U*pr.U/cov.At(i, i); left > 1e-6 && g.RSS > 1e-20 {
				want := g.Residuals[i] / math.Sqrt(left*cov.At(i, i))
				agree(t, "standardized", []float64{g.Standardized[i], 1e-4}, []float64{want, 1e-4}, 1e-10/left)
			}
		}
		agree(t, "trace", []float64{trace}, []float64{float64(p)}, 1e-12)
	})
}

// agreeStandardized compares standardized residuals z = r/(u·s·√(1−h)). The
// rounding of y reaches z through r, divided by the same; that of h, magnified
// by 1/(1−h), where the fit must pass close by.
func agreeStandardized(t *rapid.T, q problem, a, b *Result, tol float64) {
	s := 1.0
	if a.Basis != Absolute {
		s = a.ResidualSD
	}
	size := mat.Norm(mat.NewVecDense(len(q.y), q.y), math.Inf(1))
	for i, h := range b.Leverage {
		left := math.Max(1-h, 1e-9)
		allowed := tol * (math.Abs(b.Standardized[i])/left + size/(s*math.Sqrt(q.variance[i]*left)))
		if d := math.Abs(a.Standardized[i] - b.Standardized[i]); d > allowed {
			t.Fatalf("standardized %d: %.15g and %.15g, leverage %g", i, a.Standardized[i], b.Standardized[i], h)
		}
	}
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// A nonlinear fit of a linear model is the linear fit.
func TestNonlinearOfLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawProblem(t)
		_, p := q.x.Dims()
		opt := Options{Variances: q.variance, Basis: Absolute}
		r := q.fit(t, opt)
		m := Model{Eval: func(b, dst []float64) {
			mat.NewVecDense(len(dst), dst).MulVec(q.x, mat.NewVecDense(p, b))
		}}
		nl, err := Nonlinear(m, q.y, ones(p), NonlinearOptions{Options: opt})
		if err != nil {
			t.Fatal(err)
		}
		agree(t, "coef", nl.Coef, r.Coef, 1e-9)
		agree(t, "u", nl.StdErr, r.StdErr, 1e-8)
		agree(t, "chi²", []float64{nl.RSS}, []float64{r.RSS}, 1e-10)
		agree(t, "leverage", nl.Leverage, r.Leverage, 1e-8)
	})
}

// Analysis of variance: the sums of squares add to the total, the balanced
// formulas are a case of the unbalanced ones, F is that of the regression on
// group indicators, a common offset changes nothing, summaries do as data do.
func TestANOVAIdentities(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(2, 6).Draw(t, "k")
		balanced := rapid.Bool().Draw(t, "balanced")
		size := rapid.IntRange(2, 6).Draw(t, "size")
		groups := make([][]float64, k)
		sums := make([]Group, k)
		moved := make([][]float64, k)
		var all []float64
		var label []int
		for i := range groups {
			n := size
			if !balanced && i > 0 {
				n = rapid.IntRange(1, 6).Draw(t, "n")
			}
			// Steps of 1/64 and an offset of 2^20 are exact.
			for range n {
				v := float64(rapid.IntRange(-640, 640).Draw(t, "y")) / 64
				groups[i] = append(groups[i], v)
				moved[i] = append(moved[i], v+1<<20)
				all = append(all, v)
				label = append(label, i)
			}
			m := meanOf(groups[i])
			sums[i] = Group{N: n, Mean: m.float()}
			if n > 1 {
				sums[i].SD = math.Sqrt(sumSqAbout(groups[i], m).float() / float64(n-1))
			}
		}
		a, err := OneWay(groups)
		if err != nil {
			t.Fatal(err)
		}
		total, err := Summarize(all)
		if err != nil {
			t.Fatal(err)
		}
		n := float64(len(all))
		agree(t, "SS", []float64{a.BetweenSS + a.WithinSS, 0}, []float64{total.Variance * (n - 1), 0}, 1e-13)
		agree(t, "pooled u", []float64{a.UPooled}, []float64{total.UMean}, 1e-13)
		if balanced {
			means := make([]float64, k)
			for i := range means {
				means[i] = sums[i].Mean
			}
			s, err := Summarize(means)
			if err != nil {
				t.Fatal(err)
			}
			agree(t, "MS between", []float64{a.BetweenMS}, []float64{float64(size) * s.Variance}, 1e-12)
			agree(t, "u between", []float64{a.UBetween, a.UBetween}, []float64{s.UMean, math.Sqrt(a.BetweenMS / n)}, 1e-12)
			if a.N0 != float64(size) || math.Abs(a.Mean-a.MeanOfMeans) > 1e-12 {
				t.Fatalf("n0 %v, size %d, means %v and %v", a.N0, size, a.Mean, a.MeanOfMeans)
			}
		}
		fields := func(a *ANOVA) []float64 { return []float64{a.BetweenSS, a.WithinSS, a.BetweenVariance, a.UBetween} }
		b, err := OneWay(moved)
		if err != nil {
			t.Fatal(err)
		}
		agree(t, "moved", fields(b), fields(a), 1e-13)
		c, err := OneWaySummaries(sums)
		if err != nil {
			t.Fatal(err)
		}
		agree(t, "summaries", fields(c), fields(a), 1e-11)
		x := mat.NewDense(len(all), k, nil)
		for i, g := range label {
			x.Set(i, g, 1)
		}
		if a.WithinSS > 0 && a.BetweenSS > 1e-12 {
			r, err := Linear(x, all, Options{})
			if err != nil {
				t.Fatal(err)
			}
			agree(t, "F and p as a regression", []float64{r.F, r.FP, r.R2}, []float64{a.F, a.P, a.R2}, 1e-9)
			if !r.HasConstant || r.ModelDOF != a.BetweenDOF {
				t.Fatalf("constant %v, model dof %d", r.HasConstant, r.ModelDOF)
			}
		}
	})
}

// A polynomial comes back from its own values, and a change of origin changes
// neither the curve nor its uncertainty.
func TestPolynomialOrigin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		degree := rapid.IntRange(0, 5).Draw(t, "degree")
		n := rapid.IntRange(degree+3, 20).Draw(t, "n")
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i) + 0.5
			y[i] = rapid.Float64Range(-10, 10).Draw(t, "y")
		}
		a, err := Polynomial(x, y, degree, PolynomialOptions{})
		if err != nil {
			t.Fatal(err)
		}
		b, err := Polynomial(x, y, degree, PolynomialOptions{Origin: rapid.Float64Range(-50, 50).Draw(t, "origin")})
		if err != nil {
			t.Fatal(err)
		}
		at := rapid.Float64Range(-5, 25).Draw(t, "at")
		p, err := a.At(at)
		if err != nil {
			t.Fatal(err)
		}
		q, err := b.At(at)
		if err != nil {
			t.Fatal(err)
		}
		agree(t, fmt.Sprintf("at %g", at), []float64{p.Value, p.U, p.USingle}, []float64{q.Value, q.U, q.USingle}, 1e-11)
	})
}

// dd arithmetic keeps its identities far below float64 rounding.
func TestDoubleDouble(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string) dd {
			return twoSum(rapid.Float64Range(1e-3, 1e3).Draw(t, name), rapid.Float64Range(-1e-15, 1e-15).Draw(t, name+"lo"))
		}
		a, b := f("a"), f("b")
		small := func(what string, d dd, size float64) {
			if !(math.Abs(d.hi) <= 0x1p-98*size) {
				t.Fatalf("%s: %g beside %g", what, d.hi, size)
			}
		}
		small("a/b·b − a", a.div(b).mul(b).sub(a), a.hi)
		s := a.sqrt()
		small("√a² − a", s.mul(s).sub(a), a.hi)
		small("(a+b)−b−a", a.add(b).sub(b).sub(a), a.hi+b.hi)
		small("(a+b)² − a² − 2ab − b²", a.add(b).mul(a.add(b)).sub(a.mul(a)).sub(a.mul(b).ldexp(1)).sub(b.mul(b)), (a.hi+b.hi)*(a.hi+b.hi))
	})
}
