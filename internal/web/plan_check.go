package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"sync"

	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// planChecks serves what is to be known before anything is opened: what to expect
// of each aim, what opening a rail does to it, what would help, and in which order
// to work. Every figure is package plan's.
type planChecks struct {
	s *Server

	mu       sync.Mutex
	known    map[int64]*readSoFar
	kept     map[int64]*foreseen // of studies as they are kept
	searches map[int64]*search
}

// readSoFar is what a study's readings say, as of a change.
type readSoFar struct {
	change int64
	tally  *tally.Tally // nil: nothing that counts was read
	proofs []plan.Proof
}

func (s *Server) planCheckRoutes(rt *routes) {
	c := &planChecks{s: s, known: map[int64]*readSoFar{}, kept: map[int64]*foreseen{}, searches: map[int64]*search{}}
	s.checks = c
	rt.handle("GET /studies/{study}/plan/checks", c.show)
	rt.handle("GET /studies/{study}/plan/checks/summary", c.summary)
	rt.handle("POST /studies/{study}/plan/checks/try", c.try)
	rt.handle("POST /studies/{study}/plan/checks/search", c.begin)
	rt.handle("GET /studies/{study}/plan/checks/search", c.progress)
	rt.handle("POST /studies/{study}/plan/checks/cancel", c.cancel)
	rt.handle("POST /studies/{study}/plan/checks/adopt", c.adopt)
	rt.handle("POST /studies/{study}/plan/aims", c.saveAims)
	rt.handle("POST /studies/{study}/plan/expected", c.saveExpected)
	rt.handle("POST /studies/{study}/plan/expected/like", c.expectLike)
	rt.handle("POST /studies/{study}/plan/work", c.saveWork)
	rt.handle("POST /studies/{study}/plan/order", c.saveOrder)
	rt.handle("POST /studies/{study}/plan/boards/{board}/rails/{rail}/check", c.checkRail)
	rt.handle("GET /studies/{study}/plan/sheet", c.sheet)
}

// foreseen is a plan made of a study as it stands, or as somebody is typing it.
type foreseen struct {
	study  *study.Study
	plan   *plan.Plan // nil when there are faults or trouble
	read   *readSoFar
	faults []study.Fault
	rec    *notebook.Record
	wrong  string // why no plan can be made of a study that is sound
}

// asKept is the plan of a study as it is kept, worked out once for each change.
// Nobody may change what it returns.
func (c *planChecks) asKept(ctx context.Context, id int64) (*foreseen, error) {
	c.mu.Lock()
	f := c.kept[id]
	c.mu.Unlock()
	if f != nil {
		news, err := c.s.nb.Changes(ctx, id, f.rec.LastChange, 1)
		if err != nil || len(news) == 0 {
			return f, err
		}
	}
	f, err := c.foresee(ctx, id, nil, nil)
	if err != nil {
		return nil, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.kept) >= cachedStudies && c.kept[id] == nil {
		clear(c.kept)
	}
	c.kept[id] = f
	return f, nil
}

// foresee makes the plan of a study, without the search for what would help. edit
// may change a copy of the study first; compare is plan.Options.Compare.
func (c *planChecks) foresee(ctx context.Context, id int64, edit func(*study.Study) error, compare func(board, rail string) bool) (*foreseen, error) {
	rec, err := c.s.nb.Record(ctx, id)
	if err != nil {
		return nil, err
	}
	p, err := c.s.nb.Plan(ctx, id)
	if err != nil {
		return nil, err
	}
	f := &foreseen{study: p.Study, rec: rec}
	if f.read, err = c.readSoFar(id, rec); err != nil {
		return nil, err
	}
	f.study.Usual = usual(rec.Study)
	if edit != nil {
		if err := edit(f.study); err != nil {
			return nil, err
		}
	}
	if f.faults = study.Check(f.study); len(f.faults) > 0 {
		return f, nil
	}
	o := c.options(f.study, f.read)
	o.Compare = compare
	if f.plan, err = plan.Make(ctx, f.study, o); err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		f.wrong = sentence(err.Error())
	}
	return f, nil
}

func (c *planChecks) options(s *study.Study, read *readSoFar) plan.Options {
	o := plan.Options{Seed: plan.SeedOf(s), NoAdvice: true, Day: c.s.now()}
	if read.tally != nil {
		o.Known = []*tally.Tally{read.tally}
	}
	return o
}

// usual is what a sitting to come will share with the last one.
func usual(s *study.Study) *study.Usual {
	n := len(s.Sittings)
	if n == 0 {
		return s.Usual
	}
	x := s.Sittings[n-1]
	return &study.Usual{VoltageMeter: x.VoltageMeter, CurrentMeter: x.CurrentMeter, Thermometer: x.Thermometer, By: x.By, Room: x.Room}
}

// readSoFar tallies a study's readings, once for each change. Its graph is the
// plan's own, so that nobody else makes it grow.
func (c *planChecks) readSoFar(id int64, rec *notebook.Record) (*readSoFar, error) {
	c.mu.Lock()
	x := c.known[id]
	c.mu.Unlock()
	if x != nil && x.change == rec.LastChange {
		return x, nil
	}
	x = &readSoFar{change: rec.LastChange}
	done, _ := notebook.Finished(rec.Study)
	if len(done.Sittings) > 0 && len(study.Check(done)) == 0 {
		t, err := tally.Run(done, tally.Options{})
		if err != nil {
			return nil, err
		}
		x.tally = t
		if x.proofs, err = plan.Prove(t); err != nil {
			return nil, err
		}
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.known) >= cachedStudies && c.known[id] == nil {
		clear(c.known)
	}
	c.known[id] = x
	return x, nil
}

// checksView is the page.
type checksView struct {
	Study, Revision int64
	Faults          []planFault
	Wrong           string
	Aims            aimsView
	AimRows         []aimRow
	AimFields       []field
	Expected        []expectedBoard
	Others          []option // studies that rails can be expected to be like
	ExpectFault     *fieldFault
	Questions       []string
	Boards          []checkedBoard
	Search          *searchView
	Work            *workView
	Proofs          []proofLine
	Trials          []string
	Problem         *problem
}

type proofLine struct {
	Name, Text string
	Holds      bool
}

// checkedBoard is a board with its rails' lanes and checks.
type checkedBoard struct {
	Name, State string
	Lanes       *benchPicture
	Wait        string // why there are no lanes
	Rails       []checkedRail
	Remarks     []plan.BoardRemark
}

func (c *planChecks) show(w http.ResponseWriter, r *http.Request) error {
	return c.page(w, r, nil, nil)
}

// page shows the page; form holds one that was not accepted.
func (c *planChecks) page(w http.ResponseWriter, r *http.Request, f *form, trouble *problem) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	x, err := c.asKept(r.Context(), id)
	if err != nil {
		return err
	}
	rec := x.rec
	status := http.StatusOK
	if f != nil && !f.OK() || trouble != nil {
		status = http.StatusUnprocessableEntity
	}
	if f == nil {
		f = newForm(nil)
	}
	v := &checksView{Study: id, Revision: rec.Plan.ID, Problem: trouble, Wrong: x.wrong}
	for _, k := range x.faults {
		v.Faults = append(v.Faults, planFault{sentence(k.Message), k.Accept, faultPath(id, k)})
	}
	v.AimRows, v.AimFields = aimRows(x.study), aimFields(f, x.study)
	v.Expected = expectedTable(f, x)
	if v.Others, err = c.otherStudies(r.Context(), id); err != nil {
		return err
	}
	v.ExpectFault = f.fault("like")
	v.Work = workOf(f, x)
	v.Aims = aimsOf(id, x, nil)
	if x.plan != nil {
		for _, q := range x.plan.Questions {
			v.Questions = append(v.Questions, q.Text+".")
		}
		for i, b := range x.plan.Boards {
			v.Boards = append(v.Boards, checkedBoardOf(x.plan, b, fmt.Sprintf("foreseen-%d", i)))
		}
		v.Trials = trialsOf(x.plan)
	}
	for _, p := range x.read.proofs {
		v.Proofs = append(v.Proofs, proofLineOf(p))
	}
	v.Search = c.searchOf(id, rec.LastChange)
	return c.s.render(w, r, "plan-check", page{Status: status, Title: "Before opening", Study: openedFrom(id, rec), Tab: "plan",
		Styles: []string{"bench.css", "plan.css", "plan-check.css"}, Data: v})
}

// trialsOf lists the trials that the work holds, each once.
func trialsOf(p *plan.Plan) (out []string) {
	for _, t := range p.Work {
		if t.Proof == "" {
			continue
		}
		text := t.Board + ": " + t.Text
		if !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return out
}

// checkedBoardOf sets out the rails of a board as they are foreseen in the state in
// which it draws most, and their checks. id begins the picture's identifiers.
func checkedBoardOf(p *plan.Plan, b *plan.Board, id string) checkedBoard {
	v := checkedBoard{Name: b.Name, Remarks: b.Remarks(false)}
	for _, r := range b.Rails {
		v.Rails = append(v.Rails, checkedRailOf(b, r))
	}
	t, on, err := p.Foreseen(b.Name, "")
	if err == nil {
		v.State = on.State
		v.Lanes, err = lanesOf(t, on, id)
	}
	if err != nil {
		v.Lanes, v.Wait = nil, sentence(err.Error())
	}
	return v
}

// summary is the part of the plan page that says what is to be expected.
func (c *planChecks) summary(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	x, err := c.asKept(r.Context(), id)
	if err != nil {
		return err
	}
	return c.s.part(w, r, http.StatusOK, "plan", "plan-check-said", aimsOf(id, x, nil))
}

// try says what would be expected with currents as they are typed.
func (c *planChecks) try(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	was, err := c.asKept(r.Context(), id)
	if err != nil {
		return err
	}
	x, err := c.foresee(r.Context(), id, func(s *study.Study) error { readExpected(f, s); return nil },
		func(string, string) bool { return false })
	if err != nil {
		return err
	}
	v := aimsOf(id, x, was.plan)
	for _, name := range f.order {
		v.Faults = append(v.Faults, *f.fault(name))
	}
	return c.s.part(w, r, http.StatusOK, "plan-check", "plan-check-tried", v)
}

// sheet is the bench sheet, to be printed; it brings its own style and no script,
// so it has a policy of its own.
func (c *planChecks) sheet(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	x, err := c.asKept(r.Context(), id)
	if err != nil {
		return err
	}
	if x.plan == nil {
		return &problem{http.StatusConflict, "No bench sheet yet", "the plan is not complete", "Look at what is missing on the plan first."}
	}
	body, err := c.sheetOf(r.Context(), id, x.plan)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox allow-modals")
	w.Header().Set("Cache-Control", "no-store")
	return send(w, r, http.StatusOK, "text/html; charset=utf-8", body)
}
