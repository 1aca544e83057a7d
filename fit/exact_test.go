package fit

import (
	"math/big"
	"testing"
)

// rationalPolynomial solves the weighted normal equations exactly in rational
// arithmetic, for the float64 data as they stand.
func rationalPolynomial(x, y, weight []float64, degree int) (coef, variance []float64, rss float64) {
	p := degree + 1
	rat := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	a := make([][]*big.Rat, p) // [XᵀWX | XᵀWy | 1]
	for i := range a {
		a[i] = make([]*big.Rat, 2*p+1)
		for j := range a[i] {
			a[i][j] = new(big.Rat)
		}
		a[i][p+1+i].SetInt64(1)
	}
	rows := make([][]*big.Rat, len(x))
	for k := range x {
		rows[k] = []*big.Rat{big.NewRat(1, 1)}
		for j := 1; j < p; j++ {
			rows[k] = append(rows[k], new(big.Rat).Mul(rows[k][j-1], rat(x[k])))
		}
		for i := range p {
			w := new(big.Rat).Mul(rat(weight[k]), rows[k][i])
			for j := range p {
				a[i][j].Add(a[i][j], new(big.Rat).Mul(w, rows[k][j]))
			}
			a[i][p].Add(a[i][p], new(big.Rat).Mul(w, rat(y[k])))
		}
	}
	for c := range p {
		inv := new(big.Rat).Inv(a[c][c])
		for j := range a[c] {
			a[c][j].Mul(a[c][j], inv)
		}
		for i := range p {
			if f := new(big.Rat).Set(a[i][c]); i != c && f.Sign() != 0 {
				for j := range a[i] {
					a[i][j].Sub(a[i][j], new(big.Rat).Mul(f, a[c][j]))
				}
			}
		}
	}
	total := new(big.Rat)
	for k := range x {
		r := rat(y[k])
		for j := range p {
			r.Sub(r, new(big.Rat).Mul(a[j][p], rows[k][j]))
		}
		total.Add(total, r.Mul(r, new(big.Rat).Mul(r, rat(weight[k]))))
	}
	for i := range p {
		c, _ := a[i][p].Float64()
		v, _ := a[i][p+1+i].Float64()
		coef, variance = append(coef, c), append(variance, v)
	}
	rss, _ = total.Float64()
	return coef, variance, rss
}

// Outside check: exact rational arithmetic. A polynomial of degree 10 far from
// its origin is the worst a design commonly gets (scaled condition near 1e10);
// the answer for the data as float64 numbers still comes out to 12 digits.
func TestLinearExact(t *testing.T) {
	for _, degree := range []int{1, 5, 10} {
		var x, y, v, w []float64
		for i := range 40 {
			s := -8.8 + 0.143*float64(i)
			x = append(x, s)
			y = append(y, 0.8+0.1*s*s+float64(i*i%7)/64)
			w = append(w, []float64{1, 4, 0.25, 1024}[i%4])
			v = append(v, 1/w[i])
		}
		coef, variance, rss := rationalPolynomial(x, y, w, degree)
		c, err := Polynomial(x, y, degree, PolynomialOptions{Options: Options{Variances: v, Basis: Absolute}})
		if err != nil {
			t.Fatal(err)
		}
		digits := 15.0
		for j := range coef {
			digits = min(digits, wantDigits(t, c.Names[j], c.Coef[j], coef[j], 12))
			digits = min(digits, wantDigits(t, c.Names[j]+" variance", c.Cov.At(j, j), variance[j], 12))
		}
		digits = min(digits, wantDigits(t, "chi²", c.RSS, rss, 12))
		t.Logf("degree %d, condition %.2g: %.1f digits", degree, c.Condition, digits)
	}
}
