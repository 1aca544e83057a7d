package gum

import (
	"math"
	"testing"
)

// A result is the same whether or not what it is made of was asked for before:
// the sweep then takes the known gradients for what is below them.
func TestKnownGradientsChangeNothing(t *testing.T) {
	build := func() (g *Graph, parts []Value, root, square Value) {
		g = New()
		gain := g.Input(Input{Name: "gain", Dist: Rectangular{Lo: -0.02, Hi: 0.02}})
		for k := range 5 {
			x := g.Input(Input{Name: "x", Dist: Normal{Mean: float64(k), U: 0.1}})
			parts = append(parts, x.Mul(gain.AddConst(1)))
		}
		total := Sum(parts...)
		// gain is an operand of its own, too, and parts[0] is flat at zero.
		return g, append(parts, total), total.Sub(parts[2]).Mul(gain.AddConst(2)), parts[0].Mul(parts[0])
	}
	for _, flat := range []bool{false, true} {
		g, _, root, square := build()
		if flat {
			root = square
		}
		fresh := must[Result](t)(g.Result(root))
		shares := must[[]Share](t)(g.Budget(root))

		h, parts, other, square := build()
		if flat {
			other = square
		}
		for _, p := range parts {
			must[Result](t)(h.Result(p))
		}
		again := must[Result](t)(h.Result(other))
		if math.Abs(again.U-fresh.U) > 1e-15*fresh.U || again.Estimate != fresh.Estimate || len(again.Warnings) != len(fresh.Warnings) {
			t.Errorf("%+v with parts known, %+v without", again, fresh)
		}
		for i, s := range must[[]Share](t)(h.Budget(other)) {
			if math.Abs(s.Sensitivity-shares[i].Sensitivity) > 1e-14*math.Abs(shares[i].Sensitivity) {
				t.Errorf("sensitivity %g with parts known, %g without", s.Sensitivity, shares[i].Sensitivity)
			}
		}
	}
}
