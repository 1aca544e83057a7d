package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"railtally/internal/notebook"
	"railtally/internal/study"
)

// railForm is the page that edits a rail.
type railForm struct {
	Study, Revision int64
	Board, Name     string // Name is empty for a new rail
	Fields          []field
	Taps            []tapFields
	More            []field // what few rails need
	Opening         []field // what is known of the place where it is opened
	OpeningOpen     bool
	Expect          field // what it will carry, see expectField
	Phases          int
	MoreOpen        bool
	Path            string
	Problem         *problem
	Faults          []planFault
}

type tapFields struct {
	Title  string
	Fields []field
}

// NextPhases is one phase more.
func (v *railForm) NextPhases() int { return min(v.Phases+1, maxPhases) }

// newRail stands in an address for a rail that does not exist yet. A rail can
// not be called so: names hold no leading space.
const newRail = " new"

func (s *Server) editRail(w http.ResponseWriter, r *http.Request) error {
	_, plan, err := s.planOf(r)
	if err != nil {
		return err
	}
	board, name := nameIn(r, "board"), nameIn(r, "rail")
	b := plan.Study.Board(board)
	if b == nil {
		return notFound("the plan has no board of that name")
	}
	v := url.Values{"turns.0": {"1"}}
	if name == newRail {
		if n := len(b.Rails); n > 0 {
			// The next rail is most likely opened and read as the last was.
			v = railValues(b.Rails[n-1], false)
			for _, k := range []string{"name", "nominal", "bound", "parent", "note", "others", "checks", "aside", "phase.0", "phase.1",
				"o.winding", "o.inductor", "o.step", "o.steptime", "o.capacitor"} {
				v.Del(k)
			}
		}
	} else {
		rail := b.Rail(name)
		if rail == nil {
			return notFound("the board has no rail of that name")
		}
		v = railValues(rail, slices.Contains(b.Inputs, rail))
	}
	return s.railPage(w, r, newForm(v), nil)
}

func (s *Server) railPage(w http.ResponseWriter, r *http.Request, f *form, trouble *problem) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	rec, err := s.nb.Record(r.Context(), id)
	if err != nil {
		return err
	}
	plan := rec.Plan.Study
	v := &railForm{Study: id, Revision: rec.Plan.ID, Board: nameIn(r, "board"), Problem: trouble, Path: r.URL.Path}
	name := nameIn(r, "rail")
	if name != newRail {
		v.Name = name
		for _, x := range study.Check(plan) {
			if len(x.Path) >= 4 && x.Path[0] == "boards" && x.Path[1] == v.Board && x.Path[3] == name {
				v.Faults = append(v.Faults, planFault{Text: sentence(x.Message), Accept: x.Accept})
			}
		}
	}
	v.Phases = phases(f)
	if n, err := strconv.Atoi(r.URL.Query().Get("phases")); err == nil && n > v.Phases && n <= maxPhases {
		v.Phases = n
	}
	v.Fields, v.More = railFields(f, plan, plan.Board(v.Board), name)
	v.More = append(v.More[:len(v.More)-1:len(v.More)-1], append(checkFields(f, plan.Board(v.Board), name), v.More[len(v.More)-1])...)
	v.Opening = openingFields(f)
	v.Expect = expectField(f, plan, v.Board, name)
	for i := range v.Phases {
		t := tapFields{Fields: tapFieldsOf(f, plan, i, v.Phases)}
		if v.Phases > 1 {
			t.Title = "Phase " + strconv.Itoa(i+1)
		}
		v.Taps = append(v.Taps, t)
	}
	for _, x := range v.More {
		v.MoreOpen = v.MoreOpen || x.Value != "" || x.Fault != nil
	}
	for _, x := range v.Opening {
		v.OpeningOpen = v.OpeningOpen || x.Value != "" || x.Fault != nil
	}
	status := http.StatusOK
	if !f.OK() || trouble != nil {
		status = http.StatusUnprocessableEntity
	}
	title := v.Name
	if title == "" {
		title = "New rail"
	}
	return s.render(w, r, "plan-rail", page{Status: status, Title: title + ", " + v.Board, Study: openedFrom(id, rec), Tab: "plan",
		Styles: []string{"bench.css", "plan.css", "plan-check.css"}, Scripts: []string{"plan.js"}, Data: v})
}

// saveRail keeps a rail, a new one too, or takes it out of the plan.
func (s *Server) saveRail(w http.ResponseWriter, r *http.Request) error {
	id, plan, err := s.planOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	board, was := nameIn(r, "board"), nameIn(r, "rail")
	if f.Checked("remove") {
		return s.revise(w, r, newFormFrom(f), "rail "+was+" taken out", func(p *study.Study) error {
			if b := p.Board(board); b != nil {
				gone := func(x *study.Rail) bool { return x.Name == was }
				b.Rails, b.Inputs = slices.DeleteFunc(b.Rails, gone), slices.DeleteFunc(b.Inputs, gone)
			}
			dropDangling(p)
			return nil
		}, func(p *problem) error { return s.railPage(w, r, f, p) }, at("studies", id, "plan", "boards", board))
	}
	old := &study.Rail{}
	if b := plan.Study.Board(board); b != nil && b.Rail(was) != nil {
		old = b.Rail(was)
	}
	rail, input := readRail(f, old)
	readChecks(f, rail, input, plan.Study.Board(board))
	var renames []notebook.Rename
	if old.Name != "" && f.OK() {
		renames = railRenames(old, rail, board)
	}
	to := at("studies", id, "plan")
	if f.Checked("another") {
		to = at("studies", id, "plan", "boards", board, "rails", newRail)
	}
	return s.revise(w, r, f, "rail "+rail.Name, func(p *study.Study) error {
		b := p.Board(board)
		if b == nil {
			return notFound("the plan has no board of that name any more")
		}
		putRail(f, b, was, rail, input)
		renamed(p, names{board: board, rails: map[string]string{was: rail.Name}})
		expectRail(f, p, board, rail.Name)
		return nil
	}, func(p *problem) error { return s.railPage(w, r, f, p) }, to, renames...)
}

// railRenames lets what was recorded follow the names of a rail and its phases.
func railRenames(old, now *study.Rail, board string) []notebook.Rename {
	var out []notebook.Rename
	if old.Name != now.Name {
		out = append(out, notebook.Rename{What: notebook.NamedRail, In: board, From: old.Name, To: now.Name})
	}
	if len(old.Taps) == len(now.Taps) {
		for i, t := range old.Taps {
			if t.Name != now.Taps[i].Name {
				out = append(out, notebook.Rename{What: notebook.NamedTap, In: board, Rail: old.Name, From: t.Name, To: now.Taps[i].Name})
			}
		}
	}
	return out
}

// putRail sets a rail in the place of the one it was, or behind the others. What
// hangs on it follows its name.
func putRail(f *form, b *study.Board, was string, rail *study.Rail, input bool) {
	var taken []string
	for _, x := range append(slices.Clone(b.Rails), b.Inputs...) {
		taken = append(taken, x.Name)
	}
	nameFree(f, rail.Name, was, taken)
	into, other := &b.Rails, &b.Inputs
	if input {
		into, other = other, into
	}
	is := func(x *study.Rail) bool { return x.Name == was }
	*other = slices.DeleteFunc(*other, is)
	if i := slices.IndexFunc(*into, is); i >= 0 {
		(*into)[i] = rail
	} else {
		*into = append(*into, rail)
	}
	for _, x := range append(slices.Clone(b.Rails), b.Inputs...) {
		if x.From != nil && x.From.Rail == was {
			x.From.Rail = rail.Name
		}
		if x.Checks == was {
			x.Checks = rail.Name
		}
		for i := range x.Feeds {
			if x.Feeds[i] == was {
				x.Feeds[i] = rail.Name
			}
		}
	}
}
