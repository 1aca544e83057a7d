package report

import (
	"math"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// openState is one total, opened to its rails.
type openState struct {
	ID, Name, Board string
	Levels          []string // "load: copy"
	Note            string
	Total           string // stated, or why there is none
	Complete        bool
	Interval        string // how ± came about: k, degrees of freedom
	From            string // in which sittings it was measured
	Warnings        []string
	Volt, Amp, Watt string // units of the columns
	Sum             *cell
	Missing         string
	Rails           []*openRail
	Shares          *shares
	Inputs          []string // supplies upstream, read as a cross-check
}

// openRail is one rail of a state, opened to its readings.
type openRail struct {
	ID, Name, Of            string // Of: board and state
	Nominal                 string
	Voltage, Current, Power *cell
	Marks                   string // "not opened, nominal"
	Stated                  string // power, for the line that opens
	Readings                []reading
	Turns                   bool // any of them was taken with a clamp
	Corrections             []string
	Shares                  *shares
}

func (a *assembler) open(s *tally.State) (*openState, error) {
	v := &openState{
		ID: a.stateID(s), Name: s.State.Name, Board: s.Board.Name, Note: a.prose(s.State.Note),
		Complete: s.Complete, From: a.takenIn(s),
	}
	for _, l := range s.State.Levels {
		v.Levels = append(v.Levels, l.Factor+": "+l.Value)
	}
	volts, amps, watts := a.columnsOf(s)
	v.Volt, v.Amp, v.Watt = volts.Symbol(), amps.Symbol(), watts.Symbol()
	for _, r := range s.Rails {
		o, err := a.openRail(s, r)
		if err != nil {
			return nil, err
		}
		o.Voltage = volts.add(r.Voltage)
		if isBounded(r.Rail) {
			o.Current = amps.between(bound(r.Rail))
		} else {
			o.Current = amps.add(r.Current)
		}
		o.Power = a.power(watts, r)
		o.Stated = a.stated(r.Power, quantity.Watt)
		if o.Power.Words != "" {
			o.Stated = a.spaced(o.Power.Words + " " + v.Watt)
		}
		v.Rails = append(v.Rails, o)
	}
	if err := a.sum(v, s, watts); err != nil {
		return nil, err
	}
	var err error
	if v.Inputs, err = a.inputs(s); err != nil {
		return nil, err
	}
	volts.align()
	amps.align()
	watts.align()
	return v, nil
}

// columnsOf chooses one prefix for each of a state's columns.
func (a *assembler) columnsOf(s *tally.State) (volts, amps, watts *column) {
	var v, i, p []tally.Figure
	for _, r := range s.Rails {
		v, i, p = append(v, r.Voltage), append(i, r.Current), append(p, r.Power)
	}
	if s.Complete {
		p = append(p, s.Total)
	}
	return a.newColumn(quantity.Volt, v...), a.newColumn(quantity.Ampere, i...), a.newColumn(quantity.Watt, p...)
}

// sum states the total, or why there is none.
func (a *assembler) sum(v *openState, s *tally.State, watts *column) error {
	if !s.Complete {
		v.Missing = a.List(s.Missing)
		v.Total = a.say("no total")
		v.Sum = &cell{Words: a.say("no total")}
		return nil
	}
	v.Sum = watts.add(s.Total)
	v.Total = a.stated(s.Total, quantity.Watt)
	v.Interval = a.coverage(s.Total)
	for _, w := range s.Total.Warnings {
		v.Warnings = append(v.Warnings, a.prose(w))
	}
	b, err := a.t.Budget(s.Total)
	if err != nil {
		return err
	}
	v.Shares = a.topShares(a.inputNames(b.Inputs), totalShares, moreInputs)
	return nil
}

// coverage says how the half-width of an interval came about.
func (t tongue) coverage(f tally.Figure) string { return t.coverageIn(f, quantity.Watt) }

func (t tongue) coverageIn(f tally.Figure, unit quantity.Unit) string {
	if f.U == 0 {
		return t.say("nothing that is recorded makes this figure uncertain")
	}
	if f.DOF < 1000 {
		return t.say("standard uncertainty %s, times k\u00a0=\u00a0%.2f with %.0f effective degrees of freedom", t.amount(f.U, unit, 2), f.K, math.Floor(f.DOF))
	}
	return t.say("standard uncertainty %s, times k\u00a0=\u00a0%.2f with effectively unlimited degrees of freedom", t.amount(f.U, unit, 2), f.K)
}

func (a *assembler) takenIn(s *tally.State) string {
	var names []string
	for _, tk := range s.Taken {
		names = append(names, tk.Sitting.Name)
	}
	if len(names) == 1 {
		return a.say("Measured in %s.", names[0])
	}
	return a.say("The mean of %s: %s.", sittingCount(len(names)), names)
}

func (a *assembler) openRail(s *tally.State, r *tally.Rail) (*openRail, error) {
	o := &openRail{ID: a.railID(s, r), Name: r.Name, Of: on(s.On()), Nominal: a.nominalText(r.Rail)}
	o.Marks = strings.Join(a.marks(s, r), ", ")
	var err error
	if o.Readings, err = a.readings(s, r); err != nil {
		return nil, err
	}
	for _, x := range o.Readings {
		o.Turns = o.Turns || x.Turns != ""
	}
	o.Corrections = a.corrections(s, r)
	b, err := a.t.Graph.Budget(r.Power.Value)
	if err != nil {
		return nil, err
	}
	o.Shares = a.topShares(a.inputNames(b), ofRail, moreInputs)
	return o, nil
}

// marks lists what a reader must know of a rail's figures.
func (t tongue) marks(s *tally.State, r *tally.Rail) []string {
	var out []string
	if isBounded(r.Rail) {
		out = append(out, t.say("not opened"))
	}
	if r.Stands || isBounded(r.Rail) && !voltageRead(s, r) {
		out = append(out, t.say("nominal"))
	}
	if r.Aside {
		out = append(out, t.say("does not enter the chip"))
	}
	if r.From != nil {
		out = append(out, t.say("hangs on %s", r.From.Rail))
	}
	return out
}

// voltageRead tells that a rail's voltage was read in any sitting of a state.
func voltageRead(s *tally.State, r *tally.Rail) bool {
	for _, tk := range s.Taken {
		for _, i := range tk.Steps {
			if rr := tk.Sitting.Steps[i].Reading(r.Name); rr != nil && rr.Voltage != nil {
				return true
			}
		}
	}
	return false
}

// fed lists what a rail feeds beside the chip.
func (t tongue) fed(b *study.Board, r *study.Rail) []string {
	var out []string
	for _, c := range b.Rails {
		if c.From != nil && c.From.Rail == r.Name {
			out = append(out, c.Name)
		}
	}
	for _, o := range r.Others {
		out = append(out, o.Part+" ("+t.inWords(o.Draws)+")")
	}
	return out
}
