package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"unicode"
	"unicode/utf8"

	"railtally/internal/across"
	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/table"
	"railtally/internal/tally"
)

func (s *Server) compareRoutes(rt *routes) {
	rt.handle("GET /studies/compare", s.showCompare)
}

// compareView is two studies of the notebook side by side.
type compareView struct {
	Studies [2]field
	Trouble string
	Labels  [2]string
	Rows    []compareRow
	Level   string
	Notes   []string
	Same    []option // instruments that could be one, to be ticked
}

// compareRow is one state of a board then and now.
type compareRow struct {
	State, ThenBoard, NowBoard string
	Then, Now                  string // totals
	ThenHref, NowHref          string // what they open to
	Difference, Verdict        string
	Resolved                   bool
	Sentence                   string
}

// showCompare compares the studies that the address names. Everything is in the
// address, so that a comparison can be kept as a link.
func (s *Server) showCompare(w http.ResponseWriter, r *http.Request) error {
	list, err := s.nb.Studies(r.Context())
	if err != nil {
		return err
	}
	q := r.URL.Query()
	var v compareView
	for i, name := range []string{"first", "second"} {
		f := field{Name: name, Label: []string{"Then", "Now"}[i], Kind: "select", Wide: true}
		for _, x := range list {
			if x.Readings > 0 {
				id := strconv.FormatInt(x.ID, 10)
				f.Options = append(f.Options, option{Value: id, Label: toldApart(list, x), Chosen: id == q.Get(name)})
			}
		}
		v.Studies[i] = f
	}
	if q.Has("first") && q.Has("second") {
		if err := s.compare(r, &v, q["same"]); err != nil {
			return err
		}
	}
	return s.render(w, r, "compare", page{Title: "Then and now", Data: v})
}

// toldApart is the question of a study, with its number and size where another
// study asks the same.
func toldApart(list []notebook.Summary, x notebook.Summary) string {
	for _, other := range list {
		if other.ID != x.ID && other.Question == x.Question {
			return fmt.Sprintf("%s (study %d, begun %s, %d readings)", x.Question, x.ID, x.Began.Local().Format("2 January 2006"), x.Readings)
		}
	}
	return x.Question
}

// compare fills in what differs, or why nothing can be said.
func (s *Server) compare(r *http.Request, v *compareView, same []string) error {
	var ids [2]int64
	var studies [2]*study.Study
	for i, name := range []string{"first", "second"} {
		id, err := numberFrom(r.URL.Query().Get(name))
		if err != nil {
			return err
		}
		rec, err := s.nb.Record(r.Context(), id)
		if err != nil {
			return err
		}
		ids[i] = id
		studies[i], _ = notebook.Finished(rec.Study)
		if faults := study.Check(studies[i]); len(faults) > 0 {
			v.Trouble = rec.Study.Question + ": its plan is not complete yet"
			return nil
		}
	}
	if ids[0] == ids[1] {
		v.Trouble = "a study differs from itself in nothing; choose two"
		return nil
	}
	for _, in := range across.Doubtful(studies[0], studies[1]) {
		v.Same = append(v.Same, option{Value: in, Label: in, Chosen: slices.Contains(same, in)})
	}
	same = slices.DeleteFunc(slices.Clone(same), func(name string) bool {
		return !slices.ContainsFunc(v.Same, func(o option) bool { return o.Value == name })
	})
	m, err := across.Merge(studies[0], studies[1], across.Options{Same: same})
	if err != nil {
		v.Trouble = err.Error()
		return nil
	}
	t, err := tally.Run(m.Study, tally.Options{})
	if err != nil {
		return err
	}
	v.Labels, v.Level = m.Labels, t.LevelText().String()
	v.Notes = []string{m.SittingsText(t)}
	for _, n := range m.Notes {
		first, size := utf8.DecodeRuneInString(n)
		v.Notes = append(v.Notes, string(unicode.ToUpper(first))+n[size:]+".")
	}
	for _, d := range t.Differences {
		v.Rows = append(v.Rows, compareRow{
			State: d.First.State.Name, ThenBoard: d.Second.Board.Name, NowBoard: d.First.Board.Name,
			Then: table.Stated(d.Second.Total, quantity.Watt), Now: table.Stated(d.First.Total, quantity.Watt),
			Difference: table.Stated(d.Difference, quantity.Watt), Verdict: d.VerdictText().String(), Resolved: d.Verdict == tally.Resolved,
			ThenHref: at("studies", ids[0], "results"), NowHref: at("studies", ids[1], "results"), Sentence: d.Sentence().String(),
		})
	}
	return nil
}
