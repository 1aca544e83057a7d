package web

import (
	"net/http"
	"net/url"
	"slices"

	"railtally/internal/notebook"
	"railtally/internal/study"
)

// boardForm is the page that edits a board.
type boardForm struct {
	Study, Revision int64
	Name            string
	Fields          []field
	Rails           []railLine
	Problem         *problem
}

func boardFields(f *form, plan *study.Study, fresh bool) []field {
	out := []field{
		f.fill(field{Name: "name", Label: "Name of the board", Required: true, Hint: "As you call the specimen: Otter, sample 2."}),
		f.fill(field{Name: "chip", Label: "Chip under test", Hint: "As it is to be shown."}),
		f.fill(field{Name: "note", Label: "Note", Wide: true}),
	}
	if fresh && len(plan.Boards) > 0 {
		like := []option{{Label: "no other board"}}
		for _, b := range plan.Boards {
			like = append(like, option{Value: b.Name, Label: b.Name})
		}
		out = append(out, f.fill(field{Name: "like", Label: "Rails as on", Kind: "select", Options: like}))
	}
	return out
}

func (s *Server) addBoard(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	b := &study.Board{Name: f.Text("name", true), Chip: f.Text("chip", false), Note: f.Text("note", false)}
	// A board without rails is of no use yet: its first rail comes next.
	to := at("studies", id, "plan", "boards", b.Name)
	if f.Raw("like") == "" {
		to = at("studies", id, "plan", "boards", b.Name, "rails", newRail)
	}
	return s.revise(w, r, f, "board "+b.Name, func(p *study.Study) error {
		nameFree(f, b.Name, "", boardNames(p))
		if like := p.Board(f.Raw("like")); like != nil {
			// A revision is written as text before anything else reads it, so the
			// boards may share their rails until then.
			b.Rails, b.Inputs = like.Rails, like.Inputs
		}
		p.Boards = append(p.Boards, b)
		return nil
	}, func(p *problem) error { return s.boardPage(w, r, "", f, p) }, to)
}

func boardNames(p *study.Study) []string {
	out := make([]string, len(p.Boards))
	for i, b := range p.Boards {
		out[i] = b.Name
	}
	return out
}

// nameFree notes a fault where a name is taken by another.
func nameFree(f *form, name, was string, taken []string) {
	if name != was && slices.Contains(taken, name) {
		f.Fault("name", "another is called that already", "another name")
	}
}

func (s *Server) showBoard(w http.ResponseWriter, r *http.Request) error {
	_, plan, err := s.planOf(r)
	if err != nil {
		return err
	}
	b := plan.Study.Board(nameIn(r, "board"))
	if b == nil {
		return notFound("the plan has no board of that name")
	}
	return s.boardPage(w, r, b.Name, newForm(url.Values{"name": {b.Name}, "chip": {b.Chip}, "note": {b.Note}}), nil)
}

func (s *Server) boardPage(w http.ResponseWriter, r *http.Request, name string, f *form, trouble *problem) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	rec, err := s.nb.Record(r.Context(), id)
	if err != nil {
		return err
	}
	v := &boardForm{Study: id, Revision: rec.Plan.ID, Name: name, Fields: boardFields(f, rec.Plan.Study, name == ""), Problem: trouble}
	if b := rec.Plan.Study.Board(name); b != nil {
		v.Rails = boardOf(id, b, &pinned{}).Lines
	}
	status := http.StatusOK
	if !f.OK() || trouble != nil {
		status = http.StatusUnprocessableEntity
	}
	title := name
	if title == "" {
		title = "New board"
	}
	return s.render(w, r, "plan-board", page{Status: status, Title: title, Study: openedFrom(id, rec), Tab: "plan",
		Styles: []string{"bench.css", "plan.css"}, Data: v})
}

// saveBoard changes what a board says of itself, or takes it out of the plan.
func (s *Server) saveBoard(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	was := nameIn(r, "board")
	if f.Checked("remove") {
		return s.revise(w, r, newFormFrom(f), "board "+was+" taken out, with what was said of it", func(p *study.Study) error {
			p.Boards = slices.DeleteFunc(p.Boards, func(b *study.Board) bool { return b.Name == was })
			dropDangling(p)
			return nil
		}, func(p *problem) error { return s.planPage(w, r, nil, p) }, "")
	}
	name, chip, note := f.Text("name", true), f.Text("chip", false), f.Text("note", false)
	var renames []notebook.Rename
	if name != was && name != "" {
		renames = append(renames, notebook.Rename{What: notebook.NamedBoard, From: was, To: name})
	}
	return s.revise(w, r, f, "board "+name, func(p *study.Study) error {
		b := p.Board(was)
		if b == nil {
			return notFound("the plan has no board of that name any more")
		}
		nameFree(f, name, was, boardNames(p))
		b.Name, b.Chip, b.Note = name, chip, note
		renamed(p, names{boards: map[string]string{was: name}})
		return nil
	}, func(p *problem) error { return s.boardPage(w, r, was, f, p) }, at("studies", id, "plan", "boards", name), renames...)
}

// newFormFrom is a form with the same values and no faults.
func newFormFrom(f *form) *form { return newForm(f.values) }
