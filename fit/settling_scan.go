package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// scanStep is the ratio of neighbouring time constants of the scan, 10^(1/12).
const scanStep = 1.2115276586285884

// decay returns expm1(−x/τ) over the thinned times: with a constant beside it
// the same space as exp(−x/τ), without its cancellation for long τ.
func (c *record) decay(tau float64) []float64 {
	out := make([]float64, len(c.sx))
	for i, x := range c.sx {
		out[i] = math.Expm1(-x / tau)
	}
	return out
}

// weighted solves the thinned linear problem for a constant and the given
// columns; false when they are dependent.
func (c *record) weighted(cols ...[]float64) (coef []float64, rss float64, ok bool) {
	n, p := len(c.sx), len(cols)+1
	if n < p {
		return nil, 0, false
	}
	a, b := mat.NewDense(n, p, nil), mat.NewVecDense(n, nil)
	for i := range n {
		g := math.Sqrt(c.sw[i])
		a.Set(i, 0, g)
		for j, col := range cols {
			a.Set(i, j+1, g*col[i])
		}
		b.SetVec(i, g*c.sy[i])
	}
	var qr mat.QR
	qr.Factorize(a)
	var x, r mat.VecDense
	if qr.SolveVecTo(&x, false, b) != nil {
		return nil, 0, false
	}
	r.MulVec(a, &x)
	r.SubVec(b, &r)
	return x.RawVector().Data, mat.Dot(&r, &r), true
}

// scanOne returns start values y∞, A, τ of the best time constant of the scan.
func (c *record) scanOne() []float64 {
	best, start := math.Inf(1), []float64{c.y[0], 1, math.Max(c.span, math.SmallestNonzeroFloat64)}
	for _, tau := range c.taus {
		if k, rss, ok := c.weighted(c.decay(tau)); ok && rss < best {
			// a + b·expm1 = (a − b) + b·exp
			best, start = rss, []float64{k[0] - k[1], k[1], tau}
		}
	}
	return start
}

// scanTwo returns start values for two exponentials. A fast term touches few
// readings, so it shows only when the slow one is right: for every fast time
// constant of the scan the best slow one is found, not just the nearest of the
// scan, and in the end the fast one is refined as well.
func (c *record) scanTwo() []float64 {
	best, slow, fast := math.Inf(1), c.span, c.first
	y := c.centred(c.sy)
	columns := make([][]float64, len(c.taus))
	for i, tau := range c.taus {
		columns[i] = c.centred(c.decay(tau))
	}
	for i, f := range c.taus {
		unit := normalized(columns[i])
		rss := func(tau float64) float64 { return left(y, unit, c.centred(c.decay(tau))) }
		near, at := math.Inf(1), 0.0
		for j := i + 2; j < len(c.taus); j += 2 {
			if v := left(y, unit, columns[j]); v < near {
				near, at = v, c.taus[j]
			}
		}
		if at == 0 {
			break
		}
		tau := valley(rss, math.Max(at/scanStep/scanStep, f*scanStep), at*scanStep*scanStep)
		if v := rss(tau); v < best {
			best, slow, fast = v, tau, f
		}
	}
	unit := normalized(c.centred(c.decay(slow)))
	fast = valley(func(tau float64) float64 { return left(y, unit, c.centred(c.decay(tau))) }, fast/scanStep, fast*scanStep)
	k, _, ok := c.weighted(c.decay(fast), c.decay(slow))
	if !ok {
		return append(c.scanOne(), 0, c.first)
	}
	return []float64{k[0] - k[1] - k[2], k[2], slow, k[1], fast}
}

// valley narrows a minimum of f between a and b by golden section in the
// logarithm, to about 1 % of the bracket.
func valley(f func(float64) float64, a, b float64) float64 {
	const g = 0.6180339887498949 // (√5 − 1)/2
	la, lb := math.Log(a), math.Log(b)
	for range 10 {
		x1, x2 := lb-g*(lb-la), la+g*(lb-la)
		if f(math.Exp(x1)) < f(math.Exp(x2)) {
			lb = x2
		} else {
			la = x1
		}
	}
	return math.Exp((la + lb) / 2)
}

// centred returns √weight·(v − mean), what is left of v beside a constant.
func (c *record) centred(v []float64) []float64 {
	var s, w float64
	for i, g := range c.sw {
		s, w = s+g*v[i], w+g
	}
	out := make([]float64, len(v))
	for i, g := range c.sw {
		out[i] = math.Sqrt(g) * (v[i] - s/w)
	}
	return out
}

// normalized scales v to unit length in place; zero stays zero.
func normalized(v []float64) []float64 {
	if n := floats.Norm(v, 2); n > 0 {
		floats.Scale(1/n, v)
	}
	return v
}

// left returns the sum of squares of centred y that a unit column and one more
// leave.
func left(y, unit, column []float64) float64 {
	v := floats.AddScaledTo(make([]float64, len(column)), column, -floats.Dot(unit, column), unit)
	normalized(v)
	var s float64
	a, b := floats.Dot(unit, y), floats.Dot(v, y)
	for i := range y {
		r := y[i] - a*unit[i] - b*v[i]
		s += r * r
	}
	return s
}

// scanDrift returns start values for driftModel.
func (c *record) scanDrift() []float64 {
	best, start := math.Inf(1), append(c.scanOne(), 0)
	for _, tau := range c.taus {
		if tau > c.span {
			break
		}
		if k, rss, ok := c.weighted(c.decay(tau), c.sx); ok && rss < best {
			best, start = rss, []float64{k[0] - k[1], k[1], tau, k[2]}
		}
	}
	return start
}
