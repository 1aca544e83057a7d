package trace

import "math"

// A dd is the unevaluated sum of two float64, hi the nearer to it: about 31 digits (Dekker 1971,
// from memory).
type dd struct{ hi, lo float64 }

// twoSum returns a+b and what rounding it lost (Knuth).
func twoSum(a, b float64) (s, e float64) {
	s = a + b
	t := s - a
	return s, (a - (s - t)) + (b - t)
}

func (a dd) add(b dd) dd {
	s, e := twoSum(a.hi, b.hi)
	t, f := twoSum(a.lo, b.lo)
	s, e = twoSum(s, e+t)
	s, e = twoSum(s, e+f)
	return dd{s, e}
}

func (a dd) sub(b dd) dd { return a.add(dd{-b.hi, -b.lo}) }

func (a dd) mul(b dd) dd {
	p := a.hi * b.hi
	e := math.FMA(a.hi, b.hi, -p) + (a.hi*b.lo + a.lo*b.hi)
	s, f := twoSum(p, e)
	return dd{s, f}
}

func (a dd) times(x float64) dd { return a.mul(dd{x, 0}) }

// over divides by x ≠ 0.
func (a dd) over(x float64) dd {
	q := a.hi / x
	r := a.sub(dd{x, 0}.times(q))
	s, e := twoSum(q, (r.hi+r.lo)/x)
	return dd{s, e}
}
