package heat

import (
	"errors"
	"math"
)

// ErrNoBalance tells that no temperature in the range of the formulas balances
// the heat.
var ErrNoBalance = errors.New("no temperature below 1000 °C carries this heat away")

// root finds where the increasing function f is zero between lo and hi, which
// must bracket it, to a width of 1e-10 of their scale: Chandrupatla's method
// (Adv. Eng. Software 28 (1997) 145), inverse quadratic steps where they are
// safe and bisection where not.
func root(f func(float64) float64, lo, hi float64) (float64, error) {
	a, b := hi, lo
	fa, fb := f(a), f(b)
	if fa == 0 {
		return a, nil
	}
	if fb == 0 {
		return b, nil
	}
	if math.IsNaN(fa) || math.IsNaN(fb) || (fa > 0) == (fb > 0) {
		return 0, ErrNoBalance
	}
	c, fc := a, fa
	t := 0.5
	for range 200 {
		x := a + t*(b-a)
		fx := f(x)
		if (fx > 0) == (fa > 0) {
			c, fc = a, fa
		} else {
			c, b, fc, fb = b, a, fb, fa
		}
		a, fa = x, fx
		best, fbest := a, fa
		if math.Abs(fb) < math.Abs(fa) {
			best, fbest = b, fb
		}
		width := 1e-12*math.Abs(best) + 1e-12
		tl := width / math.Abs(b-c)
		if math.IsNaN(fx) {
			return 0, ErrNoBalance
		}
		if fbest == 0 || tl > 0.5 {
			return best, nil
		}
		xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			t = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		} else {
			t = 0.5
		}
		t = min(1-tl, max(tl, t))
	}
	return a, nil
}
