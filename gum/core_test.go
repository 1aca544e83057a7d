package gum

import (
	"math"
	"testing"
)

func TestProductOfTwo(t *testing.T) {
	g := New()
	v := g.Input(Input{Name: "V", Dist: Normal{12, 0.05}})
	i := g.Input(Input{Name: "I", Dist: Normal{2, 0.03}})
	r, err := g.Result(v.Mul(i))
	// testdata/analytic.json product-correlated, u_if_r_0.
	if err != nil || math.Abs(r.U-0.3736308338) > 1e-10 || r.Estimate != 24 {
		t.Fatal(r, err)
	}
}
