package notebook

import (
	"fmt"
	"time"

	"railtally/internal/quantity"
)

// Kind is what an entry records.
type Kind string

// The kinds of entry.
const (
	Step        Kind = "step"        // a halt in the order of work begins; other entries belong to it
	Zero        Kind = "zero"        // a reading with no current
	Current     Kind = "current"     // what was read at one tap
	Voltage     Kind = "voltage"     // what was read at one rail
	Temperature Kind = "temperature" // what was read of one temperature
	Throughput  Kind = "throughput"  // what the load moved
	Note        Kind = "note"        // free text to a step, or to one rail in it
)

// Kinds lists the kinds of entry.
var Kinds = []Kind{Step, Zero, Current, Voltage, Temperature, Throughput, Note}

// Content is what an entry says. Which fields matter depends on its kind:
//
//	step         State (empty: zeros only), At
//	zero         Instrument and Range, or Rail and Tap; and what was read
//	current      Rail, Tap, Back; and what was read
//	voltage      Rail, FeedSide; and what was read
//	temperature  Name; and what was read
//	throughput   Text, Unit, Bare
//	note         Text, and Rail when it is about one
//
// "What was read" is Text, Unit, Bare, Meter and MeterRange.
type Content struct {
	Kind Kind
	// Step is the first row of the step that the entry belongs to; 0 for a step.
	Step int64

	State string
	At    time.Time // clock on the wall, as UTC like all times of a study; zero: not recorded

	Rail, Tap         string
	Instrument, Range string
	Name              string
	Back              bool // the wire was threaded the other way
	FeedSide          bool // read before the loop

	Text string        // exactly as typed
	Unit quantity.Unit // what is read: Volt, Ampere, Celsius, BytePerSecond
	Bare string        // the unit of figures written without one, "mV"; empty: a unit had to be written

	Meter, MeterRange string // empty: as the tap or the sitting says

	// From says which window of which trace was taken; empty: read off a display. WithVoltage is a part, as in
	// "(-0.12 ± 0.01) % (k=1, 85 dof)", of a current that was logged together with the voltage; see
	// study.TapReading.
	From        string
	WithVoltage string
}

// Entry is one row of the log of a sitting.
type Entry struct {
	Row
	Study   int64
	Sitting int64 // first row of the sitting
	Content
}

// Draft is an entry that is not kept yet.
type Draft struct {
	Sitting int64 // first row of the sitting
	// StepKey names the step by its key instead of Content.Step, for a sender
	// that opened the step while the connection was down.
	StepKey string
	// Aside keeps the entry even where another stands already, but withdrawn, so
	// that it is on disk and a person can choose. Otherwise it is refused with
	// Taken.
	Aside bool
	Content
	Origin
}

// Quantity returns what was read, understood. Its text is fit for a study file:
// where figures were typed without a unit it is written anew with one.
func (c *Content) Quantity() (quantity.Entry, error) {
	e, err := quantity.Parse(c.Text, c.Unit, c.Bare)
	if err != nil || c.Bare == "" {
		return e, err
	}
	if _, err := quantity.Parse(c.Text, c.Unit, ""); err != nil {
		e.Text = e.String()
	}
	return e, nil
}

// about says in words what an entry is about.
func (c *Content) about() string {
	switch c.Kind {
	case Step:
		if c.State == "" {
			return "the step of zeros"
		}
		return "the step " + c.State
	case Zero:
		if c.Rail != "" {
			return "the zero of " + joined(c.Rail, c.Tap)
		}
		return "the zero of " + joined(c.Instrument, c.Range)
	case Current:
		if c.Back {
			return "the current of " + joined(c.Rail, c.Tap) + ", threaded back,"
		}
		return "the current of " + joined(c.Rail, c.Tap)
	case Voltage:
		return "the voltage of " + c.Rail
	case Temperature:
		return "the temperature " + c.Name
	case Throughput:
		return "the throughput"
	}
	return joined("the note", c.Rail)
}

// joined puts a space between two words, if there are two.
func joined(a, b string) string {
	if b == "" {
		return a
	}
	return a + " " + b
}

// fault says what keeps an entry from being kept, or nil. Names are not looked
// up here: a plan may change, and study.Check knows it.
func (c *Content) fault() error {
	lacks := func(what string) error { return fmt.Errorf("a %s needs %s", c.Kind, what) }
	if c.Kind == Step {
		if c.Step != 0 || c.Text != "" {
			return fmt.Errorf("a step belongs to no step and holds no text")
		}
		return nil
	}
	switch c.Kind {
	case Zero:
		if (c.Instrument == "") == (c.Rail == "") {
			return lacks("an instrument or a rail")
		}
	case Current, Voltage:
		if c.Rail == "" {
			return lacks("a rail")
		}
	case Temperature:
		if c.Name == "" {
			return lacks("a name")
		}
	case Throughput:
	case Note:
		if c.Text == "" {
			return lacks("a text")
		}
		return nil
	default:
		return fmt.Errorf("no kind of entry is called %q", c.Kind)
	}
	if _, err := unitNamed(c.Unit.Symbol()); err != nil || c.Unit == quantity.None {
		return lacks("a unit")
	}
	if _, err := c.share(); err != nil {
		return err
	}
	_, err := c.Quantity()
	return err
}

// share returns what WithVoltage says, nil when it says nothing.
func (c *Content) share() (*quantity.Entry, error) {
	if c.WithVoltage == "" {
		return nil, nil
	}
	e, err := quantity.Parse(c.WithVoltage, quantity.None, "")
	return &e, err
}

// unitNamed returns the unit that a row names by its symbol.
func unitNamed(symbol string) (quantity.Unit, error) {
	for _, u := range []quantity.Unit{quantity.None, quantity.Volt, quantity.Ampere, quantity.Celsius, quantity.BytePerSecond} {
		if u.Symbol() == symbol {
			return u, nil
		}
	}
	return quantity.None, fmt.Errorf("no entry is read in %q", symbol)
}
