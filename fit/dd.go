package fit

import "math"

// dd is an unevaluated sum hi+lo of two float64 with |lo| ≤ ulp(hi)/2: a
// number of about 31 significant digits. Algorithms: T. J. Dekker,
// Numer. Math. 18 (1971) 224; Y. Hida, X. S. Li, D. H. Bailey, "Library for
// double-double and quad-double arithmetic" (2007).
//
// Products are wrapped in float64() because the Go specification lets a
// compiler fuse x*y+z otherwise, which would spoil the error terms.
type dd struct{ hi, lo float64 }

func ddOf(x float64) dd { return dd{x, 0} }

// float rounds to the nearest float64.
func (a dd) float() float64 { return a.hi + a.lo }

// twoSum returns a+b exactly (Knuth).
func twoSum(a, b float64) dd {
	s := a + b
	t := s - a
	return dd{s, (a - (s - t)) + (b - t)}
}

// quickSum returns a+b exactly when |a| ≥ |b| or a is 0 (Dekker).
func quickSum(a, b float64) dd {
	s := a + b
	return dd{s, b - (s - a)}
}

// twoProd returns a·b exactly.
func twoProd(a, b float64) dd {
	p := float64(a * b)
	return dd{p, math.FMA(a, b, -p)}
}

func (a dd) neg() dd { return dd{-a.hi, -a.lo} }

func (a dd) add(b dd) dd {
	s := twoSum(a.hi, b.hi)
	t := twoSum(a.lo, b.lo)
	s = quickSum(s.hi, s.lo+t.hi)
	return quickSum(s.hi, s.lo+t.lo)
}

func (a dd) sub(b dd) dd { return a.add(b.neg()) }

func (a dd) mul(b dd) dd {
	p := twoProd(a.hi, b.hi)
	return quickSum(p.hi, p.lo+(float64(a.hi*b.lo)+float64(a.lo*b.hi)))
}

func (a dd) div(b dd) dd {
	q1 := a.hi / b.hi
	r := a.sub(ddOf(q1).mul(b))
	q2 := r.hi / b.hi
	r = r.sub(ddOf(q2).mul(b))
	return quickSum(q1, q2).add(ddOf(r.hi / b.hi))
}

// sqrt uses one Newton step from the float64 root (A. H. Karp, P. Markstein,
// ACM TOMS 23 (1997) 561). The square root of zero is zero.
func (a dd) sqrt() dd {
	if a.hi <= 0 {
		return dd{}
	}
	x := 1 / math.Sqrt(a.hi)
	ax := float64(a.hi * x)
	return twoSum(ax, float64(a.sub(twoProd(ax, ax)).hi*(x*0.5)))
}

// ldexp multiplies by 2^e, which is exact short of underflow.
func (a dd) ldexp(e int) dd { return dd{math.Ldexp(a.hi, e), math.Ldexp(a.lo, e)} }

// dot returns Σ a·b over two slices of equal length.
func dot(a, b []dd) dd {
	b = b[:len(a)]
	var s dd
	for i := range a {
		s = s.add(a[i].mul(b[i]))
	}
	return s
}

// axpy adds f·x to y in place.
func axpy(f dd, x, y []dd) {
	y = y[:len(x)]
	for i := range x {
		y[i] = y[i].add(f.mul(x[i]))
	}
}

// ddSlice widens float64 values.
func ddSlice(x []float64) []dd {
	out := make([]dd, len(x))
	for i, v := range x {
		out[i] = ddOf(v)
	}
	return out
}

// rounded rounds each element.
func rounded(x []dd) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v.float()
	}
	return out
}

// meanOf returns the arithmetic mean of x; x must not be empty.
func meanOf(x []float64) dd {
	var s dd
	for _, v := range x {
		s = s.add(ddOf(v))
	}
	return s.div(ddOf(float64(len(x))))
}

// sumSqAbout returns Σ(x−m)².
func sumSqAbout(x []float64, m dd) dd {
	var s dd
	for _, v := range x {
		d := ddOf(v).sub(m)
		s = s.add(d.mul(d))
	}
	return s
}
