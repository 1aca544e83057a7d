package study

import (
	"time"

	"railtally/internal/quantity"
)

// InstrumentKind says what an instrument does with what it senses.
type InstrumentKind string

// The kinds of instrument a study can name.
const (
	// Clamp closes round the wire and gives a voltage in proportion to the
	// current, which a meter reads.
	Clamp InstrumentKind = "clamp"
	// Meter shows a voltage or, in series with the rail, a current.
	Meter InstrumentKind = "meter"
	// Shunt is a resistor of known value whose voltage a meter reads.
	Shunt InstrumentKind = "shunt"
	// Thermometer shows a temperature.
	Thermometer InstrumentKind = "thermometer"
)

// InstrumentKinds lists the kinds in the order in which they are offered.
var InstrumentKinds = []InstrumentKind{Clamp, Meter, Shunt, Thermometer}

// Instrument is a meter, clamp, shunt or thermometer with its specification,
// calibration and limits.
type Instrument struct {
	Name  string
	Kind  InstrumentKind
	Ident string // maker's model and serial number as the tester wants them shown
	Note  string

	// Ranges of a clamp, meter or thermometer. A shunt has none.
	Ranges []*Range

	// Jaw is the width in metres that a clamp's closed jaw leaves for wire; nil
	// when not said.
	Jaw *quantity.Entry

	// Calibration holds for every range that has none of its own.
	Calibration *Calibration

	// Shunt is set for a shunt only.
	Shunt *ShuntValue
}

// Range is one setting of an instrument.
type Range struct {
	Name string

	// Scale of a clamp: amperes through the jaw per volt at its output.
	// Zero for other instruments. Common practice, no source: "1 mV per 10 mA".
	Scale float64

	// Measures is the unit the range shows: Volt, Ampere or Celsius. For a
	// clamp it is Ampere, although what leaves it is a voltage.
	Measures quantity.Unit

	// To is the largest magnitude the range can show or carry, in Measures.
	To *quantity.Entry
	// Digit is one step of the last digit, in Measures; nil when unknown, as
	// for a clamp's analogue output.
	Digit *quantity.Entry
	// Spec is the accuracy line for this range, in Measures; nil when unknown.
	Spec *quantity.Spec
	// TempCo widens the spec outside its window of room temperature.
	TempCo *quantity.TempCo
	// ZeroDrift is how fast the zero may wander, in amperes per second; 0 when
	// not known.
	ZeroDrift float64
	// Position is the error from where the wire lies in the jaw, as a
	// half-width in parts of the reading; 0 when not known.
	Position float64
	// Averages is how long one reading is averaged over, in seconds; nil: not
	// known. Of what shows a reading.
	Averages *quantity.Entry
	// Calibration of this range alone; nil: the instrument's.
	Calibration *Calibration
}

// Calibration is the result of comparing an instrument with a better one.
type Calibration struct {
	On  time.Time // day of the calibration
	Due time.Time // day it is due again; zero when not said
	// Factor is the correction factor: the number by which a reading is
	// multiplied (JCGM 100 B.2.24), with its own uncertainty.
	Factor quantity.Entry
	// Drift is how much the factor may have changed since, as a half-width in
	// parts of the reading; 0 when not said.
	Drift float64
	By    string // who calibrated, as shown
}

// ShuntValue describes a resistor used to sense a current.
type ShuntValue struct {
	Resistance quantity.Entry // ohms, with tolerance
	TempCo     float64        // parts per kelvin, half-width; 0 when not said
	Heating    float64        // kelvins it may warm by when carrying its current; 0 when not said
	EMF        float64        // volts of thermal EMF, half-width; 0 when not said
}

// Range returns the range of that name, or nil. An instrument with a single
// range answers to the empty name too.
func (in *Instrument) Range(name string) *Range {
	if name == "" && len(in.Ranges) == 1 {
		return in.Ranges[0]
	}
	for _, r := range in.Ranges {
		if r.Name == name {
			return r
		}
	}
	return nil
}

// CalibrationOf returns the calibration that holds for a range, or nil.
func (in *Instrument) CalibrationOf(r *Range) *Calibration {
	if r != nil && r.Calibration != nil {
		return r.Calibration
	}
	return in.Calibration
}
