package web

import (
	"fmt"
	"math"

	"railtally/internal/quantity"
	"railtally/internal/report"
)

// sittingEffect opens what another sitting makes of a state.
func (o *resultsOf) sittingEffect() (*openedPage, error) {
	e := o.Tally.Sittings
	v := &openedPage{Title: "The effect of a sitting"}
	if e.Assessed || e.Carried != nil {
		v.Figure = report.Amount(e.SD, quantity.Watt, 2)
		v.Lead = []string{"One standard deviation by which the same state comes out differently in another sitting, for reasons that its readings do not explain. It is one input for each sitting, in every total and in each difference between sittings."}
		v.After = []string{fmt.Sprintf("%.4g degrees of freedom.", e.DOF)}
	} else {
		v.Lead = []string{"Not assessed: no state was measured in two sittings, and nothing is taken over from earlier studies. No interval allows for what another day would change; a difference between boards that were measured on different days may be one between days."}
	}
	for i, b := range e.Boards {
		s := section{Title: b.Board.Name, Lead: []string{report.Prose(fmt.Sprintf("States measured in each of %d sittings: %s. One-way analysis of variance with the sittings as groups (JCGM 100 H.5).", len(b.Sittings), o.names(i)))}}
		t := resultsTable{ID: fmt.Sprintf("sitting-means-%d", i+1), Caption: "Mean of the totals of these states on " + b.Board.Name, Heads: []head{{"Sitting", false}, {"Mean", true}}}
		for k, sit := range b.Sittings {
			t.Rows = append(t.Rows, []resultsCell{words(sit.Name, ""), plain(report.Amount(b.Means[k], quantity.Watt, 5))})
		}
		s.Tables = []resultsTable{t}
		s.After = []string{report.Prose(fmt.Sprintf("The means scatter with a standard deviation of %s; their readings alone would make %s of it. The rest of the variance, with %.4g degrees of freedom, is the sittings' own; below zero it counts as nothing.",
			quantity.Format(math.Sqrt(b.MS), quantity.Watt, 2), quantity.Format(math.Sqrt(b.Explained), quantity.Watt, 2), b.DOF))}
		v.Sections = append(v.Sections, s)
	}
	if c := e.Carried; c != nil {
		s := section{Title: "Taken over", Lead: []string{report.Prose(fmt.Sprintf("From %s: %s with %.4g degrees of freedom.", c.Source(), c.SD.String(), c.DOF))}}
		if e.Assessed {
			s.After = []string{"Its variance is averaged with this study's own, each weighted by its degrees of freedom."}
		}
		v.Sections = append(v.Sections, s)
	}
	v.Sections = append(v.Sections, section{Title: "From earlier studies", Links: []resultsCell{words("Take over what other studies of this notebook found, or stop doing so", o.to("sitting-effect", "take"))}})
	if t, err := o.repeats(); err != nil {
		return nil, err
	} else if len(t.Rows) > 0 {
		v.Sections = append(v.Sections, section{Title: "State by state", Tables: []resultsTable{t}})
	}
	return v, nil
}

// names are the states of one board's analysis.
func (o *resultsOf) names(i int) string {
	var names []string
	for _, s := range o.Tally.Sittings.Boards[i].States {
		names = append(names, s.State.Name)
	}
	return quantity.Join(names)
}

// repeats compares each state that was measured again.
func (o *resultsOf) repeats() (resultsTable, error) {
	e := o.Tally.Sittings
	t := resultsTable{ID: "sitting-repeats", Caption: "The second sitting less the first, by the readings alone", Heads: []head{{"State", false}, {"Difference", true}, {"En", true}, {"Sittings", false}}}
	for _, r := range e.Repeated {
		t.Rows = append(t.Rows, []resultsCell{
			words(r.On.String(), o.to("results", r.On.Board, r.On.State)), plain(watts(r.Difference)), plain(fmt.Sprintf("%.2f", r.En)), words(r.First.Name+"; "+r.Second.Name, ""),
		})
	}
	t.Note = "En is the size of the difference in units of its own ±. Above one, the two sittings differ by more than their readings explain."
	return t, nil
}
