package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/study"
)

// jobsView is the order of work of one board: every step from the untouched board
// to its sittings, to be ticked off.
type jobsView struct {
	Study  int64
	Board  string
	Boards []option
	Key    string
	By     string
	Steps  []*jobView
	Done   int
	Faults []planFault
	Wrong  string // why there are no steps
}

// jobView is one of them.
type jobView struct {
	N                   int
	Phase               string // where it begins
	Title, Text, Takes  string
	Job                 study.Job
	Rail, State         string
	Trial               bool
	Cautions            []string
	Here                bool // what comes next
	Done, Skipped       bool
	Said                string // "done on 13 March 2026, 16:05 by first bench"
	Note                string
	Tick                int64 // the row that says so; 0: none
	Reads               bool  // readings complete it, no tick
	Sittings            []sittingLine
	Begin               string // where a sitting for it is begun
	Proofs              []proofLine
	Elsewhere, ElseText string // a page that helps with it
}

// stepsOf sets out a board's steps.
func (b *bench) stepsOf(id int64, x *foreseen, board string) (out []*jobView, done int, err error) {
	rec := x.rec
	orders := map[string][]*order{} // sittings by what they are for
	for i := range rec.Sittings {
		if rec.Sittings[i].Board != board {
			continue
		}
		o, err := newOrder(rec, rec.Sittings[i].First, "")
		if err != nil {
			return nil, 0, err
		}
		kind := plan.KindOf(o.sitting.Name)
		orders[kind] = append(orders[kind], o)
	}
	phase := ""
	for i, t := range x.plan.Jobs(board) {
		s := &jobView{N: i + 1, Title: jobTitle(t), Text: t.Text, Takes: plan.Minutes(t.Takes), Job: t.Job, State: t.State, Trial: t.Proof != ""}
		if t.Phase != phase {
			phase, s.Phase = t.Phase, capital(t.Phase)
		}
		if t.Job.OfRail() {
			s.Rail = t.Rails[0]
		}
		for _, c := range t.Cautions {
			s.Cautions = append(s.Cautions, c.Text())
		}
		b.complete(s, id, x, board, orders)
		for _, k := range rec.Ticks {
			if !k.Same(&study.Tick{Board: board, Job: s.Job, Rail: s.Rail, State: s.State}) {
				continue
			}
			s.Tick, s.Skipped, s.Note = k.ID, k.Skipped, k.Note
			s.Done = s.Done || !k.Skipped
			s.Said = tickSaid(&k)
		}
		if s.Done || s.Skipped {
			done++
		}
		out = append(out, s)
	}
	if i := slices.IndexFunc(out, func(s *jobView) bool { return !s.Done && !s.Skipped }); i >= 0 {
		out[i].Here = true
	}
	return out, done, nil
}

// complete finds what readings say of a step.
func (b *bench) complete(s *jobView, id int64, x *foreseen, board string, orders map[string][]*order) {
	st := x.rec.Study
	sittings := func(kind, name string, want int) {
		s.Reads = true
		full := 0
		for _, o := range orders[kind] {
			var read, asked int
			for _, v := range o.visits {
				read, asked = read+v.Done(), asked+v.Asked()
			}
			if read > 0 && o.first() == nil {
				full++
			}
			s.Sittings = append(s.Sittings, sittingLine{Path: benchAt(id, o.id, ""), Name: o.sitting.Name, On: dayOf(o.sitting), By: o.sitting.By, Readings: read, Asked: asked})
		}
		s.Done = full >= want
		q := url.Values{"board": {board}}
		if name != "" {
			q.Set("name", plan.SittingFor(st, board, name))
		}
		if name == "" || len(s.Sittings) == 0 {
			s.Begin = at("studies", id, "bench") + "?" + q.Encode() + "#new"
		}
	}
	inputs := len(st.Board(board).Inputs) > 0
	proofs := func(code string) {
		for _, p := range x.read.proofs {
			if p.Code == code && p.Board == board && (code == "surgery" || p.Rail == s.Rail && (s.State == "" || code != "known-load" || p.State == s.State)) {
				s.Proofs = append(s.Proofs, proofLineOf(p))
			}
		}
	}
	switch s.Job {
	case study.JobBefore:
		if inputs {
			sittings(plan.BeforeOpening, plan.BeforeOpening, 1)
		} else {
			s.Elsewhere, s.ElseText = at("studies", id, "plan", "boards", board), "Record an input in the plan"
		}
	case study.JobClosed:
		if inputs {
			sittings(plan.LoopsClosed, plan.LoopsClosed, 1)
		}
		proofs("surgery")
	case study.JobPhotograph:
		s.Elsewhere, s.ElseText = at("studies", id, "plan", "boards", board), "Add the photographs and mark the places"
	case study.JobOpen, study.JobPowerUp:
		s.Elsewhere, s.ElseText = at("studies", id, "plan", "boards", board, "rails", s.Rail), "What is planned for "+s.Rail
	case study.JobKnownLoad, study.JobTurns:
		proofs(map[study.Job]string{study.JobKnownLoad: "known-load", study.JobTurns: "turns"}[s.Job])
		recorded := s.State != "" || slices.ContainsFunc(st.Board(board).Rails, func(r *study.Rail) bool { return r.Checks != "" && r.Checks == s.Rail })
		if s.Reads = recorded; recorded {
			s.Done = len(s.Proofs) > 0
			if len(orders[""]) == 0 {
				s.Begin = at("studies", id, "bench") + "?" + url.Values{"board": {board}}.Encode() + "#new"
			} else {
				o := orders[""][len(orders[""])-1]
				s.Sittings = append(s.Sittings, sittingLine{Path: benchAt(id, o.id, ""), Name: o.sitting.Name, On: dayOf(o.sitting), By: o.sitting.By})
			}
		}
	case study.JobSitting:
		sittings("", "", max(1, plan.SchemeOf(st).Sittings))
	}
}

func jobTitle(t plan.Task) string {
	rail := ""
	if len(t.Rails) > 0 {
		rail = t.Rails[0]
	}
	switch t.Job {
	case study.JobBefore:
		return "Input power, nothing opened"
	case study.JobPhotograph:
		return "Photographs"
	case study.JobOpen:
		return "Open " + rail
	case study.JobPowerUp:
		return "Power up with " + rail + " closed again"
	case study.JobClosed:
		return "Input power, all loops closed"
	case study.JobKnownLoad:
		return "Known load on " + rail
	case study.JobTurns:
		return "Turns of " + rail
	}
	return "Sittings"
}

func capital(text string) string { return strings.TrimSuffix(sentence(text), ".") }

// tickSaid is who ticked a step, and when.
func tickSaid(k *notebook.Tick) string {
	out := "done"
	if k.Skipped {
		out = "skipped"
	}
	if !k.On.IsZero() {
		out += " on " + k.On.Format("2 January 2006, 15:04")
	}
	if k.By != "" {
		out += " by " + k.By
	}
	return out
}

func proofLineOf(p plan.Proof) proofLine {
	return proofLine{p.Board + ", " + p.Rail + " in " + p.State + ": " + p.What.String(), p.Text.String(), p.Holds}
}

// work shows the order of work of a board.
func (b *bench) work(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	x, err := b.s.checks.asKept(r.Context(), id)
	if err != nil {
		return err
	}
	v := &jobsView{Study: id, Board: r.URL.Query().Get("board"), Wrong: x.wrong}
	st := x.rec.Study
	if v.Board == "" && len(st.Boards) > 0 {
		v.Board = st.Boards[0].Name
	}
	if len(st.Boards) > 0 && st.Board(v.Board) == nil {
		return notFound("this study has no such board")
	}
	for _, y := range st.Boards {
		v.Boards = append(v.Boards, option{Value: y.Name, Label: y.Name, Chosen: y.Name == v.Board})
	}
	for _, k := range x.faults {
		v.Faults = append(v.Faults, planFault{sentence(k.Message), k.Accept, faultPath(id, k)})
	}
	if v.Key, err = b.s.newKey(); err != nil {
		return err
	}
	if n := len(st.Sittings); n > 0 {
		v.By = st.Sittings[n-1].By
	} else if st.Usual != nil {
		v.By = st.Usual.By
	}
	if n := len(st.Done); n > 0 && st.Done[n-1].By != "" {
		v.By = st.Done[n-1].By
	}
	if x.plan != nil {
		if v.Steps, v.Done, err = b.stepsOf(id, x, v.Board); err != nil {
			return err
		}
	}
	return b.s.render(w, r, "bench-work", page{Title: "Order of work, " + v.Board, Study: openedFrom(id, x.rec), Tab: "bench", Live: true, Class: "work",
		Styles: []string{"bench.css", "plan-check.css"}, Data: v})
}

// tick says that a step was done or passed over, or takes back that it was.
func (b *bench) tick(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	board := f.Raw("board")
	to := workAt(id, board)
	origin := b.s.origin(r, "")
	if back, err := strconv.ParseInt(f.Raw("back"), 10, 64); err == nil {
		if of, _, err := b.s.nb.StudyOf(r.Context(), notebook.ATick, back); err != nil || of != id {
			return notFound("this study has no such step")
		}
		origin.Why = "taken back"
		if f.Checked("undo") {
			_, err = b.s.nb.Undo(r.Context(), notebook.ATick, back, origin)
		} else {
			var ack notebook.Ack
			if ack, err = b.s.nb.Withdraw(r.Context(), notebook.ATick, back, origin); err == nil {
				flashUndo(w, "Taken back; it is to be done again.", at("studies", id, "bench", "work"), map[string]string{"board": board, "back": strconv.FormatInt(ack.ID, 10), "undo": "yes"})
			}
		}
		if err != nil {
			return err
		}
		return seeOther(w, r, to)
	}
	rec, err := b.record(r.Context(), id)
	if err != nil {
		return err
	}
	wall, taken := b.wall(f.Raw("taken"))
	k := study.Tick{Board: board, Job: study.Job(f.Raw("job")), Rail: f.Raw("rail"), State: f.Raw("state"), Skipped: f.Raw("what") == "skip",
		On: wall, By: f.Text("by", false), Note: f.Text("note", false)}
	brd := rec.Study.Board(k.Board)
	if brd == nil || k.Rail != "" && brd.Rail(k.Rail) == nil || k.State != "" && rec.Study.State(k.State) == nil {
		return badRequest("the plan has no such step any more", "Load the page again.")
	}
	origin.Taken, origin.Who, origin.Key = taken, k.By, f.Raw("key")
	ack, err := b.s.nb.SetTick(r.Context(), id, k, origin)
	if err != nil {
		return err
	}
	text := "Done: "
	if k.Skipped {
		text = "Skipped: "
	}
	flashUndo(w, text+jobTitle(plan.Task{Job: k.Job, Rails: []string{k.Rail}})+".", at("studies", id, "bench", "work"),
		map[string]string{"board": board, "back": strconv.FormatInt(ack.ID, 10), "undo": "yes"})
	return seeOther(w, r, to)
}

// workLines tells how far the work at every board is.
func (b *bench) workLines(ctx context.Context, id int64) (out []workLine, err error) {
	x, err := b.s.checks.asKept(ctx, id)
	if err != nil || x.plan == nil {
		return nil, err
	}
	for _, y := range x.rec.Study.Boards {
		steps, done, err := b.stepsOf(id, x, y.Name)
		if err != nil {
			return nil, err
		}
		l := workLine{Board: y.Name, Path: workAt(id, y.Name), Done: done, Of: len(steps)}
		for _, s := range steps {
			if s.Here {
				l.Next = s.Title
			}
		}
		out = append(out, l)
	}
	return out, nil
}

// workAt is the address of a board's order of work.
func workAt(id int64, board string) string {
	return at("studies", id, "bench", "work") + "?" + url.Values{"board": {board}}.Encode() + "#here"
}
