package web

import (
	"slices"
	"strconv"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// title says what is read at a slot, in few words.
func (s *wanted) title() string {
	of := func(name, tap string) string {
		if tap != "" {
			return name + " " + tap
		}
		return name
	}
	switch s.Kind {
	case notebook.Zero:
		if s.Rail != "" {
			return of(s.Rail, s.Tap)
		}
		return of(s.Instrument, s.Range)
	case notebook.Current:
		return of(s.Rail, s.Tap)
	case notebook.Voltage:
		return s.Rail
	case notebook.Temperature:
		return s.Name
	case notebook.Throughput:
		return "throughput"
	}
	if s.Rail != "" {
		return "note on " + s.Rail
	}
	return "note"
}

// what says what kind of reading a slot takes.
func (s *wanted) what() string {
	switch {
	case s.Kind == notebook.Current && s.Back:
		return "current, wire threaded back"
	case s.Kind == notebook.Throughput || s.Kind == notebook.Note:
		return ""
	}
	return string(s.Kind)
}

// how tells the hand what to do for a slot.
func (o *order) how(s *wanted) string {
	r, t := o.tap(s)
	switch {
	case s.Kind == notebook.Zero && s.Instrument != "":
		return "Open " + s.Instrument + " off every wire, close it again, and read what the meter shows."
	case s.Kind == notebook.Zero:
		return "Take the power off, leave the leads where they are, and read what the meter shows."
	case s.Kind == notebook.Current && t != nil:
		text := tapText(t)
		if s.Back {
			text += "; the wire the other way through the jaw, the clamp untouched"
		}
		return text + "."
	case s.Kind == notebook.Voltage && r != nil:
		return "At the chip's side of the loop; " + entryText(&r.Nominal) + " is nominal."
	case s.Kind == notebook.Temperature:
		return "What the thermometer shows once it stands still."
	case s.Kind == notebook.Throughput:
		return "What the load moves."
	}
	if s.Rail != "" {
		return "Anything worth remembering about " + s.Rail + " at this step."
	}
	return "Anything worth remembering about this step."
}

// tapText says how a tap senses: "clamp red clamp low, 5 turns".
func tapText(t *study.Tap) string {
	var parts []string
	add := func(words ...string) {
		parts = append(parts, strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "" }), " "))
	}
	switch {
	case t.Instrument != "" && t.Kind == study.TapSeries:
		add(t.Instrument, t.Range, "in series")
	case t.Instrument != "":
		add(t.Instrument, t.Range)
	case t.Resistor != nil:
		add(string(t.Kind), entryText(&t.Resistor.Resistance))
	default:
		add(string(t.Kind))
	}
	if t.Kind == study.TapClamp && t.Turns > 1 {
		add(strconv.Itoa(t.Turns), "turns through the jaw")
	}
	if t.Reversed {
		add("sits the other way round")
	}
	return strings.Join(parts, ", ")
}

// entryText is a quantity as a person wrote it.
func entryText(e *quantity.Entry) string {
	if e == nil {
		return ""
	}
	if e.Text != "" {
		return e.Text
	}
	return e.String()
}
