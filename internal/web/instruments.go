package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/report"
	"railtally/internal/study"
)

func (s *Server) instrumentRoutes(rt *routes) {
	rt.handle("GET /instruments", s.listInstruments)
	rt.handle("GET /instruments/new", s.newInstrument)
	rt.handle("POST /instruments", s.putInstrument)
	rt.handle("POST /instruments/check", s.checkInstrument)
	rt.handle("POST /instruments/take", s.takeInstrument)
	rt.handle("POST /instruments/undo", s.undoInstrument)
	rt.handle("GET /instruments/{instrument}", s.editInstrument)
	rt.handle("POST /instruments/{instrument}", s.putInstrument)
	rt.handle("POST /instruments/{instrument}/withdraw", s.withdrawInstrument)
}

type shelfView struct {
	Instruments []shelfRow
	Elsewhere   []elsewhere // in studies, not on the shelf
	Overdue     int
}

// shelfRow is one instrument on the shelf.
type shelfRow struct {
	First int64
	Draft bool
	Due   []dueText
	View  any // for the template "instrument-body"
	Name  string
	Kind  string
}

// dueText says when a calibration is due. Kind: "", "soon", "over".
type dueText struct{ Of, Text, Kind string }

// elsewhere is an instrument of a study that the shelf does not have.
type elsewhere struct {
	Name, Kind string
	Study      int64
	Question   string
}

func (s *Server) listInstruments(w http.ResponseWriter, r *http.Request) error {
	shelf, err := s.nb.Shelf(r.Context())
	if err != nil {
		return err
	}
	var v shelfView
	known := map[string]bool{}
	for _, x := range shelf {
		known[strings.ToLower(x.Name)] = true
		row := shelfRow{First: x.First, Draft: x.Draft, Name: x.Name, Kind: string(x.Instrument.Kind), Due: dues(x.Instrument, s.now())}
		row.View = report.Instruments([]*study.Instrument{x.Instrument})[0]
		for _, d := range row.Due {
			if d.Kind == "over" {
				v.Overdue++
			}
		}
		v.Instruments = append(v.Instruments, row)
	}
	if v.Elsewhere, err = s.elsewhere(r.Context(), known); err != nil {
		return err
	}
	return s.render(w, r, "instruments", page{Title: "Instruments", Data: v})
}

// soon is how long before its day a calibration is said to be due (common
// practice, no source).
const soon = 30 * 24 * time.Hour

// dues says when an instrument's calibrations are due again.
func dues(in *study.Instrument, now time.Time) []dueText {
	var out []dueText
	add := func(of string, c *study.Calibration) {
		if c == nil || c.Due.IsZero() {
			return
		}
		d := dueText{Of: of, Text: "due " + c.Due.Format("2 January 2006")}
		today := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
		switch left := c.Due.Sub(today); {
		case left < 0:
			d.Kind, d.Text = "over", "overdue since "+c.Due.Format("2 January 2006")
		case left <= soon:
			d.Kind = "soon"
		}
		out = append(out, d)
	}
	add("", in.Calibration)
	for _, rg := range in.Ranges {
		add(rg.Name, rg.Calibration)
	}
	return out
}

// elsewhere lists instruments that studies hold and the shelf does not.
func (s *Server) elsewhere(ctx context.Context, known map[string]bool) ([]elsewhere, error) {
	studies, err := s.nb.Studies(ctx)
	if err != nil {
		return nil, err
	}
	var out []elsewhere
	for _, x := range studies {
		p, err := s.nb.Plan(ctx, x.ID)
		if err != nil {
			return nil, err
		}
		for _, in := range p.Study.Instruments {
			if k := strings.ToLower(in.Name); in.Name != "" && !known[k] {
				known[k] = true
				out = append(out, elsewhere{in.Name, string(in.Kind), x.ID, x.Question})
			}
		}
	}
	return out, nil
}

// takeInstrument puts an instrument of a study on the shelf.
func (s *Server) takeInstrument(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	sum, err := s.nb.Find(r.Context(), f.Raw("study"))
	if err != nil {
		return err
	}
	p, err := s.nb.Plan(r.Context(), sum.ID)
	if err != nil {
		return err
	}
	in := p.Study.Instrument(f.Raw("name"))
	if in == nil {
		return notFound("the study has no instrument called " + f.Raw("name"))
	}
	if _, err := s.nb.PutInstrument(r.Context(), in, s.origin(r, "taken from a study")); err != nil {
		return err
	}
	flash(w, in.Name+" is on the shelf.")
	return seeOther(w, r, "/instruments")
}

func (s *Server) newInstrument(w http.ResponseWriter, r *http.Request) error {
	f := newForm(nil)
	v := shownInstrument{}
	if id := int64Of(r.URL.Query().Get("study")); id != 0 {
		p, err := s.nb.Plan(r.Context(), id)
		if err != nil {
			return err
		}
		v.Study, v.Question = id, p.Study.Question
	}
	return s.showInstrument(w, r, f, v, 0)
}

// takeInto puts an instrument into a study's plan too, in the place of one of
// that name. Somebody may change the plan at the same moment; the edit is then
// made to what they left.
func (s *Server) takeInto(r *http.Request, id int64, in *study.Instrument) error {
	o := s.origin(r, "instrument "+in.Name)
	o.Key = ""
	for range 3 {
		p, err := s.nb.Plan(r.Context(), id)
		if err != nil {
			return err
		}
		if i := slices.IndexFunc(p.Study.Instruments, func(x *study.Instrument) bool { return x.Name == in.Name }); i >= 0 {
			p.Study.Instruments[i] = in
		} else {
			p.Study.Instruments = append(p.Study.Instruments, in)
		}
		_, err = s.nb.SavePlan(r.Context(), id, p.ID, p.Study, o)
		if c := (*notebook.PlanConflict)(nil); !errors.As(err, &c) {
			return err
		}
	}
	return &problem{http.StatusConflict, "The plan is being changed", "the instrument is on the shelf, but others keep changing the plan", "Take it from the shelf on the plan page."}
}

// shelved finds an instrument by the first row of its chain.
func (s *Server) shelved(r *http.Request) (notebook.Shelved, error) {
	id, err := numberIn(r, "instrument")
	if err != nil {
		return notebook.Shelved{}, err
	}
	shelf, err := s.nb.Shelf(r.Context())
	if err != nil {
		return notebook.Shelved{}, err
	}
	for _, x := range shelf {
		if x.First == id {
			return x, nil
		}
	}
	return notebook.Shelved{}, notFound("no instrument of that number is on the shelf")
}

func (s *Server) editInstrument(w http.ResponseWriter, r *http.Request) error {
	x, err := s.shelved(r)
	if err != nil {
		return err
	}
	values, err := instrumentValues(x.Instrument)
	if err != nil {
		return err
	}
	return s.showInstrument(w, r, newForm(values), shownInstrument{First: x.First, Row: x.ID, Name: x.Name}, 0)
}

// putInstrument keeps a new or changed instrument. What is wrong is shown at
// its field, and everything typed is kept.
func (s *Server) putInstrument(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	v := shownInstrument{Row: int64Of(f.Raw("row")), Study: int64Of(f.Raw("study"))}
	if v.Study != 0 {
		p, err := s.nb.Plan(r.Context(), v.Study)
		if err != nil {
			return err
		}
		v.Question = p.Study.Question
	}
	if r.PathValue("instrument") != "" {
		x, err := s.shelved(r)
		if err != nil {
			return err
		}
		v.First, v.Name = x.First, x.Name
	}
	if f.Checked("more") {
		return s.showInstrument(w, r, f, v, http.StatusOK)
	}
	in, general := readInstrumentForm(f)
	if in == nil {
		v.Problem = general
		return s.showInstrument(w, r, f, v, http.StatusUnprocessableEntity)
	}
	o := s.origin(r, f.Text("why", false))
	var ack notebook.Ack
	if v.First == 0 {
		ack, err = s.nb.PutInstrument(r.Context(), in, o)
	} else {
		ack, err = s.nb.CorrectInstrument(r.Context(), v.Row, in, o)
	}
	var c *notebook.Conflict
	switch {
	case errors.As(err, &c):
		v.Row = c.Head
		v.Problem = "It was changed on another device meanwhile. What you typed stands below; keep it to replace the other change."
		return s.showInstrument(w, r, f, v, http.StatusConflict)
	case notebook.CodeOf(err) == notebook.Invalid && err != nil:
		accept := "another name"
		if v.Study != 0 {
			accept += "; or take the one that is there into the plan, on the plan page"
		}
		f.Fault("name", "an instrument on the shelf has this name already", accept)
		return s.showInstrument(w, r, f, v, http.StatusUnprocessableEntity)
	case err != nil:
		return err
	}
	to := "/instruments"
	if v.Study != 0 {
		if err := s.takeInto(r, v.Study, in); err != nil {
			return err
		}
		flash(w, in.Name+" is on the shelf and in the plan.")
		to = at("studies", v.Study, "plan")
	} else if v.First == 0 {
		flash(w, in.Name+" is on the shelf. Each study takes it into its plan.")
	} else {
		flashUndo(w, in.Name+" was changed. Studies that use it keep what they copied, until their plan takes the newer one.", "/instruments/undo",
			map[string]string{"id": strconv.FormatInt(ack.ID, 10)})
	}
	if f.Checked("another") {
		to = "/instruments/new"
		if v.Study != 0 {
			to = newInstrumentFor(v.Study)
		}
	}
	return seeOther(w, r, to)
}

func (s *Server) withdrawInstrument(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	x, err := s.shelved(r)
	if err != nil {
		return err
	}
	ack, err := s.nb.Withdraw(r.Context(), notebook.AnInstrument, x.ID, s.origin(r, f.Text("why", false)))
	if err != nil {
		return err
	}
	flashUndo(w, x.Name+" was taken off the shelf. Studies that use it keep what they copied.", "/instruments/undo",
		map[string]string{"id": strconv.FormatInt(ack.ID, 10)})
	return seeOther(w, r, "/instruments")
}

// undoInstrument takes back the last change of an instrument, also that it was
// taken off the shelf.
func (s *Server) undoInstrument(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	id, err := numberFrom(f.Raw("id"))
	if err != nil {
		return err
	}
	if _, err := s.nb.Undo(r.Context(), notebook.AnInstrument, id, s.origin(r, "undo")); err != nil {
		return err
	}
	flash(w, "The shelf is as it was before.")
	return seeOther(w, r, "/instruments")
}

// checkInstrument answers what is wrong with one field, while it is filled in.
func (s *Server) checkInstrument(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	in, _ := readInstrumentForm(f)
	for _, x := range allFields(f) {
		if x.Name != r.URL.Query().Get("field") {
			continue
		}
		// What was not filled in yet is no fault while the person is on the way.
		if x.Value == "" {
			x.Fault = nil
		}
		if in != nil && x.Value != "" && x.Fault == nil {
			if values, err := instrumentValues(in); err == nil && values.Get(x.Name) != "" && values.Get(x.Name) != x.Value {
				x.Hint = "Read as " + values.Get(x.Name) + "."
			}
		}
		return s.part(w, r, http.StatusOK, "instrument", "field-said", x)
	}
	return badRequest("there is no such field", "")
}
