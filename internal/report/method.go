package report

import (
	"math"
	"slices"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// methodView says how the figures came about.
type methodView struct {
	Boards  []methodBoard
	Clamp   bool // which formulas are needed
	Resist  bool
	Series  bool
	Winding bool
	Hangs   bool
	// Voltages that were read before the loop, or not at all.
	FeedSide, Nominal bool
	StaleAt           string
}

type methodBoard struct {
	Name, ID string
	Rails    []methodRail
	Photos   []photoView
	Inputs   string
}

// methodRail says where a rail was opened and with what it was read.
type methodRail struct {
	Name, Nominal string
	Feed          string
	Taps          []string
	Loops         []string
	Note          string
}

func (a *assembler) method() (*methodView, error) {
	v := &methodView{StaleAt: a.say("30\u00a0minutes")}
	if e := a.t.Study.StaleZero; e != nil {
		v.StaleAt = a.firm(written(*e))
	}
	for _, sit := range a.t.Study.Sittings {
		for _, st := range sit.Steps {
			for _, rr := range st.Rails {
				v.FeedSide = v.FeedSide || rr.FeedSide
				v.Nominal = v.Nominal || rr.Voltage == nil
			}
		}
	}
	for _, b := range a.t.Study.Boards {
		mb := methodBoard{Name: b.Name, ID: a.anchors.part("method", b.Name)}
		for _, r := range b.Rails {
			mb.Rails = append(mb.Rails, a.methodRail(v, r))
		}
		var inputs []string
		for _, r := range b.Inputs {
			inputs = append(inputs, r.Name+" ("+a.nominalText(r)+")")
		}
		mb.Inputs = a.prose(a.List(inputs))
		var err error
		if mb.Photos, err = a.photos(b.Name); err != nil {
			return nil, err
		}
		v.Boards = append(v.Boards, mb)
	}
	return v, nil
}

func (a *assembler) methodRail(v *methodView, r *study.Rail) methodRail {
	m := methodRail{Name: r.Name, Nominal: a.nominalText(r), Feed: word(a.tongue, r.Feed), Note: a.prose(r.Note)}
	if m.Feed == "" {
		m.Feed = a.say("not said")
	}
	m.Feed = a.converterText(m.Feed, r)
	if isBounded(r) {
		m.Feed = a.say("not opened")
		m.Taps, m.Loops = []string{a.say("none; known to lie in %s", a.inWords(*r.Bound))}, []string{a.say("none")}
	}
	for _, t := range r.Taps {
		v.Clamp = v.Clamp || t.Kind == study.TapClamp
		v.Resist = v.Resist || slices.Contains([]study.TapKind{study.TapShunt, study.TapSense, study.TapInductor}, t.Kind)
		v.Series = v.Series || t.Kind == study.TapSeries
		v.Winding = v.Winding || t.Winding != nil
		m.Taps = append(m.Taps, a.tapText(t))
		if t.Loop != nil {
			m.Loops = append(m.Loops, a.loopText(*t.Loop))
		}
	}
	if r.From != nil {
		v.Hangs = true
		m.Note = sentence(m.Note, a.hangsText(r.From))
	}
	if r.Aside {
		m.Note = sentence(m.Note, a.say("Does not enter the chip."))
	}
	for _, o := range r.Others {
		v.Hangs = true
		m.Note = sentence(m.Note, a.say("Also feeds %s, %s.", o.Part, a.inWords(o.Draws)))
	}
	return m
}

// converterText says what makes the rail: "inductor leg of a buck converter".
func (t tongue) converterText(feed string, r *study.Rail) string {
	switch {
	case r.Converter == "":
		return feed
	case r.Converter == study.Linear:
		return t.say("%s after a linear regulator", feed)
	case r.Feed == study.InductorLeg:
		return t.say("%s of a %s converter", feed, phrase.Word(r.Converter))
	}
	return t.say("%s after a %s converter", feed, phrase.Word(r.Converter))
}

// hangsText says which rail a rail hangs on, and what stands between the two.
func (t tongue) hangsText(f *study.Supply) string {
	switch f.Through {
	case study.ThroughLinear:
		return t.say("Hangs on %s through a linear regulator.", f.Rail)
	case study.ThroughConverter:
		return t.say("Hangs on %s through a converter.", f.Rail)
	}
	return t.say("Hangs on %s directly.", f.Rail)
}

// sentence adds a sentence to what has been said.
func sentence(said, more string) string {
	if said == "" {
		return more
	}
	return said + " " + more
}

// tapText names a tap: "red clamp, low, 5 turns".
func (in tongue) tapText(t *study.Tap) string {
	text := t.Instrument
	if text == "" {
		text = word(in, t.Kind)
	}
	if t.Range != "" {
		text += ", " + name(t.Range)
	}
	if t.Resistor != nil {
		text += " " + in.firm(written(t.Resistor.Resistance))
	}
	if t.Kind == study.TapClamp {
		text += ", " + in.tell(phrase.Count(max(1, t.Turns), "one turn", "%s turns"))
	}
	if t.Reversed {
		text += ", " + in.say("reversed")
	}
	if t.Meter != "" {
		meter := t.Meter
		if t.MeterRange != "" {
			meter += " " + name(t.MeterRange)
		}
		text += ", " + in.say("read by %s", meter)
	}
	if t.Name != "" {
		text = t.Name + ": " + text
	}
	return text
}

// loopText is a loop's wire, and its resistance, computed where it was not
// measured.
func (t tongue) loopText(w quantity.Wire) string {
	ohms := sensing.LoopResistance(w)
	if w.Resistance != nil || math.IsNaN(ohms) || math.IsInf(ohms, 0) {
		return t.firm(w.String())
	}
	return t.say("%s (about %s)", t.firm(w.String()), t.amount(ohms, quantity.Ohm, 2))
}
