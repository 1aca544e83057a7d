package gum

import (
	"fmt"
	"math"
)

// customOp is an operation supplied from outside the package.
type customOp struct {
	name string
	f    func(x []float64) float64
	grad func(x, dst []float64)
}

// Sum returns the sum of vs as a single node. It panics when vs is empty.
func Sum(vs ...Value) Value { return sum("Sum", 1, vs) }

// Mean returns the arithmetic mean of vs as a single node. It panics when vs
// is empty.
func Mean(vs ...Value) Value { return sum("Mean", 1/float64(len(vs)), vs) }

func sum(caller string, x float64, vs []Value) Value {
	g := common(caller, vs)
	n := g.list(opSum, vs)
	n.x = x
	return g.pushList(n)
}

// WeightedSum returns Σ coeffs[k]·vs[k] as a single node. It panics when vs is
// empty or the lengths differ.
func WeightedSum(coeffs []float64, vs []Value) Value {
	g := common("WeightedSum", vs)
	if len(coeffs) != len(vs) {
		panic(fmt.Sprintf("gum: WeightedSum of %d coefficients and %d values", len(coeffs), len(vs)))
	}
	for k, c := range coeffs {
		if c-c != 0 {
			g.fail("weighted sum: coefficient %d is %g", k, c)
		}
	}
	n := g.list(opWeighted, vs)
	n.c = int32(len(g.coefs))
	g.coefs = append(g.coefs, coeffs...)
	return g.pushList(n)
}

// Interp returns the ordinate at x of the straight line through (x0, y0) and
// (x1, y1), all of which may be uncertain:
//
//	y0 + (y1−y0)(x−x0)/(x1−x0)
//
// The line is not cut off: x may lie outside x0..x1.
func Interp(x, x0, y0, x1, y1 Value) Value {
	vs := []Value{x, x0, y0, x1, y1}
	g := common("Interp", vs)
	return g.pushList(g.list(opInterp, vs))
}

// Custom records the function f of vs, with its gradient, under a name that
// messages use. f gets one number per value. grad writes the partial
// derivative by x[k] to dst[k], for every k. Both may be called from several
// goroutines at once, must depend on nothing but x and must not keep or change
// it. Custom panics when vs is empty or a function is nil.
func Custom(name string, f func(x []float64) float64, grad func(x, dst []float64), vs ...Value) Value {
	g := common("Custom", vs)
	if f == nil || grad == nil {
		panic("gum: Custom without function or gradient")
	}
	n := g.list(opCustom, vs)
	n.c = int32(len(g.custom))
	g.custom = append(g.custom, customOp{name, f, grad})
	return g.pushList(n)
}

// common returns the one graph of all vs.
func common(caller string, vs []Value) *Graph {
	if len(vs) == 0 {
		panic("gum: " + caller + " of no values")
	}
	g := vs[0].graph()
	for _, v := range vs[1:] {
		vs[0].with(v)
	}
	return g
}

// list prepares a node with the operands vs.
func (g *Graph) list(o op, vs []Value) node {
	n := node{op: o, a: int32(len(g.args)), b: int32(len(vs))}
	for _, v := range vs {
		g.args = append(g.args, v.i)
		n.varies = n.varies || g.nodes[v.i].varies
	}
	return n
}

func (g *Graph) pushList(n node) Value {
	args := g.arguments(&n)
	switch n.op {
	case opSum:
		s := 0.0
		for _, a := range args {
			s += g.est[a]
		}
		return g.push(n, n.x*s)
	case opWeighted:
		s := 0.0
		for k, a := range args {
			s += g.coefs[int(n.c)+k] * g.est[a]
		}
		return g.push(n, s)
	}
	x := g.operands(args, make([]float64, len(args)))
	if n.op == opInterp {
		return g.push(n, evalInterp(x[0], x[1], x[2], x[3], x[4]))
	}
	for _, a := range x { // f is not asked outside the numbers
		if a-a != 0 {
			return g.push(n, math.NaN())
		}
	}
	return g.push(n, g.custom[n.c].f(x))
}

// operands copies the estimates of args to dst and returns it.
func (g *Graph) operands(args []int32, dst []float64) []float64 {
	for k, a := range args {
		dst[k] = g.est[a]
	}
	return dst
}

func evalInterp(x, x0, y0, x1, y1 float64) float64 { return y0 + (y1-y0)*((x-x0)/(x1-x0)) }

// interpSlopes writes the partial derivatives of evalInterp in the order of
// its arguments.
func interpSlopes(p, dst []float64) {
	x, x0, y0, x1, y1 := p[0], p[1], p[2], p[3], p[4]
	slope := (y1 - y0) / (x1 - x0)
	t := (x - x0) / (x1 - x0)
	dst[0], dst[1], dst[2], dst[3], dst[4] = slope, slope*(t-1), 1-t, -slope*t, t
}
