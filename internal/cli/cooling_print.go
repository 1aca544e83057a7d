package cli

import (
	"fmt"
	"io"

	"railtally/internal/cooling"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// printCooling prints what was found about the cooling for a person.
func printCooling(w io.Writer, c *cooling.Cooling, trials map[string]*cooling.Trial) error {
	fmt.Fprint(w, wrap("", c.Tally.Study.Question, textWidth), "\n")
	if len(c.Boards) == 0 {
		fmt.Fprint(w, wrap("  ", "No temperature was read, and nothing is said of cooling: write temperatures beside the readings of a state, and a section cooling; docs/study-file.md tells how.", textWidth))
		return nil
	}
	answers := make([][]cooling.Answer, len(c.Boards))
	for i, b := range c.Boards {
		var err error
		if answers[i], err = c.Answers(b); err != nil {
			return err
		}
		for _, a := range answers[i] {
			if a.Question == "passive" {
				fmt.Fprint(w, wrap("  ", a.Text.String(), textWidth))
				printRests(w, a)
			}
		}
	}
	fmt.Fprint(w, wrap("  ", c.Tally.LevelText().String()+".", textWidth))
	for i, b := range c.Boards {
		if err := printBoardCooling(w, c, b, answers[i], trials[b.Name]); err != nil {
			return err
		}
	}
	return nil
}

func printBoardCooling(w io.Writer, c *cooling.Cooling, b *cooling.Board, answers []cooling.Answer, trial *cooling.Trial) error {
	if trial != nil {
		printTrial(w, c, b, trial)
	}
	if len(answers) > 1 {
		heading(w, "Margins and other cooling on %s", b.Name)
	}
	said := ""
	for _, a := range answers {
		if a.Question != "passive" { // said at the top
			fmt.Fprint(w, wrap(fmt.Sprintf("  %-12s ", a.Question), a.Text.String(), textWidth))
			if a.Rests.String() != said {
				printRests(w, a)
			}
		}
		said = a.Rests.String()
	}
	if err := printCandidates(w, c, b); err != nil {
		return err
	}
	if err := printHeatPath(w, c, b); err != nil {
		return err
	}
	printTemperatures(w, b)
	printLaws(w, b)
	cautions, err := c.Cautions(b)
	if err != nil {
		return err
	}
	if len(cautions) > 0 {
		heading(w, "Hot surfaces on %s", b.Name)
		for _, s := range cautions {
			fmt.Fprint(w, wrap("  ", s.String(), textWidth))
		}
	}
	if len(b.Findings) > 0 {
		heading(w, "Findings on the cooling of %s", b.Name)
		for _, f := range b.Findings {
			fmt.Fprint(w, wrap(fmt.Sprintf("  %-9s ", f.Severity), f.Text.String()+" "+f.Do.String(), textWidth))
		}
	}
	return nil
}

// printCandidates prints other ways to cool a board, the warmest first, with
// what makes each of them behind --try.
func printCandidates(w io.Writer, c *cooling.Cooling, b *cooling.Board) error {
	list, err := c.Candidates(b)
	if err != nil || len(list) < 2 {
		return err
	}
	heading(w, "Other ways to cool %s, warmest first", b.Name)
	tb := newTable("cooling", ">reaches", ">margin", ">limit kept", "what it is")
	for _, x := range list {
		if x.Worst == nil {
			continue
		}
		margin, kept := "", ""
		if x.Worst.Limited {
			margin, kept = fmt.Sprintf("%+.1f K", x.Worst.Margin), cooling.Percent(x.Worst.Probability).String()
		}
		tb.add(x.Name, exactOr(x.Worst.Temperature, quantity.Celsius), margin, kept, x.What)
	}
	tb.print(w)
	return nil
}

// printRests says what an answer rests on.
func printRests(w io.Writer, a cooling.Answer) {
	if !a.Rests.IsZero() {
		fmt.Fprint(w, wrap("    rests on ", a.Rests.String()+".", textWidth))
	}
}

func printTrial(w io.Writer, c *cooling.Cooling, b *cooling.Board, t *cooling.Trial) {
	heading(w, "Tried on %s", b.Name)
	if s := t.Sink; s != nil && s.Fins > 0 {
		fmt.Fprint(w, wrap("  ", fmt.Sprintf("%d fins %.2g mm apart, %.3g mm high and %.2g mm thick, on %.3g by %.3g mm, %s.", s.Fins, 1000*t.Gap,
			1000*s.Height, 1000*s.Thickness, 1000*s.Width, 1000*s.Length, s.Stand), textWidth))
	}
	for _, s := range c.TrialSentences(b, t) {
		fmt.Fprint(w, wrap("  ", s.String(), textWidth))
	}
	for _, s := range t.Doubts {
		fmt.Fprint(w, wrap("  note: ", s, textWidth))
	}
}

func printHeatPath(w io.Writer, c *cooling.Cooling, b *cooling.Board) error {
	h, err := c.Path(b)
	if h == nil || err != nil {
		return err
	}
	heading(w, "Way of the heat on %s at %s", b.Name, exactOr(h.Power, quantity.Watt))
	tb := newTable("rung", ">temperature", ">limit", ">from the rung below")
	for i := len(h.Rungs) - 1; i >= 0; i-- {
		r := h.Rungs[i]
		limit, step := "", ""
		if r.Limited {
			limit = quantity.Format(r.Limit, quantity.Celsius, 3)
		}
		if i > 0 {
			step = figure(h.Steps[i-1], quantity.KelvinPerWatt)
		}
		tb.add(r.Name, exactOr(r.Temperature, quantity.Celsius), limit, step)
	}
	tb.print(w)
	if h.Split {
		text := fmt.Sprintf("By the model %s leave by the sink, %s of them as radiation", quantity.Format(h.Up, quantity.Watt, 2), quantity.Format(h.Radiated, quantity.Watt, 2))
		if h.Down > 0 {
			text += ", and " + quantity.Format(h.Down, quantity.Watt, 2) + " by the board"
		} else {
			text += "; the board was not described, so its share counts as the sink's"
		}
		fmt.Fprint(w, wrap("  ", text+".", textWidth))
	}
	return nil
}

// exactOr prints a figure, also where it was stated exactly.
func exactOr(f tally.Figure, unit quantity.Unit) string {
	if f.Expanded == 0 {
		return quantity.Format(f.Estimate, unit, 3)
	}
	return figure(f, unit)
}

func printTemperatures(w io.Writer, b *cooling.Board) {
	tb := newTable("state", "sitting", ">power", "", ">temperature", ">over the room", ">for this power", "")
	rows := 0
	for _, p := range b.Points {
		for _, r := range p.Readings {
			note := ""
			switch {
			case r.Unsettled != nil:
				note = "not settled"
			case r.Settling != nil && !r.Settling.Settled:
				note = fmt.Sprintf("extrapolated by %.1f K", r.Settling.Remaining)
			case r.Settling != nil:
				note = "settled"
			}
			tb.add(r.On.State, r.Sitting.Name, figure(r.Power, quantity.Watt), p.Name, exactOr(r.Temperature, quantity.Celsius),
				figure(r.Rise, quantity.Kelvin), figure(r.Resistance, quantity.KelvinPerWatt), note)
			rows++
		}
	}
	if rows > 0 {
		heading(w, "Temperatures on %s", b.Name)
		tb.print(w)
	}
}

func printLaws(w io.Writer, b *cooling.Board) {
	tb := newTable("point", ">rise", ">at", ">as power to the", ">known beforehand", ">scatter", "")
	rows := 0
	for _, p := range b.Points {
		if p.Law == nil || p.Kind == study.JunctionPoint && len(p.Readings) == 0 {
			continue
		}
		note := fmt.Sprintf("from %d readings", p.Law.N0)
		if !p.Law.Assessed {
			note += ", scatter assumed"
		}
		tb.add(p.Name, figure(p.Law.Rise, quantity.Kelvin), quantity.Format(p.Law.P0, quantity.Watt, 3), figure(p.Law.Exponent, quantity.None),
			fmt.Sprintf("%.0f %%", 100*p.Law.Beforehand), quantity.Format(p.Law.Scatter, quantity.Kelvin, 2), note)
		rows++
	}
	if rows > 0 {
		heading(w, "How it rises on %s", b.Name)
		tb.print(w)
	}
}
