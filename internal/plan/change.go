package plan

import (
	"time"
)

// Kind is what a piece of advice changes.
type Kind string

// The kinds of advice.
const (
	MoreTurns   Kind = "turns"
	OtherSensor Kind = "sensor"
	UseShunt    Kind = "shunt"
	ThreadBoth  Kind = "both ways"
	OpenRail    Kind = "open"
	Calibrate   Kind = "calibrate"
	Spacer      Kind = "spacer"
	OtherMeter  Kind = "meter"
	MoreZeros   Kind = "zeros"
	LastZero    Kind = "closing zero"
	MoreRepeats Kind = "repeats"
	MorePasses  Kind = "passes"
	MoreDays    Kind = "sittings"
)

// change is one thing that could be done differently.
type change struct {
	kind   Kind
	text   string        // "pass the wire of Otter aux 3 times through the blue clamp"
	assume string        // what its effect rests on beyond the record; empty: nothing
	cost   string        // what it costs the rail; empty: nothing
	effort time.Duration // more work than without it
	group  string        // of two changes of one group only one can be made
	apply  func(*variant)
}
