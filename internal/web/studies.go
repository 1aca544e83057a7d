package web

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"railtally/internal/example"
	"railtally/internal/notebook"
	"railtally/internal/study"
	"railtally/internal/studyfile"
)

func (s *Server) studiesRoutes(rt *routes) {
	rt.handle("GET /{$}", func(w http.ResponseWriter, r *http.Request) error {
		http.Redirect(w, r, "/studies", http.StatusSeeOther)
		return nil
	})
	rt.handle("GET /studies", s.listStudies)
	rt.handle("POST /studies", s.beginStudy)
	rt.handle("POST /studies/example", s.loadExample)
	rt.handle("GET /studies/import", s.askImport)
	rt.handleBody("POST /studies/import", bundleLimit, s.importStudy)
	rt.handle("GET /studies/{study}", s.openStudy)
	rt.handle("GET /studies/{study}/headline", s.showHeadline)
	rt.handle("GET /studies/{study}/study.yaml", s.exportStudy)
	rt.handle("POST /studies/{study}/duplicate", s.duplicateStudy)
	rt.handle("POST /studies/{study}/rename", s.renameStudy)
	rt.handle("POST /studies/{study}/archive", s.archiveStudy)
	rt.handle("GET /", func(w http.ResponseWriter, r *http.Request) error {
		return notFound("no page has the address " + r.URL.Path)
	})
}

type studiesView struct {
	Studies  []studyRow
	Archived []studyRow // put away
	Question field
}

// studyRow is one study of the list.
type studyRow struct {
	ID       int64
	Revision int64 // of its plan
	Question string
	State    string // "two sittings, 48 readings"
	Last     string
	Draft    bool
	Headline *headline
}

// headline is what a study found, in a line: the highest total of each board, or
// why there is none.
type headline struct {
	ID      int64
	Figures []rowFigure
	Trouble string
	Later   bool // not worked out yet; the page asks for it when it is looked at

	change int64 // the newest change that went in
}

// patience is how long the list of studies works out figures before it leaves
// the rest for later.
const patience = 300 * time.Millisecond

type rowFigure struct{ Label, Where, Value string }

func (s *Server) listStudies(w http.ResponseWriter, r *http.Request) error {
	return s.studies(w, r, newForm(nil), 0)
}

func (s *Server) studies(w http.ResponseWriter, r *http.Request, f *form, status int) error {
	list, err := s.nb.Studies(r.Context())
	if err != nil {
		return err
	}
	v := studiesView{Question: f.fill(field{
		Name: "question", Label: "What is the study to answer?", Required: true, Wide: true,
		Hint: "One question, such as: how much more does the chip draw with four drives?",
	})}
	began := time.Now()
	for _, x := range list {
		row := studyRow{ID: x.ID, Revision: x.Revision, Question: x.Question, State: workDone(x), Last: ago(s.now(), x.Changed), Draft: x.Draft}
		if x.Archived {
			v.Archived = append(v.Archived, row)
			continue
		}
		if x.Readings > 0 {
			if row.Headline, err = s.headline(r.Context(), x.ID, time.Since(began) < patience); err != nil {
				return err
			}
		}
		v.Studies = append(v.Studies, row)
	}
	return s.render(w, r, "studies", page{Status: status, Title: "Studies", Data: v})
}

// headline returns a study's headline. Without now it is only looked up.
func (s *Server) headline(ctx context.Context, id int64, now bool) (*headline, error) {
	if h, ok := s.headlines.Load(id); ok {
		h := h.(*headline)
		news, err := s.nb.Changes(ctx, id, h.change, 1)
		if err != nil {
			return nil, err
		}
		if len(news) == 0 {
			return h, nil
		}
	}
	if !now {
		return &headline{ID: id, Later: true}, nil
	}
	t, err := s.tallyOf(ctx, id)
	if err != nil {
		return nil, err
	}
	h := &headline{ID: id, Trouble: "the plan is not sound yet", change: t.Change}
	if t.Tally != nil {
		h.Figures, h.Trouble = t.fullest()
	}
	s.headlines.Store(id, h)
	return h, nil
}

// showHeadline answers the list of studies, which asks for one figure later.
func (s *Server) showHeadline(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	h, err := s.headline(r.Context(), id, true)
	if err != nil {
		return err
	}
	return s.part(w, r, http.StatusOK, "studies", "headline", h)
}

// workDone says how far a study has come.
func workDone(x notebook.Summary) string {
	if x.Sittings == 0 {
		return "nothing measured yet"
	}
	return counted(x.Sittings, "sitting") + ", " + counted(x.Readings, "reading")
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// ago says how long ago something was, as people do.
func ago(now, t time.Time) string {
	switch d := now.Sub(t); {
	case d < 0 || d >= 7*24*time.Hour:
		return "on " + t.Local().Format("2 January 2006")
	case d < time.Minute:
		return "just now"
	case d < time.Hour:
		return counted(int(d.Minutes()), "minute") + " ago"
	case d < 24*time.Hour:
		return counted(int(d.Hours()), "hour") + " ago"
	default:
		return counted(int(d.Hours()/24), "day") + " ago"
	}
}

func (s *Server) beginStudy(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	question := f.Text("question", true)
	if !f.OK() {
		return s.studies(w, r, f, http.StatusUnprocessableEntity)
	}
	p, err := s.nb.NewStudy(r.Context(), &study.Study{Question: question, Level: study.DefaultLevel}, s.origin(r, "new study"))
	if err != nil {
		return err
	}
	return seeOther(w, r, at("studies", p.StudyID))
}

// origin says where a row comes from that a request adds.
func (s *Server) origin(r *http.Request, why string) notebook.Origin {
	return notebook.Origin{Device: s.device(r), Why: why, Key: r.PostForm.Get("key")}
}

func (s *Server) loadExample(w http.ResponseWriter, r *http.Request) error {
	if _, err := readForm(r); err != nil {
		return err
	}
	x, _, err := studyfile.Read("example", example.New(example.Seed).Text)
	if err != nil {
		return err
	}
	p, err := s.nb.Import(r.Context(), x, s.origin(r, "the worked example"))
	if err != nil {
		return err
	}
	flash(w, "The worked example is in the notebook. Its boards, instruments and readings are invented.")
	return seeOther(w, r, at("studies", p.StudyID))
}

// openStudy leads to where work on a study goes on: its results once something
// was read, else its plan.
func (s *Server) openStudy(w http.ResponseWriter, r *http.Request) error {
	o, err := s.studyFromPath(r)
	if err != nil {
		return err
	}
	to := "results"
	for _, t := range s.tabs {
		if t.Path == "plan" && len(o.Record.Study.Sittings) == 0 {
			to = "plan"
		}
	}
	http.Redirect(w, r, at("studies", o.ID, to), http.StatusSeeOther)
	return nil
}

// studyFromPath opens the study that a request names.
func (s *Server) studyFromPath(r *http.Request) (*opened, error) {
	id, err := numberIn(r, "study")
	if err != nil {
		return nil, err
	}
	return s.studyOf(r.Context(), id)
}

func (s *Server) duplicateStudy(w http.ResponseWriter, r *http.Request) error {
	o, err := s.studyFromPath(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return err
	}
	plan := *o.Record.Study
	plan.Sittings = nil
	plan.Question = "Copy of: " + plan.Question
	p, err := s.nb.NewStudy(r.Context(), &plan, s.origin(r, fmt.Sprintf("copied from study %d", o.ID)))
	if err != nil {
		return err
	}
	flash(w, "The plan was copied, without sittings.")
	return seeOther(w, r, at("studies", p.StudyID))
}
