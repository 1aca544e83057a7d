package web

import (
	"math"
	"slices"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// zeroSlots are the zeros that the board's taps need: one for each clamp and
// range, one for each resistor. A meter in series has its zero in its accuracy
// line.
func (o *order) zeroSlots(v *visit) []*wanted {
	var out []*wanted
	add := func(s *wanted) {
		for _, x := range out {
			if x.Rail == s.Rail && x.Tap == s.Tap && x.Instrument == s.Instrument && x.Range == s.Range {
				return
			}
		}
		s.visit, s.Kind = v, notebook.Zero
		out = append(out, s)
	}
	for _, r := range o.rails() {
		for _, t := range r.Taps {
			switch t.Kind {
			case study.TapSeries:
			case study.TapClamp:
				add(&wanted{Instrument: t.Instrument, Range: t.Range})
			default:
				add(&wanted{Rail: r.Name, Tap: t.Name})
			}
		}
	}
	return out
}

// stateSlots are what is to be read in one state: current and voltage of every
// rail that was opened, then temperatures and throughput where they were ever
// read in that state. What is only sometimes read stands aside.
func (o *order) stateSlots(v *visit) []*wanted {
	var out []*wanted
	add := func(s wanted) {
		s.visit = v
		out = append(out, &s)
	}
	for _, r := range o.rails() {
		for _, t := range r.Taps {
			add(wanted{Kind: notebook.Current, Rail: r.Name, Tap: t.Name})
			if t.Kind == study.TapClamp {
				add(wanted{Kind: notebook.Current, Rail: r.Name, Tap: t.Name, Back: true, Aside: true})
			}
		}
		add(wanted{Kind: notebook.Voltage, Rail: r.Name, Aside: len(r.Taps) == 0})
	}
	named, moved := o.alsoRead(v.State)
	for _, x := range named {
		add(wanted{Kind: notebook.Temperature, Name: x.name, Aside: !x.here})
	}
	add(wanted{Kind: notebook.Throughput, Aside: !moved})
	return append(out, o.noteSlots(v)...)
}

// noteSlots are the notes that a step may have: one to the whole of it, and one to
// each rail.
func (o *order) noteSlots(v *visit) []*wanted {
	out := []*wanted{{visit: v, Kind: notebook.Note, Aside: true}}
	for _, r := range o.rails() {
		out = append(out, &wanted{visit: v, Kind: notebook.Note, Rail: r.Name, Aside: true})
	}
	return out
}

// rails are the board's rails and then its inputs.
func (o *order) rails() []*study.Rail {
	return append(slices.Clone(o.board.Rails), o.board.Inputs...)
}

// temperature is one that was read somewhere in the study; here: in the state at
// hand.
type temperature struct {
	name string
	here bool
}

// alsoRead tells which temperatures were read in the study, and whether a
// throughput was ever read in a state. Where no temperature was read yet the
// chip's is proposed.
func (o *order) alsoRead(state string) (temperatures []temperature, throughput bool) {
	for _, x := range o.record.Study.Sittings {
		for _, st := range x.Steps {
			for _, t := range st.Temperatures {
				i := slices.IndexFunc(temperatures, func(k temperature) bool { return k.name == t.Name })
				if i < 0 {
					i = len(temperatures)
					temperatures = append(temperatures, temperature{name: t.Name})
				}
				temperatures[i].here = temperatures[i].here || st.State == state
			}
			throughput = throughput || st.State == state && st.Throughput != nil
		}
	}
	if len(temperatures) == 0 {
		temperatures = []temperature{{name: "chip"}}
	}
	return temperatures, throughput
}

// tap is the tap that a slot is read at; nil where it is none.
func (o *order) tap(s *wanted) (*study.Rail, *study.Tap) {
	r := o.board.Rail(s.Rail)
	if r == nil {
		if s.Instrument == "" {
			return nil, nil
		}
		for _, r := range o.rails() {
			for _, t := range r.Taps {
				if t.Instrument == s.Instrument && (s.Range == "" || t.Range == s.Range) {
					return r, t
				}
			}
		}
		return nil, nil
	}
	if s.Kind == notebook.Voltage {
		return r, nil
	}
	return r, r.Tap(s.Tap)
}

// unit is what is read at a slot.
func (o *order) unit(s *wanted) quantity.Unit {
	switch s.Kind {
	case notebook.Temperature:
		return quantity.Celsius
	case notebook.Throughput:
		return quantity.BytePerSecond
	case notebook.Note:
		return quantity.None
	case notebook.Current, notebook.Zero:
		if _, t := o.tap(s); t != nil {
			return t.Shows()
		}
	}
	return quantity.Volt
}

// meter is what shows the reading, and the range it is set to where the plan
// names one.
func (o *order) meter(s *wanted) (in *study.Instrument, fixed *study.Range) {
	name, rng := "", ""
	switch s.Kind {
	case notebook.Temperature:
		name = o.sitting.Thermometer
	case notebook.Voltage:
		name = o.sitting.VoltageMeter
	case notebook.Current, notebook.Zero:
		name = o.sitting.CurrentMeter
		if _, t := o.tap(s); t != nil && t.Kind == study.TapSeries {
			name, rng = t.Instrument, t.Range
		} else if t != nil && t.Meter != "" {
			name, rng = t.Meter, t.MeterRange
		}
	}
	if in = o.record.Study.Instrument(name); in == nil {
		return nil, nil
	}
	if rng != "" {
		fixed = in.Range(rng)
	}
	return in, fixed
}

// ranges lists the ranges of a meter that show a unit.
func ranges(in *study.Instrument, u quantity.Unit) []*study.Range {
	var out []*study.Range
	if in == nil {
		return nil
	}
	for _, r := range in.Ranges {
		if r.Measures == u {
			out = append(out, r)
		}
	}
	return out
}

// expected is the range a meter will be on: the one the plan names, else the
// smallest that holds what was read at the same place last, else the smallest.
func (o *order) expected(s *wanted) *study.Range {
	in, fixed := o.meter(s)
	if fixed != nil || in == nil {
		return fixed
	}
	u := o.unit(s)
	x := 0.0
	if s.Kind == notebook.Voltage {
		if r := o.board.Rail(s.Rail); r != nil {
			x = r.Nominal.Value()
		}
	} else if e := o.last(s); e != nil {
		x = math.Abs(e.Value())
	}
	return sensing.SmallestRange(in, u, x)
}

// last is what was read at the tap of a slot most recently on this board; nil
// when nothing was.
func (o *order) last(s *wanted) *quantity.Entry {
	r, t := o.tap(s)
	if t == nil {
		return nil
	}
	var out *quantity.Entry
	for _, x := range o.record.Study.Sittings {
		if x.Board != o.board.Name {
			continue
		}
		for _, st := range x.Steps {
			if rr := st.Reading(r.Name); rr != nil {
				for _, c := range rr.Current {
					if r.Tap(c.Tap) == t && len(c.Reading.Values) > 0 {
						out = &c.Reading.Entry
					}
				}
			}
		}
	}
	return out
}

// bare is the unit of figures that are typed without one: that of the meter's
// range as the meter shows it, and volts for the voltage of a rail.
func (o *order) bare(s *wanted) string {
	u := o.unit(s)
	switch s.Kind {
	case notebook.Voltage, notebook.Temperature:
		return u.Symbol()
	case notebook.Throughput:
		return "MB/s"
	case notebook.Note:
		return ""
	}
	if r := o.expected(s); r != nil {
		return rangeUnit(r)
	}
	if u == quantity.Volt {
		return "mV"
	}
	return u.Symbol()
}

// rangeUnit is the unit that a meter shows on a range: "mV" on one up to 500 mV.
func rangeUnit(r *study.Range) string {
	if to := sensing.Limit(r); !math.IsInf(to, 0) && to > 0 {
		words := strings.Fields(quantity.Format(to*0.999, r.Measures, 3))
		return words[len(words)-1]
	}
	return r.Measures.Symbol()
}

// read understands what was typed into a slot. Figures without a unit that
// cannot be in the expected one, because the meter does not reach so far or the
// rail has a thousandth of it, are taken in thousandths: 953 for a rail of
// 0.95 V is 953 mV. bare is the unit that was taken.
func (o *order) read(s *wanted, text string) (e quantity.Entry, bare string, err error) {
	u := o.unit(s)
	bare = o.bare(s)
	e, err = quantity.Parse(text, u, bare)
	limit, milli := o.reach(s)
	if err != nil || milli == "" {
		return e, bare, err
	}
	if _, written := quantity.Parse(text, u, ""); written == nil {
		return e, bare, nil
	}
	small, err := quantity.Parse(text, u, milli)
	if err == nil && math.Abs(e.Value()) > limit && math.Abs(small.Value()) <= limit {
		return small, milli, nil
	}
	return e, bare, nil
}

// reach is the figure beyond which one without a unit is taken in thousandths;
// milli is empty where that is never done.
func (o *order) reach(s *wanted) (limit float64, milli string) {
	u := o.unit(s)
	if o.bare(s) != u.Symbol() || u != quantity.Volt && u != quantity.Ampere {
		return 0, ""
	}
	if in, _ := o.meter(s); in != nil {
		for _, r := range ranges(in, u) {
			limit = max(limit, sensing.Limit(r))
		}
	}
	if s.Kind == notebook.Voltage {
		if r := o.board.Rail(s.Rail); r != nil && r.Nominal.Value() > 0 && (limit == 0 || limit > 10*r.Nominal.Value()) {
			limit = 10 * r.Nominal.Value()
		}
	}
	if limit == 0 || math.IsInf(limit, 0) {
		return 0, ""
	}
	return limit, "m" + u.Symbol()
}
