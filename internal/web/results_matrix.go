package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"railtally/internal/chart"
	"railtally/internal/quantity"
	"railtally/internal/report"
	"railtally/internal/tally"
)

// matrix compares each state of a board with each before it.
func (o *resultsOf) matrix() (*openedPage, error) {
	b, i, err := o.board()
	if err != nil {
		return nil, err
	}
	v := &openedPage{Title: b.Name + ", each state against each"}
	s := section{ID: fmt.Sprintf("matrix-%d", i+1), Title: "Each state against each on " + b.Name}
	states := b.Complete()
	if len(states) < 2 {
		s.Lead = []string{"No two states of this board are complete, so there is nothing to compare."}
		v.Sections = []section{s}
		return v, nil
	}
	p, err := o.picture(matrixPicture(o.Tally, i))
	if err != nil {
		return nil, err
	}
	s.Pictures = []savedPicture{p}
	left := len(states) - chart.MostStates
	if left > 0 {
		states = states[:chart.MostStates]
		s.After = append(s.After, fmt.Sprintf("The first %d states of %d. Any two can be compared under “Choose two states” on the results page.", len(states), len(states)+left))
	}
	rows, err := o.Tally.Matrix(states)
	if err != nil {
		return nil, err
	}
	var all []tally.Figure
	for _, row := range rows {
		for _, d := range row {
			all = append(all, d.Difference)
		}
	}
	unit, cells := o.parts.Column(quantity.Watt, all...)
	t := resultsTable{ID: s.ID + "-caption", Caption: b.Name + ": the state of the line less that of the column, " + unit + "; each opens", Heads: []head{{"State", false}}}
	for _, st := range states[:len(states)-1] {
		t.Heads = append(t.Heads, head{st.State.Name, true})
	}
	for k, row := range rows {
		line := []resultsCell{words(states[k].State.Name, o.stateHref(states[k]))}
		for _, d := range row {
			c := number(cells[0], o.differenceHref(d))
			c.Under, cells = report.Tell(d.VerdictText()), cells[1:]
			line = append(line, c)
		}
		t.Rows = append(t.Rows, line)
	}
	s.Tables = []resultsTable{t}
	v.Sections = []section{s}
	return v, nil
}

// rails is what each state of a board is made of, where that is too much for
// the page of all results.
func (o *resultsOf) rails() (*openedPage, error) {
	b, i, err := o.board()
	if err != nil {
		return nil, err
	}
	v := &openedPage{Title: "What each rail draws on " + b.Name}
	s := section{ID: fmt.Sprintf("rails-%d", i+1), Title: v.Title}
	if len(b.States) == 0 {
		s.Lead = []string{"Nothing has been measured yet on this board."}
		v.Sections = []section{s}
		return v, nil
	}
	pic, err := o.parts.Stack(b)
	if err != nil {
		return nil, err
	}
	for _, p := range chartsOf(o.Tally) {
		if p.name == stackName(i, b) {
			s.Pictures = []savedPicture{{pic, o.files(p)}}
		}
	}
	v.Sections = []section{s}
	return v, nil
}

// shares shows each rail's part in the power of a state.
func (o *resultsOf) shares() (*openedPage, error) {
	b, i, err := o.board()
	if err != nil {
		return nil, err
	}
	x, err := o.stateIn(o.r, "board", "state")
	if err != nil {
		return nil, err
	}
	v := &openedPage{Up: o.stateHref(x), UpName: x.On().String(), Title: "The part of each rail"}
	s := section{ID: fmt.Sprintf("shares-%d", i+1), Title: "The part of each rail in " + x.On().String()}
	parts, err := o.Tally.RailParts(x)
	if err != nil {
		return nil, err
	}
	v.Sections = []section{s}
	if len(parts) == 0 {
		v.Sections[0].Lead = []string{"The state has no total above zero, so its rails have no parts in it."}
		return v, nil
	}
	for j, st := range b.States {
		if st == x {
			p, err := o.picture(sharesPicture(o.Tally, i, j))
			if err != nil {
				return nil, err
			}
			s.Pictures = []savedPicture{p}
		}
	}
	var powers []tally.Figure
	for _, p := range parts {
		powers = append(powers, p.Power)
	}
	unit, cells := o.parts.Column(quantity.Watt, powers...)
	t := resultsTable{ID: s.ID + "-caption", Caption: "Each rail of " + x.On().String() + " opens to its readings", Heads: []head{{"Rail", false}, {"Part", true}, {"Power, " + unit, true}}}
	for k, p := range parts {
		href := o.to("results", x.Board.Name, x.State.Name, p.Name)
		t.Rows = append(t.Rows, []resultsCell{words(p.Name, href), plain(report.Percents(p.Share)), number(cells[k], href)})
	}
	s.Tables = []resultsTable{t}
	s.After = []string{"A part is the rail's power over the chip's. Both come from one graph, so what is wrong with both alike, such as a clamp's gain, leaves the part as it is: its ± is not to be had from the ± of the two."}
	v.Sections[0] = s
	return v, nil
}

// choice offers two states to be compared.
type choice struct {
	To            string
	First, Second field
}

// choose offers every complete state. Its values are numbers of boards and
// states, which no name can be mistaken for.
func (o *resultsOf) choose() *choice {
	c := &choice{To: o.to("difference"), First: field{Name: "first", Label: "First", Kind: "select"}, Second: field{Name: "second", Label: "Less second", Kind: "select"}}
	for i, b := range o.Tally.Boards {
		for j, s := range b.States {
			if s.Complete {
				c.First.Options = append(c.First.Options, option{Value: fmt.Sprintf("%d.%d", i+1, j+1), Label: s.On().String()})
			}
		}
	}
	if len(c.First.Options) < 2 {
		return nil
	}
	c.Second.Options = append([]option(nil), c.First.Options...)
	c.First.Options[len(c.First.Options)-1].Chosen = true
	return c
}

// chosenDifference leads from the form to the address of the difference.
func (s *Server) chosenDifference(w http.ResponseWriter, r *http.Request) error {
	id, t, err := s.resultsIn(r)
	if err != nil {
		return err
	}
	var on [2]*tally.State
	for k, name := range []string{"first", "second"} {
		i, j, _ := strings.Cut(r.URL.Query().Get(name), ".")
		bi, err1 := strconv.Atoi(i)
		sj, err2 := strconv.Atoi(j)
		if err1 != nil || err2 != nil || bi < 1 || bi > len(t.Tally.Boards) || sj < 1 || sj > len(t.Tally.Boards[bi-1].States) {
			return badRequest("the two states to compare are not said", "choose both from the lists on the results page")
		}
		on[k] = t.Tally.Boards[bi-1].States[sj-1]
	}
	if on[0] == on[1] {
		return badRequest("a state is not compared with itself", "choose two states, or one state on two boards")
	}
	http.Redirect(w, r, at("studies", id, "differences", on[0].Board.Name, on[0].State.Name, on[1].Board.Name, on[1].State.Name), http.StatusSeeOther)
	return nil
}
