package gum

import (
	"fmt"
	"math"
)

// A Distribution is what is known about an input: a literal of one of this
// package's types. It is checked when it is recorded. Any of them may have
// zero width, which makes the input a known number.
type Distribution interface {
	// Expectation is the estimate that the input enters the model with.
	Expectation() float64
	// StdDev is the standard uncertainty used by the law of propagation.
	StdDev() float64
	check() error
	sampler() sampler
}

// Normal is the Gaussian distribution with standard deviation U.
type Normal struct{ Mean, U float64 }

// Expectation returns the mean.
func (d Normal) Expectation() float64 { return d.Mean }

// StdDev returns U.
func (d Normal) StdDev() float64 { return d.U }

func (d Normal) check() error {
	if err := finite(d.Mean, d.U); err != nil {
		return err
	}
	if d.U < 0 {
		return fmt.Errorf("standard uncertainty %g is negative", d.U)
	}
	return nil
}

// StudentT is the scaled and shifted t distribution: the mean of n repeats
// with experimental standard deviation s has Scale s/√n and DOF n−1.
//
// The two evaluations treat it differently, as their standards do. The law of
// propagation takes Scale as the standard uncertainty, together with DOF
// (JCGM 100 4.2.3, G.3). Monte Carlo draws from the t distribution, whose
// standard deviation is Scale·√(DOF/(DOF−2)) (JCGM 101 6.4.9.4), and infinite
// for DOF of 2 or less.
type StudentT struct{ Mean, Scale, DOF float64 }

// Expectation returns the mean, taken as the centre where DOF is 1 and the
// distribution has no expectation.
func (d StudentT) Expectation() float64 { return d.Mean }

// StdDev returns Scale.
func (d StudentT) StdDev() float64 { return d.Scale }

func (d StudentT) check() error {
	if err := finite(d.Mean, d.Scale); err != nil {
		return err
	}
	if d.Scale < 0 {
		return fmt.Errorf("scale %g is negative", d.Scale)
	}
	if !(d.DOF >= 1) {
		return fmt.Errorf("t distribution with %g degrees of freedom; at least 1 is needed", d.DOF)
	}
	return nil
}

// finite refuses NaN and infinities among parameters.
func finite(xs ...float64) error {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("parameter %g is not finite", x)
		}
	}
	return nil
}
