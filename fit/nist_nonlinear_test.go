package fit

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// nistModel is a model of the NIST StRD nonlinear sets with its gradient.
type nistModel struct {
	f    func(b []float64, x float64) float64
	grad func(b []float64, x float64, g []float64)
}

var nistModels = map[string]nistModel{
	"Misra1a": {saturation, saturationGrad},
	"BoxBOD":  {saturation, saturationGrad},
	"Chwirut2": {
		func(b []float64, x float64) float64 { return math.Exp(-b[0]*x) / (b[1] + b[2]*x) },
		func(b []float64, x float64, g []float64) {
			e, d := math.Exp(-b[0]*x), b[1]+b[2]*x
			g[0], g[1], g[2] = -x*e/d, -e/(d*d), -x*e/(d*d)
		},
	},
	"MGH17": {
		func(b []float64, x float64) float64 {
			return b[0] + b[1]*math.Exp(-x*b[3]) + b[2]*math.Exp(-x*b[4])
		},
		func(b []float64, x float64, g []float64) {
			e, f := math.Exp(-x*b[3]), math.Exp(-x*b[4])
			g[0], g[1], g[2], g[3], g[4] = 1, e, f, -x*b[1]*e, -x*b[2]*f
		},
	},
	"Lanczos3": {
		func(b []float64, x float64) float64 {
			return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-b[3]*x) + b[4]*math.Exp(-b[5]*x)
		},
		func(b []float64, x float64, g []float64) {
			for k := 0; k < 6; k += 2 {
				e := math.Exp(-b[k+1] * x)
				g[k], g[k+1] = e, -x*b[k]*e
			}
		},
	},
	"DanWood": {
		func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
		func(b []float64, x float64, g []float64) {
			p := math.Pow(x, b[1])
			g[0], g[1] = p, b[0]*p*math.Log(x)
		},
	},
}

func saturation(b []float64, x float64) float64 { return b[0] * -math.Expm1(-b[1]*x) }

func saturationGrad(b []float64, x float64, g []float64) {
	g[0], g[1] = -math.Expm1(-b[1]*x), b[0]*x*math.Exp(-b[1]*x)
}

func (m nistModel) over(x []float64, analytic bool) Model {
	out := Model{Eval: func(p, dst []float64) {
		for i, v := range x {
			dst[i] = m.f(p, v)
		}
	}}
	if analytic {
		out.Jacobian = func(p []float64, dst *mat.Dense) {
			for i, v := range x {
				m.grad(p, v, dst.RawRowView(i))
			}
		}
	}
	return out
}

// NIST StRD nonlinear regression from both certified starting points, with the
// model's derivatives and with differences. Certified values carry 11 digits.
//
// Digits wanted are what the sets give in float64: with exact derivatives all
// of them 10 or nearly; with differences (relative error near 1e-12) the
// standard uncertainties of Lanczos3, whose Jacobian has a condition of 1e3 to
// 1e4, keep fewer.
func TestNISTNonlinear(t *testing.T) {
	sets := nistSets(t)
	t.Logf("%-9s %5s %10s  %5s %5s %5s  %5s %5s %8s", "set", "start", "derivative", "est", "sd", "rss", "steps", "evals", "attempts")
	for _, name := range []string{"Misra1a", "Chwirut2", "DanWood", "MGH17", "Lanczos3", "BoxBOD"} {
		s := sets[name]
		d := s.columns(t)
		for k, words := range [][]string{s.Start1, s.Start2} {
			start := make([]float64, len(words))
			for j, w := range words {
				start[j] = num(t, w)
			}
			for _, kind := range []struct {
				name     string
				analytic bool
				est, sd  float64
			}{{"exact", true, 9.5, 9.5}, {"difference", false, 9, 8}} {
				t.Run(fmt.Sprintf("%s-%d-%s", name, k+1, kind.name), func(t *testing.T) {
					r, err := Nonlinear(nistModels[name].over(d[1], kind.analytic), d[0], start, NonlinearOptions{})
					if err != nil {
						t.Fatal(err)
					}
					est, sd := 15.0, 15.0
					for j, p := range s.Certified.Parameters {
						est = math.Min(est, wantDigits(t, p.Name, r.Coef[j], num(t, p.Estimate), kind.est))
						sd = math.Min(sd, wantDigits(t, p.Name+" sd", r.StdErr[j], num(t, p.SD), kind.sd))
					}
					rss := wantDigits(t, "rss", r.RSS, num(t, s.Certified.RSS), 9.5)
					wantDigits(t, "residual sd", r.ResidualSD, num(t, s.Certified.ResSD), 9.5)
					wantInt(t, "dof", r.DOF, s.Certified.DF)
					t.Logf("%-9s %5d %10s  %5.1f %5.1f %5.1f  %5d %5d %8d",
						name, k+1, kind.name, est, sd, rss, r.Iterations, r.Evaluations, r.Attempts)
				})
			}
		}
	}
}

// Hard starts on the plateau of BoxBOD, harder than NIST's: from (1, 6) the
// first attempt runs away and a smaller first step finds the certified minimum;
// from (1, 10) all run away, and the result says that b2 is not determined.
func TestNonlinearRunaway(t *testing.T) {
	s := nistSets(t)["BoxBOD"]
	d := s.columns(t)
	m := nistModels["BoxBOD"].over(d[1], true)
	r, err := Nonlinear(m, d[0], []float64{1, 6}, NonlinearOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for j, p := range s.Certified.Parameters {
		wantDigits(t, p.Name, r.Coef[j], num(t, p.Estimate), 9.5)
	}
	if r.Attempts < 2 {
		t.Errorf("%d attempts: the start is not hard", r.Attempts)
	}
	r, err = Nonlinear(m, d[0], []float64{1, 10}, NonlinearOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Warnings) == 0 || !strings.Contains(r.Warnings[len(r.Warnings)-1], "is not determined") {
		t.Errorf("b2 = %g ± %g without a warning", r.Coef[1], r.StdErr[1])
	}
	// On a plateau so flat that the derivative is zero there is no answer at all.
	var e *RankError
	if _, err = Nonlinear(m, d[0], []float64{1, 1000}, NonlinearOptions{}); !errors.As(err, &e) {
		t.Errorf("got %v, want a rank error", err)
	}
}

// Starts at zero, where the step of a difference has to come from Typical.
func TestNonlinearTypical(t *testing.T) {
	s := nistSets(t)["Misra1a"]
	d := s.columns(t)
	for _, start := range [][]float64{{1, 0}, {0, 1e-3}} {
		r, err := Nonlinear(nistModels["Misra1a"].over(d[1], false), d[0], start, NonlinearOptions{Typical: []float64{100, 1e-4}})
		if err != nil {
			t.Fatal(err)
		}
		for j, p := range s.Certified.Parameters {
			wantDigits(t, p.Name, r.Coef[j], num(t, p.Estimate), 9.5)
		}
	}
}
