package gum

// A Value is a handle on one node of a [Graph]: an input, a constant or the
// result of an operation. Values are small and comparable. The zero Value
// belongs to no graph; every method but Valid panics on it.
type Value struct {
	g *Graph
	i int32
}

// Valid reports whether v belongs to a graph.
func (v Value) Valid() bool { return v.g != nil }

// Graph returns the graph that v belongs to.
func (v Value) Graph() *Graph { return v.graph() }

// Estimate returns the value computed from the estimates of the inputs. It is
// NaN or infinite outside the domain of an operation.
func (v Value) Estimate() float64 { return v.graph().est[v.i] }

func (v Value) graph() *Graph {
	if v.g == nil {
		panic("gum: use of the zero Value")
	}
	return v.g
}

// with returns the graph shared by v and w, and panics when they differ.
func (v Value) with(w Value) *Graph {
	if v.graph() != w.graph() {
		panic("gum: values of different graphs")
	}
	return v.g
}

// own panics when v is not a value of g.
func (g *Graph) own(v Value) {
	if v.graph() != g {
		panic("gum: value of another graph")
	}
}

// Add returns a + b.
func (a Value) Add(b Value) Value { return a.binary(opAdd, b) }

// Sub returns a − b.
func (a Value) Sub(b Value) Value { return a.binary(opSub, b) }

// Mul returns a·b.
func (a Value) Mul(b Value) Value { return a.binary(opMul, b) }

// Div returns a/b.
func (a Value) Div(b Value) Value { return a.binary(opDiv, b) }

// Pow returns a to the power of b. Where b varies, a must be positive.
func (a Value) Pow(b Value) Value { return a.binary(opPow, b) }

// AddConst returns a + x for an exact x.
func (a Value) AddConst(x float64) Value { return a.unary(opAddConst, x) }

// Scale returns a·x for an exact x.
func (a Value) Scale(x float64) Value { return a.unary(opScale, x) }

// PowConst returns a to the power of an exact x.
func (a Value) PowConst(x float64) Value { return a.unary(opPowConst, x) }

// Neg returns −a.
func (a Value) Neg() Value { return a.unary(opNeg, 0) }

// Sqrt returns the square root of a.
func (a Value) Sqrt() Value { return a.unary(opSqrt, 0) }

// Exp returns e to the power of a.
func (a Value) Exp() Value { return a.unary(opExp, 0) }

// Log returns the natural logarithm of a.
func (a Value) Log() Value { return a.unary(opLog, 0) }

// Log10 returns the decimal logarithm of a.
func (a Value) Log10() Value { return a.unary(opLog10, 0) }

// Sin returns the sine of a, in radians.
func (a Value) Sin() Value { return a.unary(opSin, 0) }

// Cos returns the cosine of a, in radians.
func (a Value) Cos() Value { return a.unary(opCos, 0) }

// Tan returns the tangent of a, in radians.
func (a Value) Tan() Value { return a.unary(opTan, 0) }

// Asin returns the arcsine of a, in radians.
func (a Value) Asin() Value { return a.unary(opAsin, 0) }

// Acos returns the arccosine of a, in radians.
func (a Value) Acos() Value { return a.unary(opAcos, 0) }

// Atan returns the arctangent of a, in radians.
func (a Value) Atan() Value { return a.unary(opAtan, 0) }

// Abs returns the absolute value of a. Its slope at zero is taken as zero,
// with a warning.
func (a Value) Abs() Value { return a.unary(opAbs, 0) }

func (a Value) binary(o op, b Value) Value {
	g := a.with(b)
	n := node{op: o, varies: g.nodes[a.i].varies || g.nodes[b.i].varies, a: a.i, b: b.i}
	return g.push(n, evalBinary(o, g.est[a.i], g.est[b.i]))
}

func (a Value) unary(o op, x float64) Value {
	g := a.graph()
	if x-x != 0 {
		g.fail("%v by %g: constant is not finite", o, x)
	}
	return g.push(node{op: o, varies: g.nodes[a.i].varies, a: a.i, x: x}, evalUnary(o, g.est[a.i], x))
}
