package study

import "railtally/internal/quantity"

// Shows returns the unit of what is read at the tap: amperes where a meter is
// in series, volts at every other.
func (t *Tap) Shows() quantity.Unit {
	if t.Kind == TapSeries {
		return quantity.Ampere
	}
	return quantity.Volt
}
