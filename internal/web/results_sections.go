package web

import (
	"fmt"
	"net/http"

	"railtally/internal/chart"
	"railtally/internal/quantity"
	"railtally/internal/report"
	"railtally/internal/tally"
)

// openedPage is one figure, or one view of the results, at its own address: what
// it is, and sections that lead on to what it was computed from.
type openedPage struct {
	Up, UpName string
	Title      string
	Figure     string
	Verdict    any // for the template "verdict"
	Lead       []string
	After      []string
	Sections   []section
}

// section is one part of such a page.
type section struct {
	ID, Title string
	Verdict   any
	Lead      []string
	Pictures  []savedPicture
	Tables    []resultsTable
	Links     []resultsCell
	Budget    any // of Parts.Limits
	After     []string
	Later     *later
}

// later is what a page leaves to be asked for: a link that a script follows when
// it comes into view, putting what it finds in its place.
type later struct{ Href, Text string }

// savedPicture is a chart with the addresses of its files.
type savedPicture struct {
	Picture any
	chartFiles
}

type resultsTable struct {
	ID, Caption string
	Heads       []head
	Rows        [][]resultsCell
	Note        string
}

type head struct {
	Text   string
	Number bool
}

// resultsCell is a figure, a verdict or words; with Href it opens.
type resultsCell struct {
	Text, Href, Under string
	Num, Verdict      any
	Number            bool
}

// words is a cell of text.
func words(text, href string) resultsCell { return resultsCell{Text: report.Prose(text), Href: href} }

// number is a cell of a figure; nil stands for one that does not exist.
func number(num any, href string) resultsCell {
	if num == nil {
		return resultsCell{Text: "none", Number: true}
	}
	return resultsCell{Num: num, Href: href, Number: true}
}

// plain is a cell of a number without an interval.
func plain(text string) resultsCell { return resultsCell{Text: text, Number: true} }

func watts(f tally.Figure) string { return report.Stated(f, quantity.Watt) }

// opened shows such a page, or, to a script that asks for a part, its sections.
func (s *Server) showOpened(w http.ResponseWriter, r *http.Request, id int64, t *tallied, v *openedPage) error {
	w.Header().Add("Vary", "HX-Request")
	if isHTMX(r) {
		return s.part(w, r, http.StatusOK, "results-opened", "part", v)
	}
	if v.Up == "" {
		v.Up, v.UpName = at("studies", id, "results"), "Results"
	}
	return s.render(w, r, "results-opened", page{Title: v.Title, Study: t.opened(id), Tab: "results", Live: true, Styles: []string{"results.css"}, Data: v})
}

// openResults is a handler that works a page out from a study's results. The
// results are held while it does.
func (s *Server) openResults(make func(*resultsOf) (*openedPage, error)) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, t, err := s.resultsIn(r)
		if err != nil {
			return err
		}
		t.mu.Lock()
		v, err := make(&resultsOf{t, id, r})
		t.mu.Unlock()
		if err != nil {
			return err
		}
		return s.showOpened(w, r, id, t, v)
	}
}

// resultsOf is a study's results as a request asks for them.
type resultsOf struct {
	*tallied
	id int64
	r  *http.Request
}

// to is an address within the study.
func (o *resultsOf) to(parts ...any) string { return at(append([]any{"studies", o.id}, parts...)...) }

// board finds the board that the path names.
func (o *resultsOf) board() (*tally.Board, int, error) {
	name := nameIn(o.r, "board")
	for i, b := range o.Tally.Boards {
		if b.Name == name {
			return b, i, nil
		}
	}
	return nil, 0, notFound("the study has no board called " + name)
}

// nth finds which of n things the path asks for, from 1.
func (o *resultsOf) nth(what string, n int) (int, error) {
	k, err := numberIn(o.r, what)
	if err != nil {
		return 0, err
	}
	if k > int64(n) {
		return 0, notFound(fmt.Sprintf("the study has no %s with the number %d", what, k))
	}
	return int(k) - 1, nil
}

func (o *resultsOf) stateHref(s *tally.State) string {
	return o.to("results", s.Board.Name, s.State.Name)
}

func (o *resultsOf) differenceHref(d *tally.Difference) string {
	return o.to("differences", d.First.Board.Name, d.First.State.Name, d.Second.Board.Name, d.Second.State.Name)
}

// picture draws a chart that can be saved.
func (o *resultsOf) picture(p publishable) (savedPicture, error) {
	pic, err := o.parts.Picture(p.name, func(c chart.Options) (*chart.Drawing, error) { return p.draw(c) })
	return savedPicture{pic, o.files(p)}, err
}

// files are the addresses of a chart's files.
func (o *resultsOf) files(p publishable) chartFiles {
	file := func(ext string) string { return o.to("charts", p.name+ext) }
	return chartFiles{p.title, file(".svg"), file(".png"), file("-frame.png")}
}
