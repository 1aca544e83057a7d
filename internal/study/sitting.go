package study

import (
	"time"

	"railtally/internal/quantity"
)

// Sitting is one unbroken stretch at the bench: one board, one day, one set of
// mountings.
type Sitting struct {
	Name string // unique in the study; made from board and day when not written
	// Named tells that the name was written by a person rather than made.
	Named bool
	Board string
	On    time.Time // start; see Clock
	// Clock tells that On has a time of day, not only a date.
	Clock bool
	Room  *quantity.Entry // °C
	By    string
	Note  string

	// Meters that read voltages and the outputs of clamps and shunts when a tap
	// names no meter of its own, and the thermometer that read temperatures.
	VoltageMeter string
	CurrentMeter string
	Thermometer  string

	Steps []*Step
}

// Step is one halt in the order of work: zeros, or the readings of one state.
type Step struct {
	// At is the time of the step; zero when not recorded.
	At time.Time

	// Zeros were taken at this step, before its readings.
	Zeros []*Zero

	// State is empty when the step holds only zeros.
	State        string
	Rails        []*RailReading
	Temperatures []*Named
	Throughput   *quantity.Entry
	Note         string
}

// Zero is a reading taken with no current, that later readings are corrected
// by. It holds either for every tap on one range of an instrument, or for one
// tap of one rail.
type Zero struct {
	Instrument, Range string // for every tap on that range
	Rail, Tap         string // for one tap only
	Reading           Reading
}

// Reading is what a meter showed.
type Reading struct {
	quantity.Entry
	Meter, Range string // empty: as the tap or the sitting says
	// From says what a reading was taken from that was not read off by eye: the window of a trace. Empty: a
	// display.
	From string
}

// RailReading is what was read for one rail in one state.
type RailReading struct {
	Rail    string
	Current []*TapReading
	// Voltage is nil when none was read; the nominal voltage then stands in, is
	// flagged, and costs its tolerance.
	Voltage *Reading
	// FeedSide tells that the voltage was read before the loop, so that the
	// loop's drop must be taken off.
	FeedSide bool
	Note     string
}

// TapReading is what was read at one tap.
type TapReading struct {
	Tap     string // phase; empty when the rail has one tap
	Reading Reading
	// WithVoltage is what the mean of v·i exceeds the product of their means by, as a part of that product,
	// where voltage and current were logged together; nil where they were not.
	WithVoltage *quantity.Entry
	// Back is the reading with the wire threaded the other way, clamp
	// untouched; half the difference of the two is free of every constant part.
	Back *Reading
}

// Named is a recorded quantity that is not a rail: a temperature.
type Named struct {
	Name    string
	Reading Reading
}

// Reading returns what was read for a rail at this step, or nil.
func (st *Step) Reading(rail string) *RailReading {
	for _, r := range st.Rails {
		if r.Rail == rail {
			return r
		}
	}
	return nil
}
