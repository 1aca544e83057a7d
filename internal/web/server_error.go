package web

import (
	"errors"
	"fmt"
	"net/http"

	"railtally/internal/notebook"
)

// problem is an error that a person is told about, with the HTTP status that
// goes with it.
type problem struct {
	Status int
	Title  string // "There is no such page"
	Text   string // what was wrong
	Do     string // what can be done; may be empty
}

// Error gives the text.
func (p *problem) Error() string { return p.Text }

func notFound(text string) error {
	return &problem{http.StatusNotFound, "Nothing is here", text, "Go back, or begin with the studies."}
}

func badRequest(text, do string) error {
	return &problem{http.StatusBadRequest, "That could not be done", text, do}
}

// tooLargeText says how much a page takes.
func tooLargeText(limit int64) string {
	size := fmt.Sprintf("%d MiB", limit>>20)
	if limit < 1<<20 {
		size = fmt.Sprintf("%d KiB", limit>>10)
	}
	return "what was sent is larger than this page takes, which is at most " + size
}

// explain turns any error into what a person is told. Trouble with the notebook
// keeps its own words and hint; what nobody foresaw is not shown but logged.
func explain(err error) *problem {
	var p *problem
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &p):
		return p
	case errors.As(err, &tooLarge):
		return &problem{http.StatusRequestEntityTooLarge, "That is too large", tooLargeText(tooLarge.Limit),
			"Go back: what was typed stands there still. Send less, or a smaller picture or file."}
	}
	status := map[notebook.Code]int{
		notebook.NotFound: http.StatusNotFound, notebook.Invalid: http.StatusUnprocessableEntity,
		notebook.Conflicting: http.StatusConflict, notebook.Full: http.StatusInsufficientStorage,
		notebook.ReadOnly: http.StatusServiceUnavailable, notebook.Locked: http.StatusServiceUnavailable,
		notebook.Corrupt: http.StatusServiceUnavailable,
	}[notebook.CodeOf(err)]
	if status == 0 && notebook.HintOf(err) != "" { // the disk reports an error
		status = http.StatusServiceUnavailable
	}
	title := map[int]string{
		http.StatusNotFound: "Nothing is here", http.StatusUnprocessableEntity: "That cannot be kept",
		http.StatusConflict: "Somebody else was faster", http.StatusInsufficientStorage: "The disk is full",
		http.StatusServiceUnavailable: "The notebook cannot be used",
	}[status]
	if status == 0 {
		return &problem{http.StatusInternalServerError, "Something went wrong", "this is a fault of the program; what was accepted before is safe", "Try again. If it stays, look at what the program printed where it was started."}
	}
	return &problem{status, title, err.Error(), notebook.HintOf(err)}
}

// fail answers with an error page, or with the bare text to a script.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	p := explain(err)
	if p.Status >= 500 {
		s.log.Error("request failed", "method", r.Method, "path", r.URL.Path, "error", err)
	}
	if isHTMX(r) {
		// Beside the form that was sent, where the person looks.
		s.partWith(w, r, p.Status, "error", "problem", p)
		return
	}
	if e := s.render(w, r, "error", page{Status: p.Status, Title: p.Title, Data: p}); e != nil {
		s.log.Error("error page failed", "error", e)
		http.Error(w, p.Title+": "+p.Text, p.Status)
	}
}

func (s *Server) partWith(w http.ResponseWriter, r *http.Request, status int, name, block string, data any) {
	if err := s.part(w, r, status, name, block, data); err != nil {
		s.log.Error("part of page failed", "page", name, "part", block, "error", err)
		http.Error(w, "something went wrong", http.StatusInternalServerError)
	}
}
