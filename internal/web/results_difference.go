package web

import (
	"fmt"
	"slices"

	"railtally/internal/quantity"
	"railtally/internal/report"
	"railtally/internal/tally"
)

// difference opens a difference of two states, also one that the study does not
// ask for.
func (o *resultsOf) difference() (*openedPage, error) {
	d, err := o.differenceIn()
	if err != nil {
		return nil, err
	}
	first, second := d.First, d.Second
	asked := slices.Contains(o.Tally.Differences, d)
	v := &openedPage{
		Title: first.On().String() + " less " + second.On().String(), Figure: watts(d.Difference), Verdict: o.parts.Verdict(d),
		Lead: []string{report.Tell(d.Sentence())},
	}
	if len(d.Within) > 0 {
		v.After = append(v.After, "Taken within the sittings in which both states were measured: "+quantity.Join(d.Within)+".")
	}
	if first.Board != second.Board {
		v.After = append(v.After, report.Tell(o.Tally.Specimens(first.Board, second.Board)))
	}
	v.Sections = append(v.Sections, o.judged(d, asked))
	if d.Verdict == tally.NotResolved {
		v.Sections = append(v.Sections, o.settleLater(o.to("settle", first.Board.Name, first.State.Name, second.Board.Name, second.State.Name)))
	}
	limits := section{Title: "What limits it"}
	if limits.Budget, err = o.parts.Difference(d); err != nil {
		return nil, err
	}
	v.Sections = append(v.Sections, limits)
	return v, nil
}

// compared finds a difference that the study asks for, or works it out.
func (o *resultsOf) compared(first, second *tally.State) (*tally.Difference, error) {
	for _, x := range o.Tally.Differences {
		if x.First == first && x.Second == second {
			return x, nil
		}
	}
	return o.Tally.Compare(first, second)
}

// judged says what the verdict rests on, and what this study could have seen.
func (o *resultsOf) judged(d *tally.Difference, asked bool) section {
	s := section{Title: "What may be said"}
	t := resultsTable{ID: "difference-judged", Caption: "How the verdict came about", Heads: []head{{"What", false}, {"Value", false}}}
	add := func(name, value, href string) {
		t.Rows = append(t.Rows, []resultsCell{words(name, href), words(value, "")})
	}
	add(d.First.On().String(), watts(d.First.Total), o.stateHref(d.First))
	add(d.Second.On().String(), watts(d.Second.Total), o.stateHref(d.Second))
	if d.Ratio.Value.Valid() {
		add("First over second", report.Stated(d.Ratio, quantity.None), "")
	}
	add("Smallest difference this study could see", quantity.Format(d.Detectable, quantity.Watt, 2)+", four times in five", "")
	add("Probability of so large a difference were there none", probability(d.P), "")
	if asked && len(o.Tally.Differences) > 1 {
		add(fmt.Sprintf("The same with all %d differences of the study judged together", len(o.Tally.Differences)), probability(d.FamilyP), "")
	}
	if d.Margin > 0 {
		add("Equal within "+quantity.Format(d.Margin, quantity.Watt, 2)+", by two one-sided tests: probability of more than that", probability(d.EqualP), "")
	}
	s.Tables = []resultsTable{t}
	if d.Verdict == tally.Resolved && asked && !d.ResolvedTogether(o.Tally.Level) {
		s.After = append(s.After, "By itself it is resolved; with all differences of the study judged together (Holm) it is not.")
	}
	if !asked {
		s.After = append(s.After, "The study does not ask for this difference. Whoever looks through many will find some that seem resolved by chance: of twenty without any, one at 95 %.")
	}
	return s
}

// probability prints a probability of a test.
func probability(p float64) string {
	if p < 0.0001 {
		return "less than 0.0001"
	}
	return fmt.Sprintf("%.2g", p)
}
