package cli

import (
	"fmt"
	"io"
	"strings"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// textWidth is the width that sentences are wrapped to.
const textWidth = 92

// printTally prints the whole tally for a person.
func printTally(w io.Writer, t *tally.Tally, allRails bool) error {
	fmt.Fprint(w, wrap("", t.Study.Question, textWidth), "\n")
	for _, s := range t.Answer() {
		fmt.Fprint(w, wrap("  ", s.String(), textWidth))
	}
	if tally.Measured(t) {
		fmt.Fprint(w, wrap("  ", t.LevelText().String()+".", textWidth))
	}
	for _, b := range t.Boards {
		printTotals(w, b)
		printWarnings(w, b)
	}
	for _, b := range t.Boards {
		for _, s := range b.States {
			if allRails || s == tally.Fullest(b) {
				printRails(w, s)
			}
		}
	}
	printDifferences(w, t)
	printClaimList(w, t)
	printEffects(w, t)
	if err := printBudgets(w, t); err != nil {
		return err
	}
	printUpstream(w, t)
	printSittings(w, t)
	printFindings(w, t)
	return nil
}

func heading(w io.Writer, format string, a ...any) {
	text := fmt.Sprintf(format, a...)
	if isTerminal(w) {
		text = "\033[1m" + text + "\033[0m"
	}
	fmt.Fprintf(w, "\n%s\n", text)
}

func figure(f tally.Figure, u quantity.Unit) string {
	return quantity.FormatU(f.Estimate, f.Expanded, u)
}

func printTotals(w io.Writer, b *tally.Board) {
	heading(w, "Chip power on %s", b.Name)
	if len(b.States) == 0 {
		fmt.Fprintln(w, "  not measured yet")
		return
	}
	var scale []float64
	for _, s := range b.States {
		if s.Complete {
			scale = append(scale, s.Total.Estimate)
		}
	}
	prefix := quantity.Scale(quantity.Watt, scale...)
	tb := newTable("state", "set to", ">power", "sittings")
	if len(b.States[0].State.Levels) == 0 {
		tb = newTable("state", "", ">power", "sittings")
	}
	for _, s := range b.States {
		total := "no total: " + quantity.Join(s.Missing) + " not read"
		if s.Complete {
			total = prefix.FormatU(s.Total.Estimate, s.Total.Expanded)
		}
		var levels, sittings []string
		for _, l := range s.State.Levels {
			levels = append(levels, l.Factor+" "+l.Value)
		}
		for _, tk := range s.Taken {
			sittings = append(sittings, tk.Sitting.Name)
		}
		tb.add(s.State.Name, strings.Join(levels, ", "), total, strings.Join(sittings, ", "))
	}
	tb.print(w)
}

// printWarnings prints what the linear evaluation of a total could not see.
func printWarnings(w io.Writer, b *tally.Board) {
	for _, s := range b.States {
		for _, text := range s.Total.Warnings {
			fmt.Fprint(w, wrap("  ", s.State.Name+": "+text, textWidth))
		}
	}
}

func printRails(w io.Writer, s *tally.State) {
	heading(w, "Rails of %s", s.On())
	tb := newTable("rail", ">voltage", ">current", ">power", "")
	for _, r := range s.Rails {
		var notes []string
		if r.Bound != nil {
			notes = append(notes, "not opened")
		}
		if r.Stands {
			notes = append(notes, "voltage not read")
		}
		if r.Aside {
			notes = append(notes, "does not enter the chip")
		}
		if r.Drawn.Value != r.Current.Value {
			notes = append(notes, "less what hangs on it; "+figure(r.Drawn, quantity.Ampere)+" through the tap")
		}
		current, power := figure(r.Current, quantity.Ampere), figure(r.Power, quantity.Watt)
		if r.Bound != nil {
			current = between(quantity.Ampere)(r.CurrentRange())
			power = between(quantity.Watt)(r.PowerRange())
		}
		tb.add(r.Name, figure(r.Voltage, quantity.Volt), current, power, strings.Join(notes, ", "))
	}
	if s.Complete {
		tb.add("chip", "", "", figure(s.Total, quantity.Watt), "")
	}
	tb.print(w)
}

// between prints the ends of a range with one prefix: "0 to 16.5 mW".
func between(u quantity.Unit) func(lo, hi float64) string {
	return func(lo, hi float64) string {
		p := quantity.Scale(u, lo, hi)
		from := "0"
		if lo != 0 {
			from = p.Number(lo, 2)
		}
		return from + " to " + p.Format(hi, 2)
	}
}

// printBudgets prints what limits the fullest state of each board.
func printBudgets(w io.Writer, t *tally.Tally) error {
	for _, b := range t.Boards {
		s := tally.Fullest(b)
		if s == nil {
			continue
		}
		bud, err := t.StateBudget(s)
		if err != nil {
			return err
		}
		heading(w, "What limits %s: %s", s.On(), figure(s.Total, quantity.Watt))
		fmt.Fprint(w, wrap("  by cause       ", shares(bud.Causes), textWidth))
		fmt.Fprint(w, wrap("  by instrument  ", shares(bud.Instruments), textWidth))
		var rails []string
		for _, r := range bud.Rails {
			if r.Fraction >= leastShare {
				rails = append(rails, fmt.Sprintf("%s %.0f %%", r.Rail, 100*r.Fraction))
			}
		}
		fmt.Fprint(w, wrap("  by rail        ", strings.Join(rails, ", "), textWidth))
	}
	return nil
}

// leastShare is the least part of a variance that is worth a word.
const leastShare = 0.01

func shares(list []gum.Share) string {
	var out []string
	for _, s := range list {
		if s.Fraction < leastShare {
			continue
		}
		name := s.Name
		if name == "" {
			name = "no instrument"
		}
		out = append(out, fmt.Sprintf("%s %.0f %%", name, 100*s.Fraction))
	}
	return strings.Join(out, ", ")
}

func printSittings(w io.Writer, t *tally.Tally) {
	carried := t.Sittings.Carried
	if len(t.Study.Sittings) < 2 && carried == nil {
		return
	}
	heading(w, "Another sitting")
	if carried != nil {
		fmt.Fprint(w, wrap("  ", fmt.Sprintf("Taken over from %s: one standard deviation of %s, %g degrees of freedom.",
			carried.Source(), quantity.Format(carried.SD.Value(), quantity.Watt, 2), carried.DOF), textWidth))
	}
	if !t.Sittings.Assessed && carried != nil {
		fmt.Fprint(w, wrap("  ", "No state was measured in two sittings here; every total has what was taken over.", textWidth))
		return
	}
	if !t.Sittings.Assessed {
		fmt.Fprint(w, wrap("  ", "No state was measured in two sittings: what another day makes of it is not assessed.", textWidth))
		return
	}
	for _, r := range t.Sittings.Repeated {
		fmt.Fprint(w, wrap("  ", fmt.Sprintf("%s: %s in %s than in %s (E_n = %.1f).", r.On,
			r.HowMuch(), r.Second.Name, r.First.Name, r.En), textWidth))
	}
	text := "The readings explain that; nothing was added for the sitting."
	if t.Sittings.SD > 0 {
		text = fmt.Sprintf("Beyond what the readings explain, a sitting shifts all totals by %s (one standard deviation, %s). This is in the intervals of totals and differences, but not of single rails: which rail it falls on is not known.",
			quantity.Format(t.Sittings.SD, quantity.Watt, 2), degrees(t.Sittings.DOF))
	}
	fmt.Fprint(w, wrap("  ", text, textWidth))
}

// degrees counts degrees of freedom in words.
func degrees(dof float64) string {
	if dof == 1 {
		return "1 degree of freedom"
	}
	return fmt.Sprintf("%.0f degrees of freedom", dof)
}

func printFindings(w io.Writer, t *tally.Tally) {
	if len(t.Findings) == 0 {
		return
	}
	heading(w, "Findings")
	for _, f := range t.Findings {
		place := tally.FindingPlace(f).String()
		if place != "" {
			place += ": "
		}
		fmt.Fprint(w, wrap(fmt.Sprintf("  %-9s ", f.Severity), fmt.Sprintf("%s%s %s", place, f.Text, f.Do), textWidth))
	}
}

func printSimulation(w io.Writer, sim *tally.Simulation) {
	heading(w, "By simulation (%d trials, seed %d)", sim.Trials, sim.Seed)
	tb := newTable("figure", ">linear interval", ">simulated interval", "to two digits")
	for _, f := range sim.Figures {
		agree := "agrees"
		if !f.Validation.Valid {
			agree = "differs"
		}
		p := quantity.Scale(quantity.Watt, f.Linear.Estimate, f.Linear.Expanded)
		interval := func(lo, hi float64) string { return fmt.Sprintf("%s to %s", p.Number(lo, 4), p.Format(hi, 4)) }
		tb.add(f.Name, interval(f.Linear.Lo(), f.Linear.Hi()), interval(f.Simulated.Symmetric.Lo, f.Simulated.Symmetric.Hi), agree)
	}
	tb.print(w)
	fmt.Fprint(w, wrap("  ", "agrees: both ends of the interval match to the second digit of the standard uncertainty (JCGM 101 clause 8). differs: trust the simulated interval; the linear one takes every result for normal or Student t.", textWidth))
	for _, s := range sim.Warnings {
		fmt.Fprint(w, wrap("  ", s, textWidth))
	}
}
