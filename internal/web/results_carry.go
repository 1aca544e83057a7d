package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"

	"railtally/internal/quantity"
	"railtally/internal/report"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// carryForm offers the effect of a sitting that other studies of the notebook
// found.
type carryForm struct {
	To       string // the form's address
	Up       string
	Revision int64
	Sources  []carrySource
	Left     int    // studies that were not looked at
	Now      string // what is taken over already
	Problem  *problem
}

type carrySource struct {
	ID               int64
	Question, Effect string
	Chosen           bool
}

// mostSources is how many studies are looked at for what they found, those
// changed last first: each has to be worked out.
const mostSources = 20

// sources are other studies whose own repeats tell of the effect of a sitting.
func (s *Server) sources(r *http.Request, id int64) (out []carrySource, left int, err error) {
	all, err := s.nb.Studies(r.Context())
	if err != nil {
		return nil, 0, err
	}
	looked := 0
	for _, sum := range all {
		if sum.ID == id || sum.Draft || sum.Archived || sum.Sittings < 2 {
			continue
		}
		if looked++; looked > mostSources {
			left++
			continue
		}
		e, err := s.ownEffect(r, sum.ID)
		if err != nil {
			return nil, 0, err
		}
		if e == nil {
			continue
		}
		out = append(out, carrySource{ID: sum.ID, Question: sum.Question, Effect: report.Prose(fmt.Sprintf("%s, %g degrees of freedom",
			quantity.Format(math.Sqrt(math.Max(0, e.Tally.Sittings.Own)), quantity.Watt, 2), e.Tally.Sittings.OwnDOF))})
	}
	return out, left, nil
}

// ownEffect is a study that assessed the effect of a sitting itself, or nil.
func (s *Server) ownEffect(r *http.Request, id int64) (*tally.Source, error) {
	t, err := s.tallyOf(r.Context(), id)
	if err != nil || t.Tally == nil || t.Tally.Sittings.OwnDOF == 0 {
		return nil, err
	}
	return &tally.Source{Name: fmt.Sprintf("“%s” (study %d)", t.Question, id), Tally: t.Tally}, nil
}

func (s *Server) showCarry(w http.ResponseWriter, r *http.Request) error {
	return s.carryPage(w, r, nil)
}

func (s *Server) carryPage(w http.ResponseWriter, r *http.Request, trouble *problem) error {
	id, p, err := s.planOf(r)
	if err != nil {
		return err
	}
	o, err := s.studyOf(r.Context(), id)
	if err != nil {
		return err
	}
	v := &carryForm{To: at("studies", id, "sitting-effect", "take"), Up: at("studies", id, "sitting-effect"), Revision: p.ID, Problem: trouble}
	if v.Sources, v.Left, err = s.sources(r, id); err != nil {
		return err
	}
	if c := p.Study.SittingEffect; c != nil {
		v.Now = report.Prose(fmt.Sprintf("Taken over now: %s with %g degrees of freedom, from %s.", c.SD.String(), c.DOF, c.Source()))
	}
	status := http.StatusOK
	if trouble != nil {
		status = trouble.Status
	}
	return s.render(w, r, "results-carry", page{Status: status, Title: "Take over the effect of a sitting", Study: o, Tab: "results", Styles: []string{"results.css"}, Data: v})
}

// carryOver takes over what the chosen studies found, or stops doing so. Value,
// degrees of freedom and where they are from go into the study's record, which
// needs the other studies no more.
func (s *Server) carryOver(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	again := func(trouble *problem) error { return s.carryPage(w, r, trouble) }
	up := at("studies", id, "sitting-effect")
	if f.Checked("drop") {
		return s.revise(w, r, f, "no effect of a sitting is taken over any more", func(p *study.Study) error {
			p.SittingEffect = nil
			return nil
		}, again, up)
	}
	var from []tally.Source
	var chosen []int64
	for _, text := range r.PostForm["from"] {
		other, err := strconv.ParseInt(text, 10, 64)
		if err != nil || other == id || slices.Contains(chosen, other) {
			return badRequest("a study to take over from is not one of those offered", "choose from the list")
		}
		chosen = append(chosen, other)
		x, err := s.ownEffect(r, other)
		if err != nil {
			return err
		}
		if x != nil {
			from = append(from, *x)
		}
	}
	c := tally.CarryOver(from)
	if c == nil {
		return again(&problem{http.StatusUnprocessableEntity, "Nothing was chosen", "no study is ticked that measured a state in two sittings", "Tick one or more, or leave it."})
	}
	return s.revise(w, r, f, "the effect of a sitting is taken over from earlier studies", func(p *study.Study) error {
		p.SittingEffect = c
		return nil
	}, again, up)
}
