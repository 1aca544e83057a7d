package web

import (
	"errors"
	"net/http"
	"strconv"

	"railtally/internal/notebook"
)

// studiesList names the list of studies as the page to come back to.
const studiesList = "studies"

// renameStudy gives a study another question, which is its name. It is a
// revision of the plan like any other, so that undo takes it back.
func (s *Server) renameStudy(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	question := f.Text("question", true)
	if !f.OK() {
		return &problem{http.StatusUnprocessableEntity, "A study has a question", "the new question is empty; the study keeps the one that it had", "Go back and write what the study is to answer."}
	}
	based, err := numberFrom(f.Raw("based"))
	if err != nil {
		return err
	}
	p, err := s.nb.Plan(r.Context(), id)
	if err != nil {
		return err
	}
	was := p.Study.Question
	if question == was {
		return seeOther(w, r, "/studies")
	}
	p.Study.Question = question
	kept, err := s.nb.SavePlan(r.Context(), id, based, p.Study, s.origin(r, "renamed"))
	if c := (*notebook.PlanConflict)(nil); errors.As(err, &c) {
		return &problem{http.StatusConflict, "The plan was changed meanwhile", "somebody kept another revision (" + c.Head.Why + ") after you opened the list; the study was not renamed", "Open the list of studies again and rename it there."}
	}
	if err != nil {
		return err
	}
	flashUndo(w, "Renamed. It was: "+was, at("studies", id, "plan", "undo"), map[string]string{"based": strconv.FormatInt(kept.ID, 10), "back": studiesList})
	return seeOther(w, r, "/studies")
}

// archiveStudy puts a study away, or brings it back.
func (s *Server) archiveStudy(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	away, why, done, other := true, "put away", "Put away. It stands below, with everything in it.", "back"
	if f.Raw("to") == "back" {
		away, why, done, other = false, "brought back", "Brought back.", "away"
	}
	if err := s.nb.Archive(r.Context(), id, away, s.origin(r, why)); err != nil {
		return err
	}
	flashUndo(w, done, at("studies", id, "archive"), map[string]string{"to": other})
	return seeOther(w, r, "/studies")
}
