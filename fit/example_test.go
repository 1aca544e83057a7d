package fit_test

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"railtally/fit"
)

// A line through readings that are equally good, and what it says elsewhere.
// Data: JCGM 100:2008 H.3, correction of a thermometer over its reading.
func ExamplePolynomial() {
	t := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	b := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	line, err := fit.Polynomial(t, b, 1, fit.PolynomialOptions{Origin: 20})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("intercept %.4f ± %.4f, slope %.5f ± %.5f, correlation %.3f\n",
		line.Coef[0], line.StdErr[0], line.Coef[1], line.StdErr[1], line.Corr(0, 1))
	at, err := line.At(30)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("at 30: %.4f ± %.4f with %.0f degrees of freedom, one reading ± %.4f\n", at.Value, at.U, at.DOF, at.USingle)
	// Output:
	// intercept -0.1712 ± 0.0029, slope 0.00218 ± 0.00067, correlation -0.930
	// at 30: -0.1494 ± 0.0041 with 9 degrees of freedom, one reading ± 0.0054
}

// A parabola: whether the square term is needed shows in its uncertainty.
func ExamplePolynomial_parabola() {
	x := []float64{0, 1, 2, 3, 4, 5, 6, 7}
	y := []float64{1.02, 2.21, 4.18, 7.32, 11.03, 16.09, 21.88, 28.79}
	c, err := fit.Polynomial(x, y, 2, fit.PolynomialOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for k, b := range c.Coef {
		fmt.Printf("%s: %.3f ± %.3f\n", c.Names[k], b, c.StdErr[k])
	}
	fmt.Printf("residual sd %.3f, R² %.6f, condition %.0f, warnings %d\n", c.ResidualSD, c.R2, c.Condition, len(c.Warnings))
	// Output:
	// x^0: 1.066 ± 0.075
	// x^1: 0.613 ± 0.050
	// x^2: 0.477 ± 0.007
	// residual sd 0.090, R² 0.999942, condition 14, warnings 0
}

// Known uncertainties of different size, and the inverse question: which x
// belongs to a reading of 10.5 ± 1.0? Data: ISO/TS 28037:2010 clause 6.
func ExampleCurve_Inverse() {
	x := []float64{1, 2, 3, 4, 5, 6}
	y := []float64{3.2, 4.3, 7.6, 8.6, 11.7, 12.8}
	u2 := []float64{0.25, 0.25, 0.25, 1, 1, 1}
	line, err := fit.Polynomial(x, y, 1, fit.PolynomialOptions{Options: fit.Options{Variances: u2, Basis: fit.Absolute}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("a %.3f ± %.3f, b %.3f ± %.3f, cov %.3f\n", line.Coef[0], line.StdErr[0], line.Coef[1], line.StdErr[1], line.Cov.At(0, 1))
	fmt.Printf("chi² %.3f for %d degrees of freedom, p %.2f\n", line.RSS, line.DOF, line.Chi2P)
	x0, u0, err := line.Inverse(10.5, 1)
	fmt.Printf("x0 %.3f ± %.3f, %v\n", x0, u0, err)
	// Output:
	// a 0.885 ± 0.530, b 2.057 ± 0.178, cov -0.082
	// chi² 4.131 for 4 degrees of freedom, p 0.39
	// x0 4.674 ± 0.533, <nil>
}

// Readings that share an error: six readings in two states, each of three
// taken after its own zero. The covariance matrix says so, and the fit knows
// that the step between the states depends on both zeros.
func ExampleLinear_covariance() {
	y := []float64{5.02, 5.05, 4.99, 7.11, 7.08, 7.12}
	const uReading, uZero = 0.03, 0.05
	cov := mat.NewSymDense(6, nil)
	x := mat.NewDense(6, 2, nil)
	for i := range 6 {
		x.SetRow(i, []float64{1, float64(i / 3)})
		for j := i; j < 6; j++ {
			var c float64
			if i/3 == j/3 {
				c += uZero * uZero
			}
			if i == j {
				c += uReading * uReading
			}
			cov.SetSym(i, j, c)
		}
	}
	r, err := fit.Linear(x, y, fit.Options{Names: []string{"idle", "step"}, Covariance: cov, Basis: fit.Absolute})
	if err != nil {
		fmt.Println(err)
		return
	}
	for j, name := range r.Names {
		fmt.Printf("%s %.3f ± %.3f\n", name, r.Coef[j], r.StdErr[j])
	}
	fmt.Printf("step expected ± %.3f\n", math.Sqrt(2*(uZero*uZero+uReading*uReading/3)))
	// Output:
	// idle 5.020 ± 0.053
	// step 2.083 ± 0.075
	// step expected ± 0.075
}

// Columns that depend on each other are named.
func ExampleRankError() {
	// Every board was measured by its own meter: the two cannot be told apart.
	x := mat.NewDense(5, 3, []float64{
		1, 0, 0,
		1, 0, 0,
		1, 1, 1,
		1, 1, 1,
		1, 1, 1,
	})
	_, err := fit.Linear(x, []float64{1, 2, 3, 4, 5}, fit.Options{Names: []string{"mean", "board B", "meter 2"}})
	var rank *fit.RankError
	if errors.As(err, &rank) {
		fmt.Println(rank)
	}
	// Output:
	// design has rank 2 of 3: meter 2 = 1·board B
}

// Readings on several days: is there more between the days than within them?
func ExampleOneWay() {
	days := [][]float64{
		{14.21, 14.25, 14.19},
		{14.31, 14.35, 14.30},
		{14.22, 14.18, 14.23},
		{14.40, 14.36, 14.41},
	}
	a, err := fit.OneWay(days)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("F %.1f for %d and %d degrees of freedom, p %.1g\n", a.F, a.BetweenDOF, a.WithinDOF, a.P)
	fmt.Printf("sd between days %.3f, within %.3f\n", math.Sqrt(a.BetweenVariance), a.ResidualSD)
	fmt.Printf("mean %.3f ± %.3f (%d degrees of freedom); ± %.3f had the days been alike\n",
		a.MeanOfMeans, a.UBetween, a.BetweenDOF, a.UPooled)
	// Output:
	// F 29.7 for 3 and 8 degrees of freedom, p 0.0001
	// sd between days 0.085, within 0.028
	// mean 14.284 ± 0.043 (3 degrees of freedom); ± 0.024 had the days been alike
}

// Any function of the parameters. Data: NIST StRD DanWood, start 1.
func ExampleNonlinear() {
	x := []float64{1.309, 1.471, 1.490, 1.565, 1.611, 1.680}
	y := []float64{2.138, 3.421, 3.597, 4.340, 4.882, 5.660}
	r, err := fit.Nonlinear(fit.Model{Eval: func(p, dst []float64) {
		for i := range x {
			dst[i] = p[0] * math.Pow(x[i], p[1])
		}
	}}, y, []float64{1, 5}, fit.NonlinearOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("b1 %.6f ± %.6f, b2 %.6f ± %.6f\n", r.Coef[0], r.StdErr[0], r.Coef[1], r.StdErr[1])
	// Output:
	// b1 0.768862 ± 0.018282, b2 3.860406 ± 0.051727
}

// A temperature that is still rising when the record ends.
func ExampleSettling() {
	var t, y []float64
	for i := range 25 {
		minute := float64(i)
		t = append(t, minute)
		// A made record: 58 °C in the end, read to 0.1 °C.
		y = append(y, math.Round(10*(58-34*math.Exp(-minute/9)))/10)
	}
	r, err := fit.Settling(t, y, fit.SettlingOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("settles at %.2f ± %.2f °C, %.1f °C to go, time constant %.2f ± %.2f min, %.0f %% seen\n",
		r.Final, r.U, r.Remaining, r.Terms[0].Tau, r.Terms[0].UTau, 100*r.Seen)

	// The first five minutes alone, read to 1 °C, do not tell.
	for i := range y[:6] {
		y[i] = math.Round(y[i])
	}
	_, err = fit.Settling(t[:6], y[:6], fit.SettlingOptions{})
	fmt.Println(err)
	// Output:
	// settles at 58.01 ± 0.02 °C, 2.4 °C to go, time constant 9.00 ± 0.02 min, 93 % seen
	// settling fit: settled value not determined: a steady drift fits as well (p = 0.062); about 44 % of the change seen (time constant 8.62, record 5)
}

// A series in figures.
func ExampleSummarize() {
	s, err := fit.Summarize([]float64{511.2, 511.9, 510.8, 511.4, 511.6})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("mean %.2f, sd %.2f, u(mean) %.2f, lag-1 %.2f\n", s.Mean, s.SD, s.UMean, s.Lag1)
	// Output:
	// mean 511.38, sd 0.41, u(mean) 0.19, lag-1 -0.58
}
