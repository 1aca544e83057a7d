package web

import (
	"net/http"
	"net/url"
	"slices"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// startView is the page on which a sitting is chosen or begun.
type startView struct {
	Study    int64
	Sittings []sittingLine
	Fields   []field
	Key      string
	Boards   int
	States   int
	Unready  []study.Fault // what the plan lacks
	About    int64         // the sitting's row that is corrected; 0: one is begun
	Sitting  int64
	Problem  *problem
	Work     []workLine
}

type sittingLine struct {
	Path, Name, Board, On, By string
	Readings, Asked           int
}

// workLine is how far the order of work of a board is.
type workLine struct {
	Board, Path string
	Done, Of    int
	Next        string // what comes next; empty: everything was done
}

// start lists the sittings of a study, the newest first, and offers a new one.
func (b *bench) start(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	rec, err := b.record(r.Context(), id)
	if err != nil {
		return err
	}
	as := b.proposed(rec)
	for _, name := range []string{"board", "name"} {
		if x := r.URL.Query().Get(name); x != "" {
			as.Set(name, x)
		}
	}
	return b.startPage(w, r, id, rec, newForm(as), nil)
}

func (b *bench) startPage(w http.ResponseWriter, r *http.Request, id int64, rec *notebook.Record, f *form, trouble *problem) error {
	v := &startView{Study: id, Fields: sittingFields(f, rec.Study), Boards: len(rec.Study.Boards), States: len(rec.Study.States), Problem: trouble}
	var err error
	if v.Key, err = b.s.newKey(); err != nil {
		return err
	}
	plan := *rec.Study
	plan.Sittings = nil
	v.Unready = study.Check(&plan)
	readings := map[int64]int{} // by sitting
	for _, e := range rec.Entries {
		if e.Kind != notebook.Step && e.Kind != notebook.Note {
			readings[e.Sitting]++
		}
	}
	for i := len(rec.Sittings) - 1; i >= 0; i-- {
		x := rec.Study.Sittings[i]
		line := sittingLine{Path: benchAt(id, rec.Sittings[i].First, ""), Name: x.Name, Board: x.Board, On: dayOf(x), By: x.By, Readings: readings[rec.Sittings[i].First]}
		v.Sittings = append(v.Sittings, line)
	}
	if v.Work, err = b.workLines(r.Context(), id); err != nil {
		return err
	}
	status := http.StatusOK
	if !f.OK() || trouble != nil {
		status = http.StatusUnprocessableEntity
	}
	return b.s.render(w, r, "bench-start", page{Status: status, Title: "Bench", Study: openedFrom(id, rec), Tab: "bench",
		Styles: []string{"bench.css"}, Data: v})
}

func dayOf(x *study.Sitting) string {
	if x.Clock {
		return x.On.Format("2 January 2006, 15:04")
	}
	return x.On.Format("2 January 2006")
}

// proposed fills the form of a new sitting: as the last one was, today.
func (b *bench) proposed(rec *notebook.Record) url.Values {
	s := rec.Study
	v := url.Values{}
	wall, _ := b.wall("")
	v.Set("on", wall.Format("2006-01-02 15:04"))
	if len(s.Boards) > 0 {
		v.Set("board", s.Boards[0].Name)
	}
	for _, in := range s.Instruments {
		if len(ranges(in, quantity.Volt)) > 0 && in.Kind == study.Meter && v.Get("voltagemeter") == "" {
			v.Set("voltagemeter", in.Name)
			v.Set("currentmeter", in.Name)
		}
		if in.Kind == study.Thermometer && v.Get("thermometer") == "" {
			v.Set("thermometer", in.Name)
		}
	}
	if u := s.Usual; u != nil {
		for k, x := range map[string]string{"voltagemeter": u.VoltageMeter, "currentmeter": u.CurrentMeter, "thermometer": u.Thermometer, "by": u.By} {
			if x != "" {
				v.Set(k, x)
			}
		}
	}
	if n := len(s.Sittings); n > 0 {
		last := s.Sittings[n-1]
		v.Set("board", last.Board)
		v.Set("by", last.By)
		v.Set("voltagemeter", last.VoltageMeter)
		v.Set("currentmeter", last.CurrentMeter)
		if last.Thermometer != "" {
			v.Set("thermometer", last.Thermometer)
		}
	}
	return v
}

func sittingFields(f *form, s *study.Study) []field {
	var boards, meters, thermometers []option
	for _, b := range s.Boards {
		boards = append(boards, option{Value: b.Name, Label: b.Name})
	}
	meters, thermometers = []option{{Label: "none"}}, []option{{Label: "none"}}
	for _, in := range s.Instruments {
		if len(ranges(in, quantity.Volt)) > 0 && in.Kind == study.Meter {
			meters = append(meters, option{Value: in.Name, Label: in.Name})
		}
		if len(ranges(in, quantity.Celsius)) > 0 {
			thermometers = append(thermometers, option{Value: in.Name, Label: in.Name})
		}
	}
	// Each select has options of its own: which is chosen differs.
	return []field{
		f.fill(field{Name: "board", Label: "Board", Kind: "select", Options: boards, Required: true}),
		f.fill(field{Name: "room", Label: "Room temperature", Hint: "°C: 22.8, or 22.8 ± 0.5. Specifications hold for a room temperature.", Mode: "decimal"}),
		f.fill(field{Name: "by", Label: "Who reads"}),
		f.fill(field{Name: "on", Label: "Begun", Hint: "2026-03-14 15:20", Required: true}),
		f.fill(field{Name: "voltagemeter", Label: "Meter for voltages", Kind: "select", Options: meters}),
		f.fill(field{Name: "currentmeter", Label: "Meter for clamps and shunts", Kind: "select", Options: slices.Clone(meters)}),
		f.fill(field{Name: "thermometer", Label: "Thermometer", Kind: "select", Options: thermometers}),
		f.fill(field{Name: "name", Label: "Name", Hint: "Made from board and day when left empty. Called “" + plan.BeforeOpening + "” or “" + plan.LoopsClosed + "”, only the inputs are read: the two are compared."}),
		f.fill(field{Name: "note", Label: "Note", Kind: "area", Rows: 2, Wide: true, Hint: "How the loops lie, what was remounted, anything that differs from last time."}),
	}
}

// headOf reads a sitting's form.
func headOf(f *form) notebook.Head {
	h := notebook.Head{
		Board: f.Text("board", true), Name: f.Text("name", false), By: f.Text("by", false), Note: f.Text("note", false),
		VoltageMeter: f.Text("voltagemeter", false), CurrentMeter: f.Text("currentmeter", false), Thermometer: f.Text("thermometer", false),
	}
	if e := f.Quantity("room", quantity.Celsius, "°C"); e != nil {
		h.Room, h.RoomBare = f.Text("room", false), "°C"
	}
	on := f.Text("on", true)
	for _, form := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02T15:04:05", time.DateOnly} {
		if t, err := time.Parse(form, on); err == nil {
			h.On, h.Clock = t, form != time.DateOnly
			return h
		}
	}
	if on != "" {
		f.Fault("on", "this is no day", "2026-03-14, or 2026-03-14 15:20")
	}
	return h
}

// open begins a sitting.
func (b *bench) open(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	rec, err := b.record(r.Context(), id)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	h := headOf(f)
	if h.Board != "" && rec.Study.Board(h.Board) == nil {
		f.Fault("board", "no board is called that", "")
	}
	if !f.OK() {
		return b.startPage(w, r, id, rec, f, nil)
	}
	ack, err := b.s.nb.OpenSitting(r.Context(), id, h, b.s.origin(r, ""))
	if err != nil {
		return err
	}
	return seeOther(w, r, benchAt(id, ack.First, ""))
}

// about shows what a sitting says of itself, to be corrected.
func (b *bench) about(w http.ResponseWriter, r *http.Request) error {
	study, o, err := b.orderOf(r)
	if err != nil {
		return err
	}
	h := o.row.Head
	on := h.On.Format(time.DateOnly)
	if h.Clock {
		on = h.On.Format("2006-01-02 15:04")
	}
	return b.aboutPage(w, r, study, o, newForm(url.Values{
		"board": {h.Board}, "room": {h.Room}, "by": {h.By}, "on": {on}, "voltagemeter": {h.VoltageMeter},
		"currentmeter": {h.CurrentMeter}, "thermometer": {h.Thermometer}, "name": {h.Name}, "note": {h.Note},
	}))
}

func (b *bench) aboutPage(w http.ResponseWriter, r *http.Request, study int64, o *order, f *form) error {
	v := &startView{Study: study, Sitting: o.id, About: o.row.ID, Fields: sittingFields(f, o.record.Study)}
	var err error
	if v.Key, err = b.s.newKey(); err != nil {
		return err
	}
	status := http.StatusOK
	if !f.OK() {
		status = http.StatusUnprocessableEntity
	}
	return b.s.render(w, r, "bench-about", page{Status: status, Title: o.sitting.Name, Study: openedFrom(study, o.record), Tab: "bench",
		Styles: []string{"bench.css"}, Data: v})
}

// saveAbout corrects a sitting. It names the row it was made from, so that two
// people do not overwrite each other.
func (b *bench) saveAbout(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	study, o, err := b.orderOf(r)
	if err != nil {
		return err
	}
	h := headOf(f)
	if !f.OK() {
		return b.aboutPage(w, r, study, o, f)
	}
	based, err := numberFrom(f.Raw("based"))
	if err != nil {
		return err
	}
	if _, first, err := b.s.nb.StudyOf(r.Context(), notebook.ASitting, based); err != nil || first != o.id {
		return badRequest("the form was made from another sitting", "Load the page again.")
	}
	if _, err := b.s.nb.CorrectSitting(r.Context(), based, h, b.s.origin(r, "corrected")); err != nil {
		return err
	}
	flash(w, "The sitting was corrected.")
	return seeOther(w, r, benchAt(study, o.id, ""))
}
