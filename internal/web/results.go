package web

import (
	"html/template"
	"net/http"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

func (s *Server) resultsRoutes(rt *routes) {
	rt.tab(30, "Results", "results")
	rt.handle("GET /studies/{study}/results", s.showResults)
	rt.handle("GET /studies/{study}/results/{board}/{state}", s.showState)
	rt.handle("GET /studies/{study}/results/{board}/{state}/{rail}", s.showRail)
	rt.handle("GET /studies/{study}/differences/{board}/{state}/{board2}/{state2}", s.showDifference)
}

// fullest is the highest total of each board, or why there is none.
func (t *tallied) fullest() (out []rowFigure, trouble string, err error) {
	for _, b := range t.Tally.Boards {
		if x := tally.Fullest(b); x != nil {
			out = append(out, rowFigure{b.Name, x.State.Name, quantity.FormatU(x.Total.Estimate, x.Total.Expanded, quantity.Watt)})
		}
	}
	if len(out) == 0 {
		trouble = "no state is complete yet"
	}
	return out, trouble, nil
}

// resultsView is a study's results, piece by piece; each is for the template of
// its name in package report.
type resultsView struct {
	Answer      any
	Level       string // what ± means
	Totals      any
	Boards      []boardResults
	Differences any
	Sittings    any
	Findings    any
	Measured    bool
	Left        []string
	Faults      []study.Fault
}

type boardResults struct {
	ID                  int
	Name, Chip, LanesOf string
	Lanes, Stack, Table any
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
	body, err := t.body(s)
	if err != nil {
		return err
	}
	return s.render(w, r, "results", page{Title: "Results", Study: t.opened(id), Tab: "results", Live: true, Data: body})
}

// body is the results page without what surrounds it, set once for each change
// of the study.
func (t *tallied) body(s *Server) (template.HTML, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.set != "" {
		return t.set, nil
	}
	v, err := t.results()
	if err != nil {
		return "", err
	}
	b, err := s.block("results", "results", v)
	if err != nil {
		return "", err
	}
	t.set = template.HTML(closeUp(b)) // the template has escaped it
	return t.set, nil
}
