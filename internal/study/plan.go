package study

import "railtally/internal/quantity"

// Aim is what a study must be able to tell: the widest uncertainty at which a
// total, or a difference of two totals, still answers the question. Aims are
// stated before anything is opened.
type Aim struct {
	Kind           ClaimKind // ClaimTotal or ClaimDifference
	First, Against StateOn   // Against of a difference
	// To is the largest half-width of the interval at the study's level: in
	// watts, or as a part of the total (a total only).
	To   quantity.Entry
	Note string
}

// Expected is what the taps of a rail together are expected to carry, before
// they are read: a guess, or a range that it lies in.
type Expected struct {
	Board, Rail string
	State       string // empty: every state that has no line of its own
	Current     quantity.Entry
	// Scatter is one standard deviation of single readings about their mean, in
	// amperes through the rail; nil: the display is expected to stand still.
	Scatter *quantity.Entry
}

// Side is the leg of an inductor that is lifted.
type Side string

// The two legs of an inductor.
const (
	CapacitorSide Side = "capacitor side"
	SwitchSide    Side = "switch side"
)

// Sides lists them in the order in which they are offered.
var Sides = []Side{CapacitorSide, SwitchSide}

// FeedbackPoint is where a regulator senses the voltage that it holds.
type FeedbackPoint string

// Where it can lie, seen from the regulator.
const (
	BeforeLoop FeedbackPoint = "before the loop"
	BehindLoop FeedbackPoint = "behind the loop"
)

// FeedbackPoints lists them in the order in which they are offered.
var FeedbackPoints = []FeedbackPoint{BeforeLoop, BehindLoop}

// WindingSense says how a regulator that senses its current over the inductor's
// winding does it, seen from the loop.
type WindingSense string

// How the loop can lie to the taps of that sensing.
const (
	NoWindingSense WindingSense = "none"
	LoopInside     WindingSense = "loop inside its taps"
	LoopOutside    WindingSense = "loop outside its taps"
)

// WindingSenses lists them in the order in which they are offered.
var WindingSenses = []WindingSense{NoWindingSense, LoopInside, LoopOutside}

// Load is how what hangs on a rail answers to a lower voltage.
type Load string

// The kinds of load.
const (
	SwitchingLoad Load = "switching"        // power falls with the square of the voltage
	CurrentLoad   Load = "constant current" // with the voltage
	ConverterLoad Load = "converter"        // not at all: the current rises
)

// Loads lists them in the order in which they are offered.
var Loads = []Load{SwitchingLoad, CurrentLoad, ConverterLoad}

// Opening is what is known of the place where a rail is opened. Each part may be
// unknown (empty, nil or 0); what matters and is not said is asked.
type Opening struct {
	Side     Side
	Feedback FeedbackPoint
	Sensing  WindingSense
	Winding  *quantity.Entry // ohms of the inductor's winding
	Inductor *quantity.Entry // henries
	Phases   int             // of the regulator
	// Step is the largest step of the load's current, within StepTime.
	Step, StepTime *quantity.Entry
	Capacitor      *quantity.Entry // farads at the chip's side of the loop
	Load           Load
}

// KnownLoad is a proof: a resistor of known value, put on a rail behind its tap
// in one state and not in another, must add its current to what is read.
type KnownLoad struct {
	Board, Rail   string
	With, Without string         // states
	Resistance    quantity.Entry // ohms, with tolerance
}
