package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/trace/logfile"
)

// logDocument is what is known of a log.
type logDocument struct {
	Format    string
	File      string
	Detection *logfile.Detection
	Summary   *logfile.Summary
	Windows   []logWindow
}

// printLog prints it for a person.
func printLog(w io.Writer, d logDocument, f logFlags) {
	fmt.Fprintf(w, "%s: %d rows, %d channels\n", d.File, d.Summary.Rows, len(d.Summary.Channels))
	heading(w, "How it is read")
	tb := newTable("field", "value", "because")
	for _, x := range d.Detection.Findings {
		why := x.Why
		if x.Ask {
			why = "please check: " + why
		}
		tb.add(x.Field, visible(x.Value), why)
	}
	tb.print(w)
	printPreview(w, d.Detection.Preview(f.rows))
	heading(w, "Channels")
	tb = newTable("channel", ">samples", ">mean", ">from", ">to", ">deviation", "")
	for _, c := range d.Summary.Channels {
		p := quantity.Scale(c.Unit, c.Min, c.Max)
		tb.add(c.Name, fmt.Sprint(c.N), p.Format(c.Mean(), 6), p.Format(c.Min, 5), p.Format(c.Max, 5), p.Format(c.SD(), 2), troubles(c))
	}
	tb.print(w)
	fmt.Fprint(w, wrap("  ", "The deviation is that of single samples; what a mean is worth depends on how samples repeat each other: see --channel.", textWidth))
	printTroubles(w, d.Summary)
	if d.Windows != nil {
		printWindows(w, d, f.column)
	}
}

// visible names characters that a table would swallow.
func visible(s string) string {
	switch s {
	case "\t":
		return "tab"
	case " ":
		return "blanks"
	}
	return s
}

func printPreview(w io.Writer, p logfile.Preview) {
	if len(p.Rows) == 0 {
		return
	}
	heading(w, "First rows")
	head := []string{">line"}
	for _, c := range p.Columns {
		name := c.Name
		if name == "" {
			name = c.Header
		}
		if c.Unit != "" {
			name += ", " + c.Unit
		}
		head = append(head, ">"+name)
	}
	tb := newTable(head...)
	for i, row := range p.Rows {
		cells := append([]string{fmt.Sprint(p.Lines[i])}, row...)
		for len(cells) < len(head) {
			cells = append(cells, "")
		}
		tb.add(cells[:len(head)]...)
	}
	tb.print(w)
}

// troubles names what a channel's statistics leave out.
func troubles(c logfile.ChannelSummary) string {
	var out []string
	if n := c.Overloads(); n > 0 {
		out = append(out, fmt.Sprintf("%d overloads, so the mean is biased", n))
	}
	if c.Missing > 0 {
		out = append(out, fmt.Sprintf("%d missing", c.Missing))
	}
	if n := len(c.Suspects); n > 0 {
		out = append(out, fmt.Sprintf("%d far off the rest", n))
	}
	return strings.Join(out, ", ")
}

func printTroubles(w io.Writer, s *logfile.Summary) {
	lines := s.Notes
	for _, r := range s.Remarks {
		lines = append(lines, fmt.Sprint(r))
	}
	for _, x := range []struct {
		n    int
		what string
	}{
		{s.Short, "rows with too few fields"}, {s.Extra, "rows with too many fields"},
		{s.Unreadable, "cells that could not be read"}, {s.Skipped, "lines left out"},
	} {
		if x.n > 0 {
			lines = append(lines, fmt.Sprintf("%d %s.", x.n, x.what))
		}
	}
	if s.Cut {
		lines = append(lines, "The file ends within a line; that line is left out.")
	}
	if len(lines) == 0 {
		return
	}
	heading(w, "To be known")
	for _, l := range lines {
		fmt.Fprint(w, wrap("  ", l, textWidth))
	}
}

func printWindows(w io.Writer, d logDocument, channel string) {
	heading(w, "Stretches of %s", channel)
	unit := quantity.None
	for _, c := range d.Summary.Channels {
		if c.Name == channel {
			unit = c.Unit
		}
	}
	tb := newTable("", ">from", ">to", ">mean", "", "why")
	for _, x := range d.Windows {
		mean, note := quantity.Format(x.Mean, unit, 5), ""
		if x.Stats != nil {
			r := x.Stats.Reading()
			mean = quantity.FormatU(r.Mean, r.U, unit)
			note = fmt.Sprintf("u; %d samples worth %.0f", r.N, r.Neff)
		}
		why := x.Verdict.Why
		if a := x.Approach; a != nil {
			why = fmt.Sprintf("towards %s with a time constant of %s", quantity.FormatU(a.Final, a.U, unit), quantity.Format(a.Tau, quantity.Second, 3))
		}
		tb.add(string(x.Kind), quantity.Format(x.Start, quantity.Second, 5), quantity.Format(x.End, quantity.Second, 5), mean, note, why)
	}
	tb.print(w)
}

// document is the JSON form.
func (d logDocument) document() map[string]any {
	channels := make([]map[string]any, len(d.Summary.Channels))
	for i, c := range d.Summary.Channels {
		channels[i] = map[string]any{
			"name": c.Name, "unit": c.Unit.Symbol(), "samples": c.N, "missing": c.Missing, "overloads": c.Overloads(),
			"mean": c.Mean(), "min": c.Min, "max": c.Max, "sd": finiteOrNil(c.SD()), "first": c.First, "last": c.Last,
		}
	}
	out := map[string]any{
		"format": d.Format, "file": d.File, "profile": d.Detection.Profile, "findings": d.Detection.Findings,
		"rows": d.Summary.Rows, "cut": d.Summary.Cut, "channels": channels,
	}
	if d.Windows != nil {
		list := make([]map[string]any, len(d.Windows))
		for i, x := range d.Windows {
			list[i] = windowDocument(x)
		}
		out["stretches"] = list
	}
	return out
}

func windowDocument(x logWindow) map[string]any {
	m := map[string]any{"kind": x.Kind, "start": x.Start, "end": x.End, "mean": x.Mean}
	if x.Stats != nil {
		r := x.Stats.Reading()
		m["window"] = map[string]any{
			"from": x.Window.From, "to": x.Window.To, "mean": r.Mean, "u": r.U, "dof": finiteOrNil(r.DOF), "samples": r.N,
			"independent_samples": r.Neff, "u_by_batches": finiteOrNil(x.Stats.Batches.U), "warnings": x.Stats.Warnings,
		}
	}
	if a := x.Approach; a != nil {
		m["approach"] = map[string]any{"final": a.Final, "u": a.U, "tau_s": a.Tau, "seen": a.Seen}
	}
	return m
}

// finiteOrNil keeps NaN and infinities out of JSON, which has none.
func finiteOrNil(x float64) any {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return x
}
