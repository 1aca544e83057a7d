package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

func (s *Server) planRoutes(rt *routes) {
	rt.tab(10, "Plan", "plan")
	rt.handle("GET /studies/{study}/plan", s.showPlan)
	rt.handle("POST /studies/{study}/plan/question", s.saveQuestion)
	rt.handle("POST /studies/{study}/plan/undo", s.undoPlan)
	rt.handle("POST /studies/{study}/plan/instruments", s.saveInstruments)
	rt.handle("POST /studies/{study}/plan/boards", s.addBoard)
	rt.handle("GET /studies/{study}/plan/boards/{board}", s.showBoard)
	rt.handle("POST /studies/{study}/plan/boards/{board}", s.saveBoard)
	rt.handle("GET /studies/{study}/plan/boards/{board}/rails/{rail}", s.editRail)
	rt.handle("POST /studies/{study}/plan/boards/{board}/rails/{rail}", s.saveRail)
	rt.handle("GET /studies/{study}/plan/states", s.showStates)
	rt.handle("POST /studies/{study}/plan/factors", s.saveFactors)
	rt.handle("POST /studies/{study}/plan/states", s.saveStates)
}

// planView is the plan at a glance.
type planView struct {
	Study         int64
	Revision      int64
	Plan          *study.Study
	Question      []field
	Asking        bool // the question's form is open
	NewBoard      []field
	Boards        []boardView
	States        []stateView
	Factors       []namedText
	Shelf         []option // instruments on the shelf that the plan does not have
	OnShelf       int
	NewInstrument string          // address
	Newer         map[string]bool // instruments that the shelf has otherwise
	Steps         []planStep      // what the plan needs before the bench; nil: all is there
	Missing       []planFault
	History       []revisionLine
	CanUndo       bool
	CanRedo       bool
	Problem       *problem
}

type boardView struct {
	*study.Board
	Lines  []railLine
	Photos []photoLine
	Key    string
}

type railLine struct {
	Name, Nominal, Feed, Taps string
	Input                     bool
}

type photoLine struct {
	Path, Src, Side, Note string
	Pins                  int
}

type stateView struct{ Name, Settings, Note string }

type planFault struct{ Text, Accept, Path string }

type revisionLine struct{ When, Who, Why string }

// planForm opens the plan that a form edits.
func (s *Server) planOf(r *http.Request) (int64, *notebook.Plan, error) {
	id, err := numberIn(r, "study")
	if err != nil {
		return 0, nil, err
	}
	p, err := s.nb.Plan(r.Context(), id)
	return id, p, err
}

func (s *Server) showPlan(w http.ResponseWriter, r *http.Request) error {
	return s.planPage(w, r, nil, nil)
}

// planPage shows the plan; question holds a form that was not accepted.
func (s *Server) planPage(w http.ResponseWriter, r *http.Request, question *form, trouble *problem) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	rec, err := s.nb.Record(r.Context(), id)
	if err != nil {
		return err
	}
	plan := rec.Plan.Study
	v := &planView{Study: id, Revision: rec.Plan.ID, Plan: plan, Problem: trouble}
	status := http.StatusOK
	if question == nil {
		question = newForm(questionValues(plan))
	} else {
		status = http.StatusUnprocessableEntity
	}
	v.Question, v.Asking = questionFields(question), !question.OK() || trouble != nil
	v.NewBoard = boardFields(newForm(nil), plan, true)
	pins, err := s.pinnedOf(r.Context(), id)
	if err != nil {
		return err
	}
	for _, b := range plan.Boards {
		x := boardOf(id, b, pins)
		if x.Key, err = s.newKey(); err != nil {
			return err
		}
		v.Boards = append(v.Boards, x)
	}
	for _, st := range plan.States {
		v.States = append(v.States, stateView{st.Name, settingsOf(st), st.Note})
	}
	for _, f := range plan.Factors {
		v.Factors = append(v.Factors, namedText{f.Name, strings.Join(f.Levels, ", ")})
	}
	v.Steps = stepsOf(id, plan)
	for _, f := range study.Check(plan) {
		if len(plan.Boards) == 0 && len(f.Path) == 1 && f.Path[0] == "boards" {
			continue // the steps say so
		}
		v.Missing = append(v.Missing, planFault{sentence(f.Message), f.Accept, faultPath(id, f)})
	}
	if err := s.planAround(r, id, v, rec.Plan); err != nil {
		return err
	}
	return s.render(w, r, "plan", page{Status: status, Title: "Plan", Study: openedFrom(id, rec), Tab: "plan",
		Styles: []string{"bench.css", "plan.css", "plan-check.css"}, Scripts: []string{"plan.js"}, Data: v})
}

// planAround adds the shelf and the history.
func (s *Server) planAround(r *http.Request, id int64, v *planView, head *notebook.Plan) error {
	shelf, err := s.nb.Shelf(r.Context())
	if err != nil {
		return err
	}
	v.OnShelf, v.Newer, v.NewInstrument = len(shelf), map[string]bool{}, newInstrumentFor(id)
	for _, x := range shelf {
		if mine := v.Plan.Instrument(x.Instrument.Name); mine != nil {
			if v.Newer[x.Instrument.Name], err = differ(mine, x.Instrument); err != nil {
				return err
			}
		} else {
			v.Shelf = append(v.Shelf, option{Value: x.Instrument.Name, Label: x.Instrument.Name + ", " + string(x.Instrument.Kind)})
		}
	}
	history, err := s.nb.PlanHistory(r.Context(), id)
	if err != nil {
		return err
	}
	v.CanUndo = len(history) > 1 && (head.SameAs == 0 || head.SameAs != history[len(history)-1].ID)
	v.CanRedo = head.SameAs != 0
	for i, p := range history {
		if i == 12 {
			break
		}
		why := p.Why
		if why == "" {
			why = "changed"
		}
		v.History = append(v.History, revisionLine{p.Accepted.Local().Format("2 January 2006, 15:04"), p.Device, why})
	}
	return nil
}

func settingsOf(st *study.State) string {
	var parts []string
	for _, l := range st.Levels {
		parts = append(parts, l.Factor+" "+l.Value)
	}
	return strings.Join(parts, " · ")
}

func boardOf(id int64, b *study.Board, pins *pinned) boardView {
	v := boardView{Board: b}
	line := func(r *study.Rail, input bool) {
		l := railLine{Name: r.Name, Nominal: entryText(&r.Nominal), Feed: string(r.Feed), Input: input}
		var taps []string
		for _, t := range r.Taps {
			text := tapText(t)
			if t.Name != "" {
				text = t.Name + ": " + text
			}
			taps = append(taps, text)
		}
		if r.Bound != nil {
			taps = append(taps, "not opened, "+entryText(r.Bound))
		}
		l.Taps = strings.Join(taps, "; ")
		v.Lines = append(v.Lines, l)
	}
	for _, r := range b.Rails {
		line(r, false)
	}
	for _, r := range b.Inputs {
		line(r, true)
	}
	for i := range pins.photos {
		f := &pins.photos[i]
		if f.Board != b.Name || f.Step != 0 {
			continue
		}
		x := photoLine{Path: at("studies", id, "plan", "photos", f.First), Src: photoPath(id, f), Side: string(f.Side), Note: f.Note}
		for _, p := range pins.pins {
			if p.Photo == f.First {
				x.Pins++
			}
		}
		v.Photos = append(v.Photos, x)
	}
	return v
}

// faultPath is where a fault of the plan is mended.
func faultPath(id int64, f study.Fault) string {
	switch {
	case len(f.Path) >= 4 && f.Path[0] == "boards":
		return at("studies", id, "plan", "boards", f.Path[1], "rails", f.Path[3])
	case len(f.Path) >= 2 && f.Path[0] == "boards":
		return at("studies", id, "plan", "boards", f.Path[1])
	case f.Path[0] == "states" || f.Path[0] == "factors":
		return at("studies", id, "plan", "states")
	}
	return ""
}

func questionValues(p *study.Study) url.Values {
	return url.Values{
		"question": {p.Question}, "remark": {p.Note}, "level": {fmt.Sprintf("%.6g %%", 100*p.Level)},
		"equalwithin": {entryText(p.EqualWithin)}, "stalezero": {entryText(p.StaleZero)},
	}
}

func questionFields(f *form) []field {
	return []field{
		f.fill(field{Name: "question", Label: "Question", Wide: true, Required: true, Hint: "What the study is to answer. It is also its title."}),
		f.fill(field{Name: "level", Label: "Coverage probability", Hint: "95 % unless you have a reason."}),
		f.fill(field{Name: "equalwithin", Label: "Equal within", Hint: "60 mW: smaller differences do not matter to you."}),
		f.fill(field{Name: "stalezero", Label: "A zero is old after", Hint: "30 min unless said."}),
		f.fill(field{Name: "remark", Label: "Note", Kind: "area", Rows: 3, Wide: true}),
	}
}

func (s *Server) saveQuestion(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	question, note := f.Text("question", true), strings.TrimSpace(f.Raw("remark"))
	level := study.DefaultLevel
	if e := f.Quantity("level", quantity.None, "%"); e != nil {
		if level = e.Value(); !(level >= 0.5 && level <= 0.9999) {
			f.Fault("level", "this is no coverage probability", "50 % to 99.99 %")
		}
	}
	equal, stale := f.Quantity("equalwithin", quantity.Watt, "W"), f.Quantity("stalezero", quantity.Second, "min")
	return s.revise(w, r, f, "question", func(p *study.Study) error {
		p.Question, p.Note, p.Level, p.EqualWithin, p.StaleZero = question, note, level, written(equal), written(stale)
		return nil
	}, func(trouble *problem) error { return s.planPage(w, r, f, trouble) }, "")
}

// written lets an entry carry a text that says the same in a file, where the
// figures were typed without their unit.
func written(e *quantity.Entry) *quantity.Entry {
	if e == nil {
		return nil
	}
	if x, err := quantity.Parse(e.Text, e.Unit, ""); err != nil || !slices.Equal(x.Values, e.Values) {
		e.Text = e.String()
	}
	return e
}

// revise applies an edit to the plan and keeps it as a revision. The form names
// the revision it was made from; when somebody was faster it is shown again with
// all that was typed, made from the newest.
func (s *Server) revise(w http.ResponseWriter, r *http.Request, f *form, why string, edit func(*study.Study) error, again func(*problem) error, to string, renames ...notebook.Rename) error {
	return s.reviseThen(r, f, why, edit, again, func(id int64) error {
		if to == "" {
			to = at("studies", id, "plan")
		}
		flash(w, "Kept: "+why+".")
		return seeOther(w, r, to)
	}, renames...)
}

// reviseThen is revise with an answer of its own.
func (s *Server) reviseThen(r *http.Request, f *form, why string, edit func(*study.Study) error, again func(*problem) error, done func(id int64) error, renames ...notebook.Rename) error {
	id, plan, err := s.planOf(r)
	if err != nil {
		return err
	}
	if !f.OK() {
		return again(nil)
	}
	based, err := numberFrom(f.Raw("based"))
	if err != nil {
		return err
	}
	if err := edit(plan.Study); err != nil {
		return err
	}
	if !f.OK() {
		return again(nil)
	}
	_, err = s.nb.SavePlan(r.Context(), id, based, plan.Study, s.origin(r, why), renames...)
	if c := (*notebook.PlanConflict)(nil); errors.As(err, &c) {
		f.values.Set("based", fmt.Sprint(c.Head.ID))
		f.values.Del("key")
		return again(&problem{http.StatusConflict, "The plan was changed meanwhile",
			"somebody kept another revision (" + c.Head.Why + ") after you opened this page", "What you typed is still here. Look at it once more and keep it again."})
	}
	if err != nil {
		return err
	}
	return done(id)
}

func (s *Server) undoPlan(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	based, err := numberFrom(f.Raw("based"))
	if err != nil {
		return err
	}
	if f.Checked("redo") {
		_, err = s.nb.RedoPlan(r.Context(), id, based, s.origin(r, "redo"))
	} else {
		_, err = s.nb.UndoPlan(r.Context(), id, based, s.origin(r, "undo"))
	}
	if err != nil {
		return err
	}
	if f.Raw("back") == studiesList {
		flash(w, "The study has the name that it had before.")
		return seeOther(w, r, "/studies")
	}
	if f.Checked("redo") {
		flash(w, "What was undone in the plan holds again.")
	} else {
		flash(w, "The plan is as it was before its last change.")
	}
	return seeOther(w, r, at("studies", id, "plan"))
}

// saveInstruments takes an instrument from the shelf into the plan, a fresh copy
// of one that is there, or takes one out.
func (s *Server) saveInstruments(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	shelf, err := s.nb.Shelf(r.Context())
	if err != nil {
		return err
	}
	name, out, all := f.Raw("take"), f.Raw("out"), f.Checked("all")
	why := "instrument " + name + out
	if all {
		why = "all instruments of the shelf"
	}
	return s.revise(w, r, f, why, func(p *study.Study) error {
		if out != "" {
			p.Instruments = slices.DeleteFunc(p.Instruments, func(in *study.Instrument) bool { return in.Name == out })
			return nil
		}
		if all {
			for _, x := range shelf {
				if p.Instrument(x.Instrument.Name) == nil {
					p.Instruments = append(p.Instruments, x.Instrument)
				}
			}
			return nil
		}
		for _, x := range shelf {
			if x.Instrument.Name != name {
				continue
			}
			if i := slices.IndexFunc(p.Instruments, func(in *study.Instrument) bool { return in.Name == name }); i >= 0 {
				p.Instruments[i] = x.Instrument
			} else {
				p.Instruments = append(p.Instruments, x.Instrument)
			}
			return nil
		}
		return notFound("no instrument on the shelf is called " + name)
	}, func(p *problem) error { return s.planPage(w, r, nil, p) }, "")
}
