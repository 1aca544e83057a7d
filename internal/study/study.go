package study

import "railtally/internal/quantity"

// Study is one question about one or more boards, with everything recorded to
// answer it.
type Study struct {
	// Question is what the study is to answer, in the tester's words. It is
	// also the study's title.
	Question string
	Note     string

	// Words are the author's own sentences for the answer of the report, in
	// paragraphs with an empty line between them. A figure in them is a reference
	// to a result, as in "{total Otter one-busy}". Empty: the report says what the
	// verdicts say.
	Words string

	// Level is the coverage probability of every interval the study states,
	// 0.95 unless said otherwise.
	Level float64

	// EqualWithin is the power difference, in watts, below which the tester
	// calls two states equal for practical purposes. Nil: no such limit, and no
	// difference will ever be called equal.
	EqualWithin *quantity.Entry

	// StaleZero is the age in seconds beyond which a zero is questioned.
	// Nil: DefaultStaleZero.
	StaleZero *quantity.Entry

	// SittingEffect is what earlier studies found of the effect of a sitting; nil
	// where nothing is carried over.
	SittingEffect *CarriedEffect

	// Rule is how claims are decided that have no rule of their own; nil: a risk
	// of 5 %.
	Rule *Rule

	Instruments []*Instrument
	Boards      []*Board
	Factors     []*Factor
	States      []*State

	// Interactions are the factors whose acting together is estimated. Empty:
	// effects are taken to add up.
	Interactions []*Interaction

	// Comparisons are the differences the study is about. Empty: the tally
	// chooses (states that differ in one factor, and like states across boards).
	Comparisons []Comparison

	// Claims are the statements that the study is to confirm or refute.
	Claims []*Claim

	// Aims are how well the study must know what it asks about, Expected what its
	// rails are expected to carry: what a plan is made from.
	Aims     []*Aim
	Expected []*Expected

	// Work, Order and BothWays are how the work is to be done, where somebody chose
	// it: what the plan predicts from and the bench follows.
	Work     *Work
	Order    []*Turn
	BothWays []*Threaded

	// Proofs are known loads by which the whole chain was tried out.
	Proofs []*KnownLoad

	// Done are the steps of the work without readings that were done or passed over.
	Done []*Tick

	// Cooling says how the chips are cooled, by board, where that is asked.
	Cooling []*Cooling

	Usual    *Usual // nil: nothing is said
	Sittings []*Sitting
}

// DefaultLevel is the coverage probability used when a study names none.
const DefaultLevel = 0.95

// DefaultStaleZero is the age in seconds beyond which a zero is questioned when
// the study sets no limit: half an hour (common practice, no source; clamps
// drift with temperature and remanence over minutes to hours).
const DefaultStaleZero = 1800.0

// Comparison asks for the difference First − Second.
type Comparison struct {
	First, Second StateOn
}

// CarriedEffect is how far, by earlier studies, another sitting moves the chip's
// power: one standard deviation with its degrees of freedom.
type CarriedEffect struct {
	SD   quantity.Entry // watts
	DOF  float64
	From string // which studies, in words
}

// Source says where the effect comes from.
func (c *CarriedEffect) Source() string {
	if c.From == "" {
		return "earlier studies"
	}
	return c.From
}

// StateOn is one state of one board.
type StateOn struct {
	Board, State string
}

// String gives the pair as the text form writes it: "Otter one-busy".
func (s StateOn) String() string { return s.Board + " " + s.State }

// Instrument returns the instrument of that name, or nil.
func (s *Study) Instrument(name string) *Instrument {
	for _, in := range s.Instruments {
		if in.Name == name {
			return in
		}
	}
	return nil
}

// Board returns the board of that name, or nil.
func (s *Study) Board(name string) *Board {
	for _, b := range s.Boards {
		if b.Name == name {
			return b
		}
	}
	return nil
}

// State returns the state of that name, or nil.
func (s *Study) State(name string) *State {
	for _, st := range s.States {
		if st.Name == name {
			return st
		}
	}
	return nil
}
