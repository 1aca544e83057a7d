package web

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// openingFields ask what is known of the place where a rail is opened. The
// checks of the plan use it, and ask for what is missing where it matters.
func openingFields(f *form) []field {
	return []field{
		f.fill(field{Name: "o.side", Label: "Leg of the inductor that is lifted", Kind: "select", Options: options("not said", study.Sides)}),
		f.fill(field{Name: "o.feedback", Label: "The regulator senses its voltage", Kind: "select", Options: options("not said", study.FeedbackPoints), Hint: "Before the loop the chip gets less by the loop's drop; behind it the regulator makes up for it."}),
		f.fill(field{Name: "o.sensing", Label: "Current sensing over the winding", Kind: "select", Options: options("not said", study.WindingSenses), Hint: "A loop inside the taps of that sensing changes what the regulator believes."}),
		f.fill(field{Name: "o.phases", Label: "Phases of the regulator", Mode: "numeric", Hint: "1, or as many as share the rail"}),
		f.fill(field{Name: "o.winding", Label: "Resistance of the winding", Hint: "1.2 mΩ"}),
		f.fill(field{Name: "o.inductor", Label: "Inductance", Hint: "1 µH"}),
		f.fill(field{Name: "o.step", Label: "Largest step of the current", Hint: "2 A, of the chip's own load"}),
		f.fill(field{Name: "o.steptime", Label: "Within", Hint: "1 µs"}),
		f.fill(field{Name: "o.capacitor", Label: "Capacitors at the chip's side", Hint: "22 µF, all of them together"}),
		f.fill(field{Name: "o.load", Label: "At a lower voltage the chip draws", Kind: "select", Options: []option{{Label: "not known"},
			{Value: string(study.SwitchingLoad), Label: "less power, by the square of the voltage (switching)"},
			{Value: string(study.CurrentLoad), Label: "the same current (constant current)"},
			{Value: string(study.ConverterLoad), Label: "the same power (converter)"}}}),
	}
}

// checkFields ask what a rail has to do with others beyond feeding them: that it
// reads another's current once more, or as an input which rails it supplies.
func checkFields(f *form, b *study.Board, self string) []field {
	others := []option{{Label: "no other rail"}}
	if b != nil {
		for _, r := range b.Rails {
			if r.Name != self && r.Checks == "" && len(r.Taps) > 0 {
				others = append(others, option{Value: r.Name, Label: r.Name})
			}
		}
	}
	return []field{
		f.fill(field{Name: "checks", Label: "Reads once more the current of", Kind: "select", Options: others, Hint: "With another sensor, other turns or at another place. The two must agree; only the other is counted."}),
		f.fill(field{Name: "feeds", Label: "An input supplies these rails", Kind: "area", Rows: 2, Hint: "One on each line. Empty: every rail of the board."}),
		f.fill(field{Name: "inputefficiency", Label: "Its converters work with", Hint: "80..95 %, of an input"}),
	}
}

// openingValues fills those fields.
func openingValues(v url.Values, r *study.Rail) {
	v.Set("checks", r.Checks)
	v.Set("feeds", strings.Join(r.Feeds, "\n"))
	v.Set("inputefficiency", entryText(r.Efficiency))
	o := r.Opening
	if o == nil {
		return
	}
	v.Set("o.side", string(o.Side))
	v.Set("o.feedback", string(o.Feedback))
	v.Set("o.sensing", string(o.Sensing))
	v.Set("o.load", string(o.Load))
	if o.Phases > 0 {
		v.Set("o.phases", strconv.Itoa(o.Phases))
	}
	for name, e := range map[string]*quantity.Entry{"o.winding": o.Winding, "o.inductor": o.Inductor, "o.step": o.Step, "o.steptime": o.StepTime, "o.capacitor": o.Capacitor} {
		v.Set(name, entryText(e))
	}
}

// readOpening understands what is known of the opening; nil: nothing.
func readOpening(f *form, feed study.Feed) *study.Opening {
	o := &study.Opening{
		Side: study.Side(f.Raw("o.side")), Feedback: study.FeedbackPoint(f.Raw("o.feedback")),
		Sensing: study.WindingSense(f.Raw("o.sensing")), Load: study.Load(f.Raw("o.load")),
	}
	if text := f.Text("o.phases", false); text != "" {
		var err error
		if o.Phases, err = strconv.Atoi(text); err != nil || o.Phases < 1 || o.Phases > 32 {
			f.Fault("o.phases", "this is no number of phases", "1 to 32")
		}
	}
	for _, x := range []struct {
		to   **quantity.Entry
		name string
		unit quantity.Unit
		bare string
	}{{&o.Winding, "o.winding", quantity.Ohm, "mΩ"}, {&o.Inductor, "o.inductor", quantity.Henry, "µH"}, {&o.Step, "o.step", quantity.Ampere, "A"},
		{&o.StepTime, "o.steptime", quantity.Second, "µs"}, {&o.Capacitor, "o.capacitor", quantity.Farad, "µF"}} {
		*x.to = written(f.Quantity(x.name, x.unit, x.bare))
	}
	if o.Side != "" && feed != study.InductorLeg {
		f.Fault("o.side", "only an inductor has such legs", "opened at: inductor leg, or leave this open")
	}
	if (o.Step == nil) != (o.StepTime == nil) && f.fault("o.step") == nil && f.fault("o.steptime") == nil {
		f.Fault("o.step", "a step and its time go together", "2 A within 1 µs")
	}
	if *o == (study.Opening{}) {
		return nil
	}
	return o
}

// readChecks understands what a rail has to do with others.
func readChecks(f *form, rail *study.Rail, input bool, b *study.Board) {
	rail.Checks, rail.Feeds, rail.Efficiency = f.Raw("checks"), nil, nil
	if rail.Checks != "" {
		rail.Aside = true // or the same current would count twice
	}
	for line := range strings.Lines(f.Raw("feeds")) {
		if name := strings.Join(strings.Fields(line), " "); name != "" {
			rail.Feeds = append(rail.Feeds, name)
		}
	}
	rail.Efficiency = written(f.Quantity("inputefficiency", quantity.None, "%"))
	if !input && (len(rail.Feeds) > 0 || rail.Efficiency != nil) {
		f.Fault("feeds", "only an input of the board says which rails it supplies", "tick that the rail is an input, or leave this empty")
	}
	if b == nil {
		return
	}
	var names []string
	for _, r := range b.Rails {
		names = append(names, r.Name)
	}
	for _, name := range rail.Feeds {
		if !slices.Contains(names, name) {
			f.Fault("feeds", "the board has no rail called "+name, strings.Join(names, ", "))
		}
	}
}
