package heat

import (
	"errors"
	"fmt"
	"math"
)

// Where says which rung a temperature was measured at.
type Where int

// The rungs that a thermometer reaches.
const (
	AtBase Where = iota
	AtCase
)

// Calibrate finds the factor with which the ladder passes through a measured
// temperature of its sink or case at a power. Whatever factor the ladder has
// makes no difference. It fails where no factor can: when the point is no
// warmer than the air, or when the board alone would carry the heat away.
func (l *Ladder) Calibrate(where Where, celsius, power float64, in Surroundings) (float64, error) {
	if err := in.Check(); err != nil {
		return 0, err
	}
	switch {
	case l.Sink == nil:
		return 0, errors.New("calibrate: there is no sink to calibrate")
	case !(power > 0):
		return 0, fmt.Errorf("calibrate: a power of %g W warms nothing", power)
	case !(celsius > math.Max(in.Air, in.Walls)):
		return 0, fmt.Errorf("calibrate: %.1f °C is not above the air's %.1f °C", celsius, in.Air)
	}
	base := celsius
	var up float64
	if where == AtCase {
		down := 0.0
		if l.board != nil {
			down = l.board.loss(celsius, in)
		}
		if up = power - down; up <= 0 {
			return 0, fmt.Errorf("calibrate: the board as described carries away %.2f W at %.1f °C, more than the %.2f W there are", down, celsius, power)
		}
		f := func(t float64) float64 { return t + up*(l.between(up, t-in.Air)+l.Interface) - celsius }
		low := math.Max(in.Air, in.Walls)
		if f(low+1e-6) > 0 {
			return 0, fmt.Errorf("calibrate: the interface as described takes the whole rise of %.1f K", celsius-in.Air)
		}
		var err error
		if base, err = root(f, low+1e-6, celsius); err != nil {
			return 0, fmt.Errorf("calibrate: %w", err)
		}
	} else {
		rise := celsius - in.Air
		f := func(up float64) float64 {
			down := 0.0
			if l.board != nil {
				down = l.board.loss(celsius+up*(l.between(up, rise)+l.Interface), in)
			}
			return up + down - power
		}
		if f(1e-9) >= 0 {
			return 0, fmt.Errorf("calibrate: the board as described carries away more than the %.2f W there are", power)
		}
		var err error
		if up, err = root(f, 1e-9, power); err != nil {
			return 0, fmt.Errorf("calibrate: %w", err)
		}
	}
	factor := up / l.Sink.Loss(base, in).Total()
	if !(factor > 0.01 && factor < 100) {
		return 0, fmt.Errorf("calibrate: a factor of %.3g on the heat: power, temperature or the sink's description is wrong", factor)
	}
	return factor, nil
}
