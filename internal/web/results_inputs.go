package web

import (
	"fmt"
	"slices"

	"railtally/internal/quantity"
	"railtally/internal/report"
	"railtally/internal/tally"
)

// inputs compares what was read before the converters with the rails.
func (o *resultsOf) inputs() (*openedPage, error) {
	v := &openedPage{Title: "Inputs against rails"}
	s := section{ID: "inputs", Title: "Inputs against rails", Lead: []string{"What goes into the converters must at least be what comes out of them: a check that no rail was forgotten, counted twice or read on a wrong scale."}}
	var in, out, rest []tally.Figure
	for _, u := range o.Tally.Upstream {
		in, out, rest = append(in, u.In), append(out, u.Out), append(rest, u.Remainder)
	}
	inUnit, ins := o.parts.Column(quantity.Watt, in...)
	outUnit, outs := o.parts.Column(quantity.Watt, out...)
	restUnit, rests := o.parts.Column(quantity.Watt, rest...)
	t := resultsTable{ID: "inputs-caption", Caption: "Each opens to the readings of the inputs and to the rails", Heads: []head{{"State", false}, {"Efficiency", true}, {"Goes in, " + inUnit, true}, {"Comes out, " + outUnit, true}, {"Left, " + restUnit, true}, {"Questioned", false}}}
	for i, u := range o.Tally.Upstream {
		href := o.to("inputs", i+1)
		eff := "none"
		if u.Efficiency.Value.Valid() {
			eff = report.Percents(u.Efficiency)
		}
		first := words(u.On.String(), href)
		first.Under = u.Sitting.Name + ", " + quantity.Join(u.Inputs)
		fault := u.Fault().String()
		if len(u.Missing) > 0 {
			fault = quantity.Join(u.Missing) + " not read"
		}
		t.Rows = append(t.Rows, []resultsCell{first, plain(eff), number(ins[i], href), number(outs[i], href), number(rests[i], href), words(fault, "")})
	}
	s.Tables = append(s.Tables, t)
	if len(o.Tally.Changes) > 0 {
		s.Tables = append(s.Tables, o.inputChanges())
	}
	v.Sections = []section{s}
	return v, nil
}

// inputChanges compares the change of the inputs between two states of a sitting
// with that of the rails.
func (o *resultsOf) inputChanges() resultsTable {
	var in, out []tally.Figure
	for _, c := range o.Tally.Changes {
		in, out = append(in, c.In), append(out, c.Out)
	}
	inUnit, ins := o.parts.Column(quantity.Watt, in...)
	outUnit, outs := o.parts.Column(quantity.Watt, out...)
	t := resultsTable{ID: "changes-caption", Caption: "What each state adds to the one that draws least: constant errors drop out",
		Heads: []head{{"State", false}, {"Rails over inputs", true}, {"Inputs rise by, " + inUnit, true}, {"Rails rise by, " + outUnit, true}}}
	for i, c := range o.Tally.Changes {
		ratio := "not resolved"
		if c.Ratio.Value.Valid() {
			ratio = report.Percents(c.Ratio)
		}
		first := words(c.To.On.String(), "")
		for k, u := range o.Tally.Upstream {
			if u == c.To {
				first.Href = o.to("inputs", k+1)
			}
		}
		first.Under = "from " + c.From.On.State + ", " + c.To.Sitting.Name
		t.Rows = append(t.Rows, []resultsCell{first, plain(ratio), number(ins[i], ""), number(outs[i], "")})
	}
	return t
}

// input opens one comparison to the readings of the inputs and to the rails.
func (o *resultsOf) input() (*openedPage, error) {
	i, err := o.nth("input", len(o.Tally.Upstream))
	if err != nil {
		return nil, err
	}
	u := o.Tally.Upstream[i]
	v := &openedPage{Up: o.to("inputs"), UpName: "Inputs against rails", Title: u.On.String(), Lead: []string{report.Tell(u.Sentence())}}
	if u.Efficiency.Value.Valid() {
		v.Figure = report.Percents(u.Efficiency)
		v.After = []string{"Efficiency is what comes out through the taps over what goes in. ±: " + report.Interval(u.Efficiency, quantity.None) + "."}
	}
	readings := section{Title: "The inputs"}
	st := o.Tally.State(u.On)
	for _, tk := range st.Taken {
		if tk.Sitting != u.Sitting {
			continue
		}
		for _, rt := range tk.Inputs {
			if !slices.Contains(u.Inputs, rt.Rail.Name) {
				continue
			}
			t, err := o.inputReadings(rt)
			if err != nil {
				return nil, err
			}
			readings.Tables = append(readings.Tables, t)
		}
	}
	rails := section{Title: "The rails behind them"}
	for _, name := range u.Rails {
		href := ""
		if st.Rail(name) != nil {
			href = o.to("results", u.On.Board, u.On.State, name)
		}
		rails.Links = append(rails.Links, words(name, href))
	}
	v.Sections = []section{readings, rails}
	for _, x := range []struct {
		title string
		of    tally.Figure
		unit  quantity.Unit
	}{{"What limits the efficiency", u.Efficiency, quantity.None}, {"What limits what is left", u.Remainder, quantity.Watt}} {
		if !x.of.Value.Valid() {
			continue
		}
		b, err := o.parts.Limits(x.of, x.unit)
		if err != nil {
			return nil, err
		}
		v.Sections = append(v.Sections, section{Title: x.title, Budget: b})
	}
	return v, nil
}

// inputReadings are the readings of one input, with what they come to.
func (o *resultsOf) inputReadings(rt *tally.RailTaken) (resultsTable, error) {
	t := resultsTable{ID: "input-" + fileName(rt.Rail.Name), Caption: rt.Rail.Name, Heads: []head{{"Read", false}, {"Displayed", false}, {"By", false}}}
	for _, vis := range rt.Visits {
		for _, tap := range vis.Taps {
			t.Rows = append(t.Rows, []resultsCell{words("current", ""), words(tap.Reading.Entry.String(), ""), words(tap.Meter, "")})
		}
		if vis.Voltage.Stands {
			t.Rows = append(t.Rows, []resultsCell{words("voltage", ""), words("not read; the nominal voltage stands in", ""), {}})
		} else {
			t.Rows = append(t.Rows, []resultsCell{words("voltage", ""), words(vis.Voltage.Reading.Entry.String(), ""), words(vis.Voltage.Meter, "")})
		}
	}
	v, err := o.Tally.Figure(rt.Voltage)
	if err != nil {
		return t, err
	}
	c, err := o.Tally.Figure(rt.Drawn)
	if err != nil {
		return t, err
	}
	p, err := o.Tally.Figure(rt.Power)
	if err != nil {
		return t, err
	}
	t.Note = fmt.Sprintf("%s and %s after scale, turns, zero and calibration, which is %s.", report.Stated(c, quantity.Ampere), report.Stated(v, quantity.Volt), report.Stated(p, quantity.Watt))
	return t, nil
}
