package fit

import (
	"fmt"
	"math"
)

// A Prediction is the value of a fitted model at one point.
type Prediction struct {
	Value float64
	U     float64 // standard uncertainty of the fitted mean
	// USingle is the standard uncertainty of one new observation there, which
	// adds the scatter of an observation to U; NaN where that is not known.
	USingle float64
	DOF     float64 // of U: n−p, or +Inf when Basis is Absolute
}

// Predict evaluates the model for one row of a design. USingle is that of an
// observation as good as those fitted; it is NaN in a weighted fit, for which
// there is [Result.PredictWith]. JCGM 100:2008 H.3.3, with covariances.
func (r *Result) Predict(row []float64) (Prediction, error) {
	if err := r.checkRow(row); err != nil {
		return Prediction{}, err
	}
	v := 1.0
	if r.weighted {
		v = math.NaN()
	}
	return r.predict(ddSlice(row), v), nil
}

// PredictWith is Predict for a new observation of the stated variance, in the
// sense of Options.Variances, independent of those fitted.
func (r *Result) PredictWith(row []float64, variance float64) (Prediction, error) {
	if err := r.checkRow(row); err != nil {
		return Prediction{}, err
	}
	if !(variance >= 0) || math.IsInf(variance, 1) {
		return Prediction{}, fmt.Errorf("predict: variance is %v", variance)
	}
	return r.predict(ddSlice(row), variance), nil
}

func (r *Result) checkRow(row []float64) error {
	if len(row) != r.Rank {
		return fmt.Errorf("predict: %d values for %d coefficients", len(row), r.Rank)
	}
	if err := finite("value", row); err != nil {
		return fmt.Errorf("predict: %w", err)
	}
	return nil
}

func (r *Result) predict(row []dd, variance float64) Prediction {
	s2, dof := r.ResidualSD*r.ResidualSD, float64(r.DOF)
	if r.Basis == Absolute {
		s2, dof = 1, math.Inf(1)
	}
	v := s2 * r.factor.rowVariance(row)
	return Prediction{
		Value: dot(row, r.coef).float(), U: math.Sqrt(v),
		USingle: math.Sqrt(v + s2*variance), DOF: dof,
	}
}

// Corr returns the correlation coefficient of two coefficients, 0 where one of
// them has no uncertainty.
func (r *Result) Corr(i, j int) float64 {
	if u := r.StdErr[i] * r.StdErr[j]; u > 0 {
		return r.Cov.At(i, j) / u
	}
	return 0
}
