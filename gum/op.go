package gum

import "math"

// op is the kind of a node.
type op uint8

const (
	opConst op = iota
	opInput
	opAdd
	opSub
	opMul
	opDiv
	opPow
	opAddConst
	opScale
	opPowConst
	opNeg
	opSqrt
	opExp
	opLog
	opLog10
	opSin
	opCos
	opTan
	opAsin
	opAcos
	opAtan
	opAbs
	opSum      // x times the sum of the arguments
	opWeighted // sum of coefficient times argument
	opInterp
	opCustom
)

var opNames = [...]string{
	opConst: "constant", opInput: "input", opAdd: "sum", opSub: "difference", opMul: "product", opDiv: "quotient",
	opPow: "power", opAddConst: "shift", opScale: "scale", opPowConst: "power", opNeg: "negative", opSqrt: "sqrt",
	opExp: "exp", opLog: "log", opLog10: "log10", opSin: "sin", opCos: "cos", opTan: "tan", opAsin: "asin",
	opAcos: "acos", opAtan: "atan", opAbs: "abs", opSum: "sum", opWeighted: "weighted sum",
	opInterp: "interpolation", opCustom: "custom",
}

func (o op) String() string { return opNames[o] }

// binary reports whether o has the two operands a and b.
func (o op) binary() bool { return o >= opAdd && o <= opPow }

// nary reports whether o has a list of operands.
func (o op) nary() bool { return o >= opSum }

func evalBinary(o op, a, b float64) float64 {
	switch o {
	case opAdd:
		return a + b
	case opSub:
		return a - b
	case opMul:
		return a * b
	case opDiv:
		return a / b
	default:
		return math.Pow(a, b)
	}
}

// binarySlopes returns the partial derivatives of o at (a, b), where y is its
// value there. The slope by b is computed only when it is asked for, since
// that of a power needs a positive base.
func binarySlopes(o op, a, b, y float64, byB bool) (da, db float64) {
	switch o {
	case opAdd:
		return 1, 1
	case opSub:
		return 1, -1
	case opMul:
		return b, a
	case opDiv:
		return 1 / b, -y / b
	default:
		da = b * math.Pow(a, b-1)
		if byB {
			db = y * math.Log(a)
		}
		return da, db
	}
}

func evalUnary(o op, a, x float64) float64 {
	switch o {
	case opAddConst:
		return a + x
	case opScale:
		return a * x
	case opPowConst:
		return math.Pow(a, x)
	case opNeg:
		return -a
	case opSqrt:
		return math.Sqrt(a)
	case opExp:
		return math.Exp(a)
	case opLog:
		return math.Log(a)
	case opLog10:
		return math.Log10(a)
	case opSin:
		return math.Sin(a)
	case opCos:
		return math.Cos(a)
	case opTan:
		return math.Tan(a)
	case opAsin:
		return math.Asin(a)
	case opAcos:
		return math.Acos(a)
	case opAtan:
		return math.Atan(a)
	default:
		return math.Abs(a)
	}
}

// unarySlope returns the derivative of o at a, where y is its value there.
func unarySlope(o op, a, x, y float64) float64 {
	switch o {
	case opAddConst:
		return 1
	case opScale:
		return x
	case opPowConst:
		if x == 0 {
			return 0
		}
		return x * math.Pow(a, x-1)
	case opNeg:
		return -1
	case opSqrt:
		return 0.5 / y
	case opExp:
		return y
	case opLog:
		return 1 / a
	case opLog10:
		return 1 / (a * math.Ln10)
	case opSin:
		return math.Cos(a)
	case opCos:
		return -math.Sin(a)
	case opTan:
		return 1 + y*y
	case opAsin:
		return 1 / math.Sqrt((1-a)*(1+a))
	case opAcos:
		return -1 / math.Sqrt((1-a)*(1+a))
	case opAtan:
		return 1 / (1 + a*a)
	default: // opAbs
		switch {
		case a > 0:
			return 1
		case a < 0:
			return -1
		}
		return 0
	}
}

// unaryCurvature returns the second derivative of o where its first one is
// zero. It serves only to say how much the first-order law leaves out, so the
// operations whose slope never vanishes are not here.
func unaryCurvature(o op, a, x, y float64) float64 {
	switch o {
	case opPowConst:
		if x == 0 || x == 1 {
			return 0
		}
		return x * (x - 1) * math.Pow(a, x-2)
	case opSin, opCos:
		return -y
	}
	return 0
}
