package study

import "railtally/internal/quantity"

// Board is one physical specimen that carries the chip under test.
type Board struct {
	Name  string
	Chip  string // the chip under test, as shown
	Note  string
	Rails []*Rail
	// Inputs are supplies upstream of the rails (the board's connector, a
	// regulator's input) that were read as a cross-check. They are recorded
	// like rails and never counted into the chip's power.
	Inputs []*Rail
}

// Feed is what carries a rail to the chip where it can be opened.
type Feed string

// The feeds a rail can have.
const (
	InductorLeg   Feed = "inductor leg"
	ZeroOhmLink   Feed = "zero-ohm link"
	Bead          Feed = "bead"
	SenseResistor Feed = "sense resistor"
	Wire          Feed = "wire"
)

// Feeds lists the feeds in the order in which they are offered.
var Feeds = []Feed{InductorLeg, ZeroOhmLink, Bead, SenseResistor, Wire}

// Converter is the kind of regulator that makes a rail. It matters where the
// current is taken at the inductor: only a buck's inductor carries the output
// current (charge balance of the output capacitor).
type Converter string

// The converters a rail can have.
const (
	Buck      Converter = "buck"
	Boost     Converter = "boost"
	BuckBoost Converter = "buck-boost"
	Linear    Converter = "linear"
)

// Converters lists the converters in the order in which they are offered.
var Converters = []Converter{Buck, Boost, BuckBoost, Linear}

// Rail is one supply that enters the chip.
type Rail struct {
	Name    string
	Nominal quantity.Entry // volts, with tolerance where it is known

	Feed      Feed      // empty when not said
	Converter Converter // empty when not said

	// Taps sense the current: one, or one for each phase that feeds the rail.
	Taps []*Tap

	// Bound is the current, in amperes, that a rail which was not opened is
	// known to stay within. A rail has either taps or a bound.
	Bound *quantity.Entry

	// From says that this rail hangs on another measured rail, behind that
	// rail's tap, so that its power must not be counted twice.
	From *Supply

	// Others are parts beside the chip that draw from this rail behind its tap.
	Others []*Other

	// Aside marks a rail that was measured but does not itself enter the chip:
	// it only feeds another rail, or another part whose share it measures.
	Aside bool

	// Opening is what is known of the place where the rail is opened; nil: nothing.
	Opening *Opening

	// Checks names a rail whose current this one reads once more, with other
	// turns, another sensor or at another place. The two must agree.
	Checks string

	// Feeds names the rails that an input supplies through its converters, and
	// Efficiency is the band in which those are expected to work. Of inputs only;
	// without Feeds an input supplies every rail.
	Feeds      []string
	Efficiency *quantity.Entry

	Note string
}

// Through is what stands between a parent rail and the rail that hangs on it.
type Through string

// What a rail can hang on its parent through.
const (
	ThroughWire      Through = "wire"      // link, bead, trace: same voltage, same current
	ThroughLinear    Through = "linear"    // linear regulator: same current, plus its own
	ThroughConverter Through = "converter" // switching regulator: same power, divided by its efficiency
)

// Throughs lists them in the order in which they are offered.
var Throughs = []Through{ThroughWire, ThroughLinear, ThroughConverter}

// Supply says which measured rail feeds a rail, and through what.
type Supply struct {
	Rail       string
	Through    Through
	Efficiency *quantity.Entry // of a converter: ratio, single with tolerance or a band
	Own        *quantity.Entry // amperes a linear regulator itself draws; nil: none stated
}

// Other is a part beside the chip that draws from a rail behind its tap.
type Other struct {
	Part  string
	Draws quantity.Entry // amperes: a band, or a value with tolerance
}

// TapKind is the principle by which a tap senses current.
type TapKind string

// The kinds of tap.
const (
	TapClamp    TapKind = "clamp"          // clamp with a voltage output
	TapShunt    TapKind = "shunt"          // resistor put into the rail
	TapSense    TapKind = "sense resistor" // resistor that was on the board already
	TapInductor TapKind = "inductor"       // the inductor's own winding resistance
	TapSeries   TapKind = "series meter"   // meter in series, showing amperes
)

// Tap is how one rail's current is sensed: which sensor, range, turns through
// the jaw, which loop of wire.
type Tap struct {
	Name string // of the phase; empty when the rail has one tap
	Kind TapKind

	Instrument string // clamp, named shunt or series meter; empty for an unnamed resistor
	Range      string // of that instrument
	Turns      int    // passes of the wire through the jaw, at least 1
	Reversed   bool   // the clamp or the leads sit the other way round: the sign is turned

	// Resistor senses the current of an unnamed shunt, sense resistor or
	// inductor. Nil when Instrument names a shunt.
	Resistor *ShuntValue
	// Winding is the temperature, in °C, of an inductor's winding while it was
	// read; Resistor holds at WindingRef.
	Winding    *quantity.Entry
	WindingRef float64

	// Meter and MeterRange read the clamp or resistor; empty: the sitting's
	// meter, and the smallest of its ranges that holds the reading.
	Meter      string
	MeterRange string

	// Loop closes the opened rail again. Nil when nothing was inserted or its
	// size was not recorded.
	Loop *quantity.Wire
}

// Polarity is −1 for a rail of negative voltage, else 1. A current counts as
// positive where the rail delivers power, so that power is Polarity·V·I and a
// reversed clamp shows as a negative current on any rail.
func (r *Rail) Polarity() float64 {
	if r.Nominal.Value() < 0 {
		return -1
	}
	return 1
}

// Rail returns the rail or input of that name, or nil.
func (b *Board) Rail(name string) *Rail {
	for _, r := range b.Rails {
		if r.Name == name {
			return r
		}
	}
	for _, r := range b.Inputs {
		if r.Name == name {
			return r
		}
	}
	return nil
}

// Tap returns the tap of that name, or nil. A rail with one tap answers to the
// empty name.
func (r *Rail) Tap(name string) *Tap {
	for _, t := range r.Taps {
		if t.Name == name || name == "" && len(r.Taps) == 1 {
			return t
		}
	}
	return nil
}
