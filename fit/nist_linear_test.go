package fit

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// NIST StRD linear regression, certified values from the headers of the .dat
// files. All ten sets reach 12 digits or more: the data are decimals of few
// digits, so what float64 rounding of the inputs loses stays below that.
func TestNISTLinear(t *testing.T) {
	sets := nistSets(t)
	for _, tc := range []struct {
		name   string
		degree int // 0: several predictors
		noInt  bool
	}{
		{"Norris", 1, false}, {"Pontius", 2, false}, {"Longley", 0, false},
		{"NoInt1", 1, true}, {"NoInt2", 1, true},
		{"Wampler1", 5, false}, {"Wampler2", 5, false}, {"Wampler3", 5, false},
		{"Wampler4", 5, false}, {"Wampler5", 5, false},
	} {
		t.Run(tc.name, func(t *testing.T) {
			s := sets[tc.name]
			d := s.columns(t)
			var r *Result
			if tc.degree > 0 {
				c, err := Polynomial(d[1], d[0], tc.degree, PolynomialOptions{NoIntercept: tc.noInt})
				if err != nil {
					t.Fatal(err)
				}
				r = &c.Result
			} else {
				x := mat.NewDense(s.N, len(d), nil)
				for i := range s.N {
					x.Set(i, 0, 1)
					for j := 1; j < len(d); j++ {
						x.Set(i, j, d[j][i])
					}
				}
				var err error
				if r, err = Linear(x, d[0], Options{}); err != nil {
					t.Fatal(err)
				}
			}
			const want = 12
			c := s.Certified
			est, sd := 15.0, 15.0
			for j, p := range c.Parameters {
				est = math.Min(est, wantDigits(t, p.Name, r.Coef[j], num(t, p.Estimate), want))
				sd = math.Min(sd, wantDigits(t, p.Name+" sd", r.StdErr[j], num(t, p.SD), want))
			}
			res := wantDigits(t, "residual sd", r.ResidualSD, num(t, c.ResSD), want)
			r2 := wantDigits(t, "R²", r.R2, num(t, c.R2), want)
			ss := wantDigits(t, "model SS", r.ModelSS, num(t, c.SSRegression), want)
			wantDigits(t, "residual SS", r.RSS, num(t, c.SSResidual), want)
			if c.F == "Infinity" {
				// Exact fit in exact arithmetic.
				if !(r.F > 1e25) {
					t.Errorf("F = %g, certified infinite", r.F)
				}
			} else {
				wantDigits(t, "F", r.F, num(t, c.F), want)
			}
			wantInt(t, "residual dof", r.DOF, c.DFResidual)
			wantInt(t, "model dof", r.ModelDOF, c.DFRegression)
			t.Logf("digits: estimates %.1f, their sd %.1f, residual sd %.1f, R² %.1f, model SS %.1f; condition %.2g",
				est, sd, res, r2, ss, r.Condition)
		})
	}
}

// NIST StRD univariate. The sets whose data are integers or short decimals
// reach 13 digits or more. NumAcc3 and NumAcc4 cannot: 1000000.2 and
// 10000000.2 are not float64 numbers, and the rounding of the inputs (1e-10 and
// 2e-9 beside deviations of 0.1) is a relative error of 1e-9 to 1e-8 in the
// deviations. Read about their leading digits, as exact decimals less an
// origin, the same sets give 13.
func TestNISTUnivariate(t *testing.T) {
	sets := nistSets(t)
	for _, tc := range []struct {
		name         string
		origin       int64
		mean, sd, r1 float64 // digits wanted
	}{
		{"Lottery", 0, 14, 14, 14}, {"Lew", 0, 14, 14, 14}, {"Mavro", 0, 14, 12, 12}, {"Michelso", 0, 14, 13, 13},
		{"NumAcc1", 0, 15, 15, 15}, {"NumAcc2", 0, 14, 14, 14}, {"PiDigits", 0, 14, 14, 13},
		{"NumAcc3", 0, 15, 9, 9}, {"NumAcc4", 0, 15, 8, 8},
		{"NumAcc3", 1000000, 14, 14, 14}, {"NumAcc4", 10000000, 14, 14, 14},
	} {
		t.Run(fmt.Sprintf("%s-%d", tc.name, tc.origin), func(t *testing.T) {
			s := sets[tc.name]
			var x []float64
			for _, w := range s.words(t) {
				x = append(x, decimal(t, w[0], tc.origin))
			}
			r, err := Summarize(x)
			if err != nil {
				t.Fatal(err)
			}
			a := wantDigits(t, "mean", r.Mean+float64(tc.origin), num(t, s.Certified.Mean), tc.mean)
			b := wantDigits(t, "sd", r.SD, num(t, s.Certified.SD), tc.sd)
			c := wantDigits(t, "lag-1 autocorrelation", r.Lag1, num(t, s.Certified.R1), tc.r1)
			t.Logf("digits: mean %.1f, sd %.1f, r1 %.1f", a, b, c)
		})
	}
}

// NIST StRD one-way analysis of variance. SmLs04-06 (7 constant leading digits)
// and SmLs07-09 (13) cannot be read into float64 without losing digits: beside
// deviations of 0.1, rounding an input near 1e6 leaves an error of 1e-9
// relative, near 1e12 of 1e-3. AtmWtAg (7) has deviations of 1e-5. So two
// things are asked: with the data as float64 the digits that are left, and
// with the origin taken off the decimals before rounding, 12 or more.
// TestANOVAExact shows that nothing more is lost.
func TestNISTANOVA(t *testing.T) {
	sets := nistSets(t)
	for _, tc := range []struct {
		name   string
		origin int64
		want   float64
	}{
		{"SiRstv", 0, 12}, {"SmLs01", 0, 12}, {"SmLs02", 0, 12}, {"SmLs03", 0, 12},
		{"AtmWtAg", 0, 9}, {"SmLs04", 0, 9}, {"SmLs05", 0, 9}, {"SmLs06", 0, 9},
		{"SmLs07", 0, 3.5}, {"SmLs08", 0, 3.5}, {"SmLs09", 0, 3.5},
		{"AtmWtAg", 107, 10}, {"SmLs04", 1000000, 12}, {"SmLs05", 1000000, 12}, {"SmLs06", 1000000, 12},
		{"SmLs07", 1000000000000, 12}, {"SmLs08", 1000000000000, 12}, {"SmLs09", 1000000000000, 12},
	} {
		t.Run(fmt.Sprintf("%s-%d", tc.name, tc.origin), func(t *testing.T) {
			s := sets[tc.name]
			a, err := OneWay(s.groups(t, tc.origin))
			if err != nil {
				t.Fatal(err)
			}
			c := s.Certified
			wantInt(t, "between dof", a.BetweenDOF, c.DFBetween)
			wantInt(t, "within dof", a.WithinDOF, c.DFWithin)
			ssb := wantDigits(t, "between SS", a.BetweenSS, num(t, c.SSBetween), tc.want)
			ssw := wantDigits(t, "within SS", a.WithinSS, num(t, c.SSWithin), tc.want)
			wantDigits(t, "between MS", a.BetweenMS, num(t, c.MSBetween), tc.want)
			wantDigits(t, "within MS", a.WithinMS, num(t, c.MSWithin), tc.want)
			f := wantDigits(t, "F", a.F, num(t, c.F), tc.want)
			r2 := wantDigits(t, "R²", a.R2, num(t, c.R2), tc.want)
			sd := wantDigits(t, "residual sd", a.ResidualSD, num(t, c.ResSD), tc.want)
			t.Logf("digits: between SS %.1f, within SS %.1f, F %.1f, R² %.1f, residual sd %.1f", ssb, ssw, f, r2, sd)
		})
	}
}

// groups returns the responses of an ANOVA set by treatment, less an origin.
func (s nistSet) groups(t testing.TB, origin int64) [][]float64 {
	t.Helper()
	var out [][]float64
	last := ""
	for _, w := range s.words(t) {
		if w[0] != last {
			out, last = append(out, nil), w[0]
		}
		k := len(out) - 1
		out[k] = append(out[k], decimal(t, w[1], origin))
	}
	return out
}
