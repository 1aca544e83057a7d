package gum

import (
	"fmt"
	"math"
)

// Rectangular is the uniform distribution on Lo..Hi (JCGM 101 6.4.2).
type Rectangular struct{ Lo, Hi float64 }

// Expectation returns the midpoint.
func (d Rectangular) Expectation() float64 { return mid(d.Lo, d.Hi) }

// StdDev returns (Hi−Lo)/√12.
func (d Rectangular) StdDev() float64 { return half(d.Lo, d.Hi) / math.Sqrt(3) }

func (d Rectangular) check() error { return bounds(d.Lo, d.Hi) }

// Triangular is the symmetric triangular distribution on Lo..Hi
// (JCGM 101 6.4.5).
type Triangular struct{ Lo, Hi float64 }

// Expectation returns the midpoint.
func (d Triangular) Expectation() float64 { return mid(d.Lo, d.Hi) }

// StdDev returns (Hi−Lo)/√24.
func (d Triangular) StdDev() float64 { return half(d.Lo, d.Hi) / math.Sqrt(6) }

func (d Triangular) check() error { return bounds(d.Lo, d.Hi) }

// Trapezoidal is the symmetric trapezoidal distribution on Lo..Hi whose top is
// Beta times as wide as its base: 0 is triangular, 1 rectangular
// (JCGM 101 6.4.4).
type Trapezoidal struct{ Lo, Hi, Beta float64 }

// Expectation returns the midpoint.
func (d Trapezoidal) Expectation() float64 { return mid(d.Lo, d.Hi) }

// StdDev returns the half-width times √((1+Beta²)/6).
func (d Trapezoidal) StdDev() float64 {
	return half(d.Lo, d.Hi) * math.Sqrt((1+d.Beta*d.Beta)/6)
}

func (d Trapezoidal) check() error {
	if !(d.Beta >= 0 && d.Beta <= 1) {
		return fmt.Errorf("beta %g is outside 0..1", d.Beta)
	}
	return bounds(d.Lo, d.Hi)
}

// Arcsine is the U-shaped distribution on Lo..Hi of a quantity that cycles
// sinusoidally between them (JCGM 101 6.4.6).
type Arcsine struct{ Lo, Hi float64 }

// Expectation returns the midpoint.
func (d Arcsine) Expectation() float64 { return mid(d.Lo, d.Hi) }

// StdDev returns (Hi−Lo)/√8.
func (d Arcsine) StdDev() float64 { return half(d.Lo, d.Hi) / math.Sqrt2 }

func (d Arcsine) check() error { return bounds(d.Lo, d.Hi) }

// CurvilinearTrapezoid is a rectangle on Lo..Hi whose limits are themselves
// only known to ±D (JCGM 101 6.4.3). 2D may not exceed Hi−Lo.
type CurvilinearTrapezoid struct{ Lo, Hi, D float64 }

// Expectation returns the midpoint.
func (d CurvilinearTrapezoid) Expectation() float64 { return mid(d.Lo, d.Hi) }

// StdDev returns √((Hi−Lo)²/12 + D²/9).
func (d CurvilinearTrapezoid) StdDev() float64 {
	return math.Hypot(half(d.Lo, d.Hi)/math.Sqrt(3), d.D/3)
}

func (d CurvilinearTrapezoid) check() error {
	if err := bounds(d.Lo, d.Hi); err != nil {
		return err
	}
	if !(d.D >= 0 && 2*d.D <= d.Hi-d.Lo) {
		return fmt.Errorf("inexact limits: ±%g does not fit in a width of %g", d.D, d.Hi-d.Lo)
	}
	return nil
}

func mid(lo, hi float64) float64  { return lo + (hi-lo)/2 }
func half(lo, hi float64) float64 { return (hi - lo) / 2 }

// bounds refuses limits that are not finite or in the wrong order.
func bounds(lo, hi float64) error {
	if err := finite(lo, hi, hi-lo); err != nil {
		return err
	}
	if lo > hi {
		return fmt.Errorf("lower limit %g is above upper limit %g", lo, hi)
	}
	return nil
}
