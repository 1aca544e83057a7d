package fit

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Basis says what stated variances or a covariance matrix of the observations
// mean. There is no default: the two readings differ by the factor chi²/DOF in
// every variance of the result, so whoever states variances must choose.
type Basis int

const (
	// Unstated is right only where neither variances nor covariances are given.
	Unstated Basis = iota
	// Relative: known up to a common factor, which the residuals supply
	// (s² = chi²/DOF). The covariance of the result has DOF degrees of freedom.
	Relative
	// Absolute: known in the square of y's unit and believed as they stand. The
	// residuals are tested against them (chi-square) but change nothing.
	Absolute
)

// String returns the name of the constant in lower case.
func (b Basis) String() string {
	switch b {
	case Unstated:
		return "unstated"
	case Relative:
		return "relative"
	case Absolute:
		return "absolute"
	}
	return fmt.Sprintf("basis(%d)", int(b))
}

// Options tell a fit what is known about the observations. The zero value is
// the ordinary unweighted fit.
type Options struct {
	// Names of the parameters, used in messages; nil gives b0, b1, …
	Names []string
	// Variances of the observations, one each, all positive. Not together with
	// Covariance. Needs Basis.
	Variances []float64
	// Covariance matrix of the observations, n×n and positive definite. Needs Basis.
	Covariance mat.Symmetric
	// Basis of Variances or Covariance.
	Basis Basis
	// Tolerance below which a column of the design, scaled to unit length, is
	// called a combination of the earlier ones: its distance from them. 0 means
	// 16·p·2⁻⁵², the size that rounding leaves when a dependent column was
	// computed in float64; under a full Covariance it is multiplied by the
	// square root of that matrix's condition number, which is what whitening
	// can add.
	Tolerance float64
}

// CovarianceError reports a covariance matrix of observations that cannot be
// used for weighting.
type CovarianceError struct {
	// Condition number of the matrix scaled to correlations; +Inf when it is
	// not positive definite.
	Condition float64
	// Limit on Condition.
	Limit float64
}

func (e *CovarianceError) Error() string {
	if math.IsInf(e.Condition, 1) {
		return "covariance matrix is not positive definite"
	}
	return fmt.Sprintf("covariance matrix is near singular: condition %.2g, limit %.0g", e.Condition, e.Limit)
}

// checkShape validates what every fit needs: y finite, as long as the model
// says, and more observations than parameters.
func checkShape(n, p int, y []float64) error {
	if len(y) != n {
		return fmt.Errorf("%d observations for %d rows", len(y), n)
	}
	if p < 1 {
		return errors.New("no parameters")
	}
	if n <= p {
		return fmt.Errorf("%d observations for %d parameters, need more than %d", n, p, p)
	}
	return finite("observation", y)
}

// names returns the parameter names, defaults filled in.
func (o Options) names(p int) ([]string, error) {
	if o.Names == nil {
		out := make([]string, p)
		for j := range out {
			out[j] = fmt.Sprintf("b%d", j)
		}
		return out, nil
	}
	if len(o.Names) != p {
		return nil, fmt.Errorf("%d names for %d parameters", len(o.Names), p)
	}
	return append([]string(nil), o.Names...), nil
}

// checkBasis makes sure that a basis is stated exactly where it is needed.
func (o Options) checkBasis() error {
	given := o.Variances != nil || o.Covariance != nil
	switch {
	case o.Variances != nil && o.Covariance != nil:
		return errors.New("both variances and a covariance matrix given")
	case o.Basis < Unstated || o.Basis > Absolute:
		return fmt.Errorf("unknown %v", o.Basis)
	case given && o.Basis == Unstated:
		return errors.New("variances given without a basis, state relative or absolute")
	case !given && o.Basis == Absolute:
		return errors.New("absolute basis without variances or a covariance matrix")
	case math.IsNaN(o.Tolerance) || o.Tolerance < 0 || o.Tolerance >= 1:
		return fmt.Errorf("tolerance %v outside 0 to 1", o.Tolerance)
	}
	return nil
}
