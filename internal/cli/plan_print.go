package cli

import (
	"fmt"
	"io"
	"math"
	"regexp"

	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// printPlan prints a plan for a person.
func printPlan(w io.Writer, p *plan.Plan, all bool) {
	fmt.Fprint(w, wrap("", p.Study.Question, textWidth), "\n")
	for _, c := range p.Counsels {
		fmt.Fprint(w, wrap("  ", firm(c.Sentence()), textWidth))
	}
	fmt.Fprint(w, wrap("  ", fmt.Sprintf("± is the half-width of the %s coverage interval; %s reads what names no meter.", tally.Percent(p.Study.Level), p.Meter), textWidth))
	if len(p.Questions) > 0 {
		heading(w, "To be found out first")
		for _, q := range p.Questions {
			fmt.Fprint(w, wrap("  ", q.String(), textWidth))
		}
	}
	printAims(w, p)
	for _, c := range p.Counsels {
		printAdvice(w, c)
	}
	for _, b := range p.Boards {
		printOpenings(w, b, all)
	}
	for _, b := range p.Boards {
		printShelf(w, b)
	}
	printOrder(w, p)
}

// halfWidth is a half-width alone, whose number and unit stay on one line.
var halfWidth = regexp.MustCompile(`±([0-9]\S*) (\S)`)

func firm(text string) string { return halfWidth.ReplaceAllString(text, "±$1\u00a0$2") }

func printAims(w io.Writer, p *plan.Plan) {
	heading(w, "Aims")
	tb := newTable("of", ">expected", ">aim", "", "limited by")
	for _, c := range p.Counsels {
		if !c.Possible() {
			tb.add(c.Target.Name(), "", "", c.Verdict(), "")
			continue
		}
		limits := ""
		if len(c.Causes) > 0 {
			limits = fmt.Sprintf("%s %.0f %%", c.Causes[0].Name, 100*c.Causes[0].Fraction)
		}
		tb.add(c.Target.Name(), figure(c.Figure, quantity.Watt), c.Target.LimitText(c.Figure.Estimate), c.Verdict(), limits)
	}
	tb.print(w)
}

// mostAdvice is how many changes are shown of those that help by themselves.
const mostAdvice = 8

func printAdvice(w io.Writer, c plan.Counsel) {
	if len(c.Alone) == 0 {
		return
	}
	heading(w, "What would help %s, best gain for its effort first", c.Target.Name())
	tb := newTable(">alone", ">together", ">effort", "what")
	together := map[string]plan.Advice{}
	for _, a := range c.Together {
		together[a.Text] = a
	}
	for i, a := range c.Alone {
		t, in := together[a.Text]
		if i >= mostAdvice && !in {
			continue
		}
		both := ""
		if in {
			both = t.Effect()
		}
		text := a.Text
		if a.Cost != "" {
			text += "; " + a.Cost
		}
		if a.Assume != "" {
			text += "; assumed: " + a.Assume
		}
		tb.add(a.Effect(), both, plan.Minutes(a.Effort), text)
	}
	tb.print(w)
	for _, k := range c.Beyond {
		verdict := "does not reach it"
		if k.Reaches {
			verdict = "would reach it"
		}
		fmt.Fprint(w, wrap("  ", fmt.Sprintf("Not on the shelf: %s: ±%s, %s.", k.Name, quantity.Format(k.After, quantity.Watt, 2), verdict), textWidth))
	}
}

func printOpenings(w io.Writer, b *plan.Board, all bool) {
	heading(w, "Opening the rails of %s", b.Name)
	tb := newTable("rail", ">at most", ">added", ">drop", ">of its band", ">warms", "thinnest wire", "longest loop", "")
	for _, r := range b.Rails {
		for _, o := range r.Openings {
			name := r.Name
			if o.Phase != "" {
				name += " " + o.Phase
			}
			if !r.Known {
				tb.add(name, "not said", "", "", "", "", "", "", string(o.Worst()))
				continue
			}
			added, drop, part, rise, thin, long := "", "", "", "", "", ""
			if !math.IsNaN(o.Added) && o.Added > 0 {
				added, drop = quantity.Format(o.Added, quantity.Ohm, 2), quantity.Format(o.Drop, quantity.Volt, 2)
				part = quantity.FormatPercent(o.Drop/o.Band, 2)
			}
			if !math.IsNaN(o.Rise) {
				rise = fmt.Sprintf("%.1f K", o.Rise)
			}
			if o.SmallOK {
				thin = fmt.Sprintf("AWG %d", o.Smallest)
			}
			if o.Longest > 0 {
				long = quantity.Format(o.Longest, quantity.Metre, 2)
			}
			tb.add(name, quantity.Format(o.Current, quantity.Ampere, 3), added, drop, part, rise, thin, long, string(o.Worst()))
		}
		if r.Bound != nil {
			tb.add(r.Name, r.Bound.String(), "", "", "", "", "", "", "not opened")
		}
	}
	tb.print(w)
	for _, k := range b.Remarks(all) {
		fmt.Fprint(w, wrap(fmt.Sprintf("  %-9s ", k.Grade), k.About()+": "+k.Text+" "+k.Do, textWidth))
	}
}

func printShelf(w io.Writer, b *plan.Board) {
	heading(w, "What could read the rails of %s", b.Name)
	tb := newTable("rail", "with", ">shown", "on", ">step", ">rail ±", "")
	for _, r := range b.Rails {
		for i, s := range r.Sensors {
			name, width, note := "", "", s.Why
			if i == 0 {
				name = r.Name
			}
			if s.Width > 0 && !math.IsInf(s.Width, 0) {
				width = quantity.Format(s.Width, quantity.Watt, 2)
			}
			if s.Planned {
				note = "as planned"
				if s.Why != "" {
					note += ": " + s.Why
				}
			}
			tb.add(name, s.Name, quantity.Format(s.Shown, quantity.Volt, 3), s.Range, quantity.Format(s.Least, quantity.Ampere, 2), width, note)
		}
		if k := r.Bounding; k != nil {
			tb.add("", "not opened, 0 to "+quantity.Format(k.Amps, quantity.Ampere, 2), "", "", "", "",
				"the chip's total ± "+quantity.Format(k.Before, quantity.Watt, 2)+" → "+quantity.Format(k.After, quantity.Watt, 2))
		}
	}
	tb.print(w)
}

func printOrder(w io.Writer, p *plan.Plan) {
	all, sittings := p.Takes()
	heading(w, "Order of work (seed %d): %s in all, %s of it measuring", p.Seed, plan.Minutes(all), plan.Minutes(sittings))
	for _, b := range p.Boards {
		fmt.Fprint(w, wrap("  "+b.Name+": ", b.OrderText(), textWidth))
	}
	tb := newTable(">", "board", "phase", ">takes", "what")
	for i, t := range p.Work {
		text := []rune(t.Text)
		if len(text) > 100 {
			text = append(text[:99], '…')
		}
		tb.add(fmt.Sprint(i+1), t.Board, t.Phase, plan.Minutes(t.Takes), string(text))
	}
	tb.print(w)
	fmt.Fprint(w, wrap("  ", "The bench sheet (--sheet FILE) has every step whole, with its cautions and empty fields.", textWidth))
}

func printProofs(w io.Writer, proofs []plan.Proof) {
	if len(proofs) == 0 {
		return
	}
	heading(w, "Trials")
	for _, q := range proofs {
		verdict := "holds"
		if !q.Holds {
			verdict = "fails"
		}
		fmt.Fprint(w, wrap(fmt.Sprintf("  %-6s ", verdict), fmt.Sprintf("%s, %s in %s: %s. %s", q.Board, q.Rail, q.State, q.What, q.Text), textWidth))
	}
}
