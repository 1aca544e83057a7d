package web

import (
	"html/template"
	"net/http"

	"golang.org/x/sync/errgroup"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

func (s *Server) resultsRoutes(rt *routes) {
	rt.tab(30, "Results", "results")
	rt.handle("GET /studies/{study}/results", s.showResults)
	rt.handle("GET /studies/{study}/results/{board}/{state}", s.showState)
	rt.handle("GET /studies/{study}/results/{board}/{state}/{rail}", s.showRail)
	for pattern, make := range map[string]func(*resultsOf) (*openedPage, error){
		"differences/{board}/{state}/{board2}/{state2}": (*resultsOf).difference,
		"effects":                  (*resultsOf).effects,
		"effects/{board}/{effect}": (*resultsOf).effect,
		"steps/{board}":            (*resultsOf).steps,
		"matrix/{board}":           (*resultsOf).matrix,
		"shares/{board}/{state}":   (*resultsOf).shares,
		"rails/{board}":            (*resultsOf).rails,
		"claims/{claim}":           (*resultsOf).claim,
		"inputs":                   (*resultsOf).inputs,
		"inputs/{input}":           (*resultsOf).input,
		"sitting-effect":           (*resultsOf).sittingEffect,
	} {
		rt.handle("GET /studies/{study}/"+pattern, s.openResults(make))
	}
	rt.handle("GET /studies/{study}/sitting-effect/take", s.showCarry)
	rt.handle("POST /studies/{study}/sitting-effect/take", s.carryOver)
	rt.handle("GET /studies/{study}/difference", s.chosenDifference)
	rt.handle("GET /studies/{study}/settle/claims/{claim}", s.settleClaim)
	rt.handle("GET /studies/{study}/settle/{board}/{state}/{board2}/{state2}", s.settleDifference)
	rt.handle("GET /studies/{study}/charts/{file}", s.resultsChart)
}

// fullest is the highest total of each board, or why there is none.
func (t *tallied) fullest() (out []rowFigure, trouble string) {
	for _, b := range t.Tally.Boards {
		if x := tally.Fullest(b); x != nil {
			out = append(out, rowFigure{b.Name, x.State.Name, quantity.FormatU(x.Total.Estimate, x.Total.Expanded, quantity.Watt)})
		}
	}
	if len(out) == 0 {
		trouble = "no state is complete yet"
	}
	return out, trouble
}

// resultsView is a study's results, piece by piece; each is for the template of
// its name in package report.
type resultsView struct {
	Answer      any
	Level       string // what ± means
	Totals      any
	Boards      []boardResults
	Differences any
	Claims      []claimLine
	Choice      *choice
	Later       []laterSection
	Sittings    any
	Trials      any
	SittingHref string
	Findings    any
	Measured    bool
	Left        []string
	Faults      []study.Fault
}

// laterSection is a section that the page leaves to be asked for.
type laterSection struct {
	ID, Title string
	Parts     []later
}

type boardResults struct {
	ID                  int
	Name, Chip, LanesOf string
	Lanes, Stack, Table any
	StackHref           string // where the stack is when it is too large to be here
}

func (s *Server) showResults(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	t, err := s.tallyOf(r.Context(), id)
	if err != nil {
		return err
	}
	body, err := t.body(s, id)
	if err != nil {
		return err
	}
	return s.render(w, r, "results", page{Title: "Results", Study: t.opened(id), Tab: "results", Live: true, Styles: []string{"results.css"}, Data: body})
}

// resultsSet is the results page as it was set: what comes before the parts that
// are asked for, these, and what comes after.
type resultsSet struct{ Before, Later, After template.HTML }

// body is the results page without what surrounds it, set once for each change
// of the study.
func (t *tallied) body(s *Server, id int64) (*resultsSet, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.set != nil {
		return t.set, nil
	}
	v, err := t.results(id)
	if err != nil {
		return nil, err
	}
	set := &resultsSet{}
	var all errgroup.Group // what they say is worked out already
	for name, into := range map[string]*template.HTML{"results": &set.Before, "results-later": &set.Later, "results-end": &set.After} {
		all.Go(func() error {
			b, err := s.block("results", name, v)
			*into = template.HTML(closeUp(b)) // the template has escaped it
			return err
		})
	}
	if err := all.Wait(); err != nil {
		return nil, err
	}
	t.set = set
	return set, nil
}
