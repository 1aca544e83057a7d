package tally

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"railtally/internal/study"
)

// Generalised least squares and Holm's adjustment against general-purpose
// libraries (testdata/gls.py, which says which).
func TestAgainstAnotherStatisticsLibrary(t *testing.T) {
	raw, err := os.ReadFile("testdata/gls.json")
	if err != nil {
		t.Fatal(err)
	}
	var want struct {
		X, Cov  [][]float64
		Y, Coef []float64
		CovCoef [][]float64 `json:"cov_coef"`
		P, Holm []float64
	}
	if err := json.Unmarshal(raw, &want); err != nil {
		t.Fatal(err)
	}
	n, p := len(want.X), len(want.X[0])
	x, cov := mat.NewDense(n, p, nil), mat.NewSymDense(n, nil)
	for i := range n {
		x.SetRow(i, want.X[i])
		for j := range n {
			cov.SetSym(i, j, want.Cov[i][j])
		}
	}
	w, err := weights(x, cov)
	if err != nil {
		t.Fatal(err)
	}
	var coef mat.VecDense
	coef.MulVec(w, mat.NewVecDense(n, want.Y))
	var wc, cc mat.Dense
	wc.Mul(w, cov)
	cc.Mul(&wc, w.T())
	for k := range p {
		near(t, "coefficient", coef.AtVec(k), want.Coef[k], 1e-9)
		for l := range p {
			if math.Abs(cc.At(k, l)-want.CovCoef[k][l]) > 1e-12 {
				t.Errorf("covariance %d,%d: %g, want %g", k, l, cc.At(k, l), want.CovCoef[k][l])
			}
		}
	}
	for i, got := range holm(want.P) {
		near(t, "Holm", got, want.Holm[i], 1e-12)
	}
}

// factored builds a study whose states are all given by levels, and whose
// totals are what f says of them.
func factored(t testing.TB, factors map[string][]string, order []string, states [][]string, f func(levels []string) float64) *Tally {
	b := newBench(t, "±(1 % + 1 mA after zero)")
	b.States = nil
	for _, name := range order {
		b.Factors = append(b.Factors, &study.Factor{Name: name, Levels: factors[name]})
	}
	b.board("one", "core at 1 V")
	steps := map[string][]string{}
	for _, levels := range states {
		st := &study.State{Name: strings.Join(levels, " ")}
		for i, l := range levels {
			st.Levels = append(st.Levels, study.Level{Factor: order[i], Value: l})
		}
		b.States = append(b.States, st)
		steps[st.Name] = []string{"core: " + formatVolts(f(levels)) + ", 1.00000000 V"}
	}
	b.sitting("s", "one", steps)
	return b.run()
}

// formatVolts writes tenths of a millivolt: the only error that totals do not
// share.
func formatVolts(v float64) string { return fmt.Sprintf("%.4f V", v) }

var twoFactors = map[string][]string{"drives": {"0", "1", "4"}, "load": {"none", "copy"}}

func TestEffectsOfAnExactSum(t *testing.T) {
	add := map[string]float64{"0": 0, "1": 0.25, "4": 1, "none": 0, "copy": 0.5}
	ta := factored(t, twoFactors, []string{"drives", "load"},
		[][]string{{"0", "none"}, {"1", "none"}, {"1", "copy"}, {"4", "none"}, {"4", "copy"}},
		func(l []string) float64 { return 2 + add[l[0]] + add[l[1]] })
	e := ta.Boards[0].Effects
	near(t, "base", e.Base.Power.Estimate, 2, 1e-9)
	for _, x := range e.Terms {
		near(t, x.Factor+" "+x.Level, x.Power.Estimate, add[x.Level], 1e-9)
		near(t, x.Level+" on core", x.Rails[0].Power.Estimate, x.Power.Estimate, 1e-9)
		if x.From != twoFactors[x.Factor][0] {
			t.Errorf("%s is counted from %q", x.Level, x.From)
		}
	}
	near(t, "share", e.Share.Estimate, 2/3.5, 1e-9)
	if e.LacksFit() || e.P < 0.5 {
		t.Errorf("an exact sum lacks fit: chi² %g, p %g", e.Chi2, e.P)
	}
	steps := ta.Boards[0].Steps
	var way []string
	for _, s := range steps {
		way = append(way, s.Factor+" "+s.To)
	}
	if got := strings.Join(way, ", "); got != "drives 1, load copy, drives 4" {
		t.Errorf("steps %q", got)
	}
}

// Totals that are no sum of effects are said to be none, and the state that
// does not add up is named.
func TestLackOfFitIsNamed(t *testing.T) {
	add := map[string]float64{"0": 0, "1": 0.25, "4": 1, "none": 0, "copy": 0.5}
	ta := factored(t, twoFactors, []string{"drives", "load"},
		[][]string{{"0", "none"}, {"0", "copy"}, {"1", "none"}, {"1", "copy"}, {"4", "none"}, {"4", "copy"}},
		func(l []string) float64 {
			v := 2 + add[l[0]] + add[l[1]]
			if l[0] == "1" && l[1] == "copy" {
				v += 0.2
			}
			return v
		})
	e := ta.Boards[0].Effects
	if !e.LacksFit() || e.Birge < 2 {
		t.Errorf("chi² %g with %d totals and %d effects, p %g: not called a lack of fit", e.Chi2, e.Observations, e.Parameters, e.P)
	}
}

func TestConfoundedDesignIsExplained(t *testing.T) {
	for _, c := range []struct {
		states [][]string
		want   string
	}{
		{[][]string{{"0", "none"}, {"1", "copy"}}, "drives and load were never varied separately"},
		{[][]string{{"0", "none"}, {"1", "copy"}, {"4", "copy"}}, "cannot tell the effect of load copy"},
	} {
		ta := factored(t, twoFactors, []string{"drives", "load"}, c.states, func(l []string) float64 { return 2 })
		e := ta.Boards[0].Effects
		if !strings.Contains(e.Problem.String(), c.want) || len(e.Terms) > 0 {
			t.Errorf("%v: problem %q, want %q", c.states, e.Problem, c.want)
		}
	}
}

func TestNoFactorsNoEffects(t *testing.T) {
	b := newBench(t, "±1 %")
	b.board("one", "core at 1 V")
	b.sitting("s", "one", map[string][]string{"bare": {"core: 1.000 V, 1.000 V"}})
	ta := b.run()
	if e := ta.Boards[0].Effects; e != nil {
		t.Errorf("effects %v", e)
	}
}

func TestDetectableAndEqual(t *testing.T) {
	f := Figure{Estimate: 0.1, U: 0.1, DOF: math.Inf(1), K: 1.959964, Expanded: 0.1959964}
	near(t, "detectable", f.detectable(), 0.1*(1.959964+0.841621), 1e-5) // the z of JCGM 106 Table 7.3 for 80 %
	near(t, "zero", f.zeroP(), 2*0.158655254, 1e-8)
	near(t, "equal within 0.5", f.equalP(0.5), 3.167124183e-5, 1e-6) // Φ(−4)
}
