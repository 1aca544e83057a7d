package gum

import (
	"context"
	"testing"
)

// Student's t with one degree of freedom beside a wider normal: the linear
// interval ends at ±2.0 (Welch–Satterthwaite leaves hundreds of degrees of
// freedom), that of 4·10⁶ trials in numpy at ±3.07, and the standard deviation
// of the trials grows with their number. That must not pass for agreement.
func TestCompareIsNotLoosenedByHeavyTails(t *testing.T) {
	g := New()
	y := g.Input(Input{Name: "a", Dist: Normal{U: 1}}).Add(g.Input(Input{Name: "b", Dist: StudentT{Scale: 0.2, DOF: 1}}))
	lin, err := g.Result(y)
	if err != nil {
		t.Fatal(err)
	}
	mc, err := g.MonteCarlo(context.Background(), MCOptions{Trials: 200_000, Seed: 1}, y)
	if err != nil {
		t.Fatal(err)
	}
	v := Compare(lin, mc.Outputs[0], 0.95, 2)
	if v.Valid || v.Delta > Tolerance(lin.U, 2) {
		t.Errorf("valid %v by a tolerance of %g; the ends differ by %.2g and %.2g, u is %.2g (linear) and %.2g (trials)",
			v.Valid, v.Delta, v.DLow, v.DHigh, lin.U, mc.Outputs[0].U)
	}
}
