package web

import (
	"fmt"
	"net/http"
	"strings"

	"railtally/internal/chart"
	"railtally/internal/tally"
)

// The charts of the results by name; names hold the number of the board, and of
// the state, so that any name of a board makes a file name.

func effectsPicture(t *tally.Tally) publishable {
	return publishable{"effects", "What each factor adds", func(o chart.Options) (*chart.Drawing, error) { return chart.Effects(t, o) }}
}

func stepsPicture(t *tally.Tally, board int) publishable {
	b := t.Boards[board]
	return publishable{fmt.Sprintf("steps-%d", board+1), "Step by step on " + b.Name, func(o chart.Options) (*chart.Drawing, error) { return chart.Waterfall(t, b.Name, o) }}
}

func matrixPicture(t *tally.Tally, board int) publishable {
	b := t.Boards[board]
	return publishable{fmt.Sprintf("matrix-%d", board+1), "Each state against each on " + b.Name, func(o chart.Options) (*chart.Drawing, error) { return chart.Matrix(t, b.Name, o) }}
}

func sharesPicture(t *tally.Tally, board, state int) publishable {
	on := t.Boards[board].States[state].On()
	return publishable{fmt.Sprintf("shares-%d-%d", board+1, state+1), "The part of each rail in " + on.String(), func(o chart.Options) (*chart.Drawing, error) { return chart.Shares(t, on, o) }}
}

// chartNamed finds a chart of the results by its name.
func chartNamed(t *tally.Tally, name string) (publishable, bool) {
	if name == "effects" {
		return effectsPicture(t), true
	}
	for i, b := range t.Boards {
		for _, p := range []publishable{stepsPicture(t, i), matrixPicture(t, i)} {
			if p.name == name {
				return p, true
			}
		}
		if strings.HasPrefix(name, fmt.Sprintf("shares-%d-", i+1)) {
			for j, s := range b.States {
				if p := sharesPicture(t, i, j); p.name == name && s.Complete {
					return p, true
				}
			}
		}
	}
	for _, p := range chartsOf(t) {
		if p.name == name {
			return p, true
		}
	}
	return publishable{}, false
}

// resultsChart sends a chart as a file to be saved.
func (s *Server) resultsChart(w http.ResponseWriter, r *http.Request) error {
	_, t, err := s.resultsIn(r)
	if err != nil {
		return err
	}
	file := nameIn(r, "file")
	kind := ext(file)
	name := strings.TrimSuffix(file, kind)
	name, frame := strings.CutSuffix(name, "-frame")
	if kind != ".png" && (kind != ".svg" || frame) {
		return notFound("a chart is an .svg, a .png or a -frame.png")
	}
	t.mu.Lock()
	p, ok := chartNamed(t.Tally, name)
	t.mu.Unlock()
	if !ok {
		return notFound("the results have no chart called " + name)
	}
	o := chart.Options{Title: p.title, Footer: t.Question, EmbedFont: true}
	if frame {
		o = chart.Frame(p.title)
		o.Footer = t.Question
	}
	body, err := t.picture(p, o, kind)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Disposition", attachment(fileName(t.Question)+"-"+strings.TrimSuffix(file, kind), strings.TrimPrefix(kind, ".")))
	w.Header().Set("Cache-Control", "no-store")
	return send(w, r, http.StatusOK, contentTypes[kind], body)
}
