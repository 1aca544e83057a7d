package fit

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// PolynomialOptions extend Options.
type PolynomialOptions struct {
	Options
	// Origin x0: the powers fitted are those of x−x0. Choose it inside the data
	// when x has a large offset (a time of day, a temperature in kelvin).
	Origin float64
	// NoIntercept leaves out the constant term; degree must be at least 1.
	NoIntercept bool
}

// A Curve is a fitted polynomial Σ Coef[k]·(x−Origin)^k, k from 0, or from 1
// without an intercept.
type Curve struct {
	Result
	Degree      int
	Origin      float64
	NoIntercept bool
}

// Polynomial fits a polynomial of the given degree to y over x. Errors are
// those of [Linear]; too few different values of x for the degree appear as a
// [*RankError]. The runs test takes the residuals in the order of x.
func Polynomial(x, y []float64, degree int, opt PolynomialOptions) (*Curve, error) {
	c := &Curve{Degree: degree, Origin: opt.Origin, NoIntercept: opt.NoIntercept}
	if err := c.fit(x, y, opt); err != nil {
		return nil, fmt.Errorf("polynomial fit: %w", err)
	}
	return c, nil
}

func (c *Curve) fit(x, y []float64, opt PolynomialOptions) error {
	if low := c.lowest(); c.Degree < low {
		return fmt.Errorf("degree %d, need %d or more", c.Degree, low)
	}
	if err := checkShape(len(x), c.Degree+1-c.lowest(), y); err != nil {
		return err
	}
	if err := finite("x", x); err != nil {
		return err
	}
	if err := finite("origin", []float64{opt.Origin}); err != nil {
		return err
	}
	cols := make([][]dd, c.Degree+1-c.lowest())
	for j := range cols {
		cols[j] = make([]dd, len(x))
	}
	row := make([]dd, 0, len(cols))
	for i, v := range x {
		for j, p := range c.row(row, v) {
			if math.IsInf(p.hi, 0) || math.IsNaN(p.lo) {
				return fmt.Errorf("x %d is %v: its power overflows", i, v)
			}
			cols[j][i] = p
		}
	}
	o := opt.Options
	if o.Names == nil {
		for k := c.lowest(); k <= c.Degree; k++ {
			o.Names = append(o.Names, fmt.Sprintf("x^%d", k))
		}
	}
	r, err := linear(cols, y, o, ascending(x))
	if err != nil {
		return err
	}
	c.Result = *r
	return nil
}

// ascending returns the order of x, nil when it ascends already.
func ascending(x []float64) []int {
	if slices.IsSorted(x) {
		return nil
	}
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(x[a], x[b]), cmp.Compare(a, b))
	})
	return order
}

// lowest returns the lowest power fitted.
func (c *Curve) lowest() int {
	if c.NoIntercept {
		return 1
	}
	return 0
}

// row returns the powers of x−Origin in double-double, so that rounding them
// adds nothing to the error of x; they are appended to out[:0].
func (c *Curve) row(out []dd, x float64) []dd {
	d := twoSum(x, -c.Origin)
	p := ddOf(1)
	out = out[:0]
	for k := 0; k <= c.Degree; k++ {
		if k > 0 {
			p = p.mul(d)
		}
		if k >= c.lowest() {
			out = append(out, p)
		}
	}
	return out
}

// At predicts the value at x; see [Result.Predict].
func (c *Curve) At(x float64) (Prediction, error) {
	if err := finite("x", []float64{x}); err != nil {
		return Prediction{}, fmt.Errorf("predict: %w", err)
	}
	v := 1.0
	if c.weighted {
		v = math.NaN()
	}
	return c.predict(c.row(nil, x), v), nil
}

// errNoSlope is returned where a line cannot be inverted.
var errNoSlope = errors.New("inverse: slope is not distinguishable from zero")

// Inverse returns the x at which a fitted line with intercept takes the value
// y, and its standard uncertainty, for a y known with standard uncertainty uy
// independently of the fit. Formula: ISO/TS 28037:2010 6.4 (linear law of
// propagation): u²(x) = [uy² + u²(a) + 2·x·cov(a,b) + x²·u²(b)]/b². A slope
// within two standard uncertainties of zero is refused: the interval for x would
// have no bound (E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175).
func (c *Curve) Inverse(y, uy float64) (x, u float64, err error) {
	if c.Degree != 1 || c.NoIntercept {
		return 0, 0, fmt.Errorf("inverse: degree %d without intercept %v, need a line with intercept", c.Degree, c.NoIntercept)
	}
	if err := finite("y", []float64{y, uy}); err != nil {
		return 0, 0, fmt.Errorf("inverse: %w", err)
	}
	if math.Abs(c.Coef[1]) <= 2*c.StdErr[1] {
		return 0, 0, errNoSlope
	}
	d := ddOf(y).sub(c.coef[0]).div(c.coef[1])
	s2 := 1.0
	if c.Basis != Absolute {
		s2 = c.ResidualSD * c.ResidualSD
	}
	v := uy*uy + s2*c.factor.rowVariance([]dd{ddOf(1), d})
	return d.add(ddOf(c.Origin)).float(), math.Sqrt(v) / math.Abs(c.Coef[1]), nil
}
