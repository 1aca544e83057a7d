package report

import (
	"fmt"
	"math"
	"slices"

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

func (a *assembler) method() *methodView {
	v := &methodView{StaleAt: "30" + noBreak + "minutes"}
	if e := a.t.Study.StaleZero; e != nil {
		v.StaleAt = firm(written(*e))
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
			inputs = append(inputs, r.Name+" ("+nominalText(r)+")")
		}
		mb.Inputs = prose(quantity.Join(inputs))
		v.Boards = append(v.Boards, mb)
	}
	return v
}

func (a *assembler) methodRail(v *methodView, r *study.Rail) methodRail {
	m := methodRail{Name: r.Name, Nominal: nominalText(r), Feed: string(r.Feed), Note: prose(r.Note)}
	if m.Feed == "" {
		m.Feed = "not said"
	}
	m.Feed += converterText(r)
	if isBounded(r) {
		m.Feed = "not opened"
		m.Taps, m.Loops = []string{"none; known to lie in " + inWords(*r.Bound)}, []string{"none"}
	}
	for _, t := range r.Taps {
		v.Clamp = v.Clamp || t.Kind == study.TapClamp
		v.Resist = v.Resist || slices.Contains([]study.TapKind{study.TapShunt, study.TapSense, study.TapInductor}, t.Kind)
		v.Series = v.Series || t.Kind == study.TapSeries
		v.Winding = v.Winding || t.Winding != nil
		m.Taps = append(m.Taps, tapText(t))
		if t.Loop != nil {
			m.Loops = append(m.Loops, loopText(*t.Loop))
		}
	}
	if r.From != nil {
		v.Hangs = true
		m.Note = sentence(m.Note, "Hangs on "+r.From.Rail+throughText(r.From.Through)+".")
	}
	if r.Aside {
		m.Note = sentence(m.Note, "Does not enter the chip.")
	}
	for _, o := range r.Others {
		v.Hangs = true
		m.Note = sentence(m.Note, "Also feeds "+o.Part+", "+inWords(o.Draws)+".")
	}
	return m
}

// converterText says what makes the rail: " of a buck converter".
func converterText(r *study.Rail) string {
	switch {
	case r.Converter == "":
		return ""
	case r.Converter == study.Linear:
		return " after a linear regulator"
	case r.Feed == study.InductorLeg:
		return " of a " + string(r.Converter) + " converter"
	}
	return " after a " + string(r.Converter) + " converter"
}

// throughText says what stands between a rail and the one it hangs on.
func throughText(t study.Through) string {
	switch t {
	case study.ThroughLinear:
		return " through a linear regulator"
	case study.ThroughConverter:
		return " through a converter"
	}
	return " directly"
}

// sentence adds a sentence to what has been said.
func sentence(said, more string) string {
	if said == "" {
		return more
	}
	return said + " " + more
}

// tapText names a tap: "red clamp, low, 5 turns".
func tapText(t *study.Tap) string {
	text := t.Instrument
	if text == "" {
		text = string(t.Kind)
	}
	if t.Range != "" {
		text += ", " + firm(t.Range)
	}
	if t.Resistor != nil {
		text += " " + firm(written(t.Resistor.Resistance))
	}
	if t.Kind == study.TapClamp {
		text += ", " + count(max(1, t.Turns), "turn")
	}
	if t.Reversed {
		text += ", reversed"
	}
	if t.Meter != "" {
		text += ", read by " + t.Meter
		if t.MeterRange != "" {
			text += " " + firm(t.MeterRange)
		}
	}
	if t.Name != "" {
		text = t.Name + ": " + text
	}
	return text
}

// loopText is a loop's wire, and its resistance, computed where it was not
// measured.
func loopText(w quantity.Wire) string {
	ohms := sensing.LoopResistance(w)
	if w.Resistance != nil || math.IsNaN(ohms) || math.IsInf(ohms, 0) {
		return firm(w.String())
	}
	return fmt.Sprintf("%s (about %s)", firm(w.String()), amount(ohms, quantity.Ohm, 2))
}
