package fit

import "math"

// Runs is the Wald–Wolfowitz runs test of signs.
type Runs struct {
	Count              int // unbroken stretches of one sign
	Positive, Negative int
	Expected           float64
	P                  float64 // two-sided: twice the smaller tail, at most 1
}

// runsExact is the number of signs up to which the exact distribution is used;
// beyond it the normal approximation is right to a few parts in a thousand.
const runsExact = 1000

// RunsTest counts the runs of sign in x; zeros are left out. With fewer than
// one value of either sign nothing can be said and P is 1. Distribution: A.
// Wald, J. Wolfowitz, Ann. Math. Statist. 11 (1940) 147, exact up to 1000
// signs, normal with continuity correction beyond.
func RunsTest(x []float64) Runs {
	var r Runs
	last := 0.0
	for _, v := range x {
		switch {
		case v > 0:
			r.Positive++
		case v < 0:
			r.Negative++
		default:
			continue
		}
		if s := math.Copysign(1, v); s != last {
			r.Count++
			last = s
		}
	}
	a, b := float64(r.Positive), float64(r.Negative)
	n := a + b
	if a == 0 || b == 0 {
		r.Expected, r.P = math.Min(n, 1), 1
		return r
	}
	r.Expected = 1 + 2*a*b/n
	if n > runsExact {
		sd := math.Sqrt(2 * a * b * (2*a*b - n) / (n * n * (n - 1)))
		z := math.Max(0, math.Abs(float64(r.Count)-r.Expected)-0.5) / sd
		r.P = tTwoSided(z, math.Inf(1))
		return r
	}
	var lower, upper float64
	for k := 2; k <= r.Positive+r.Negative; k++ {
		p := runsProbability(k, a, b)
		if k <= r.Count {
			lower += p
		}
		if k >= r.Count {
			upper += p
		}
	}
	r.P = math.Min(1, 2*math.Min(lower, upper))
	return r
}

// runsProbability returns P(k runs) for a positive and b negative signs in
// random order.
func runsProbability(k int, a, b float64) float64 {
	all := logChoose(a+b, a)
	h := float64(k / 2)
	if k%2 == 0 {
		return 2 * math.Exp(logChoose(a-1, h-1)+logChoose(b-1, h-1)-all)
	}
	return math.Exp(logChoose(a-1, h)+logChoose(b-1, h-1)-all) +
		math.Exp(logChoose(a-1, h-1)+logChoose(b-1, h)-all)
}

// logChoose returns the logarithm of a binomial coefficient, −Inf where that
// is zero.
func logChoose(n, k float64) float64 {
	if k < 0 || k > n {
		return math.Inf(-1)
	}
	x, _ := math.Lgamma(n + 1)
	y, _ := math.Lgamma(k + 1)
	z, _ := math.Lgamma(n - k + 1)
	return x - y - z
}
