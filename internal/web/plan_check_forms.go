package web

import (
	"context"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// aimRow is one aim that the study states.
type aimRow struct {
	N        int
	Name, To string
	Note     string
}

func aimRows(s *study.Study) (out []aimRow) {
	for i, a := range s.Aims {
		r := aimRow{N: i, Name: a.First.String(), To: entryText(&a.To), Note: a.Note}
		if a.Kind == study.ClaimDifference {
			r.Name += " against " + a.Against.String()
		}
		out = append(out, r)
	}
	return out
}

// statesOn lists every state of every board for a select.
func statesOn(first string, s *study.Study) []option {
	out := []option{{Label: first}}
	for _, b := range s.Boards {
		for _, st := range s.States {
			out = append(out, option{Value: listed(b.Name, st.Name), Label: b.Name + " " + st.Name})
		}
	}
	return out
}

func aimFields(f *form, s *study.Study) []field {
	return []field{
		f.fill(field{Name: "aim", Label: "Of", Kind: "select", Options: statesOn("choose a state", s), Required: true}),
		f.fill(field{Name: "against", Label: "Against", Kind: "select", Options: statesOn("nothing: its total", s)}),
		f.fill(field{Name: "to", Label: "Known to within", Required: true, Hint: "0.1 W; of a total also 2 %. Half the width of its interval."}),
		f.fill(field{Name: "aimnote", Label: "Note"}),
	}
}

func onOf(value string) (study.StateOn, bool) {
	x := unlisted(value, 2)
	if x == nil {
		return study.StateOn{}, false
	}
	return study.StateOn{Board: x[0], State: x[1]}, true
}

// saveAims adds an aim, or takes one out.
func (c *planChecks) saveAims(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if out := f.Raw("out"); out != "" {
		n, err := strconv.Atoi(out)
		return c.keep(w, r, f, "aim taken out", "aims", func(s *study.Study) error {
			if err != nil || n < 0 || n >= len(s.Aims) {
				return badRequest("the study has no such aim", "Load the page again.")
			}
			s.Aims = slices.Delete(s.Aims, n, n+1)
			return nil
		})
	}
	a := &study.Aim{Kind: study.ClaimTotal, Note: f.Text("aimnote", false)}
	var ok bool
	if a.First, ok = onOf(f.Raw("aim")); !ok {
		f.Fault("aim", "of which state?", "")
	}
	if a.Against, ok = onOf(f.Raw("against")); ok {
		a.Kind = study.ClaimDifference
		if a.First == a.Against {
			f.Fault("against", "this is the same state", "another state, or another board")
		}
	}
	unit, bare := quantity.Watt, "W"
	if a.Kind == study.ClaimTotal && strings.HasSuffix(strings.TrimSpace(f.Raw("to")), "%") {
		unit, bare = quantity.None, "%"
	}
	switch e := written(f.Quantity("to", unit, bare)); {
	case e == nil:
		f.Fault("to", "how well must it be known?", "0.1 W, or 2 %")
	case len(e.Values) != 1 || e.Tol != nil:
		f.Fault("to", "an aim is one value", "0.1 W, or 2 %")
	case !(e.Value() > 0):
		f.Fault("to", "nothing is known to "+e.String()+" or better", "a value above zero, as 0.1 W")
	default:
		a.To = *e
	}
	return c.keep(w, r, f, "aim", "aims", func(s *study.Study) error {
		s.Aims = append(s.Aims, a)
		return nil
	})
}

// keep applies an edit to the plan, and leads back to the section of the page that
// the form stands in.
func (c *planChecks) keep(w http.ResponseWriter, r *http.Request, f *form, why, section string, edit func(*study.Study) error) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	return c.s.revise(w, r, f, why, edit, func(p *problem) error { return c.page(w, r, f, p) }, at("studies", id, "plan", "checks")+"#"+section)
}

// expectedBoard is the table of what a board's rails are expected to carry.
type expectedBoard struct {
	Name   string
	States []string
	Rails  []expectedRail
}

type expectedRail struct {
	Name, Read string // Read: there are readings, which count where nothing is said
	Cells      []field
}

// cell names the field of a rail in a state; an empty state is every other one.
func cell(board, rail, state string) string { return "i" + listed(board, rail, state) }

func expectedTable(f *form, x *foreseen) (out []expectedBoard) {
	s := x.study
	_, typed := f.values["expecting"]
	for _, b := range s.Boards {
		v := expectedBoard{Name: b.Name}
		for _, st := range s.States {
			v.States = append(v.States, st.Name)
		}
		for _, r := range slices.Concat(b.Rails, b.Inputs) {
			if len(r.Taps) == 0 {
				continue
			}
			row := expectedRail{Name: r.Name}
			for i, st := range append([]string{""}, v.States...) {
				name := cell(b.Name, r.Name, st)
				if !typed {
					for _, e := range s.Expected {
						if e.Board == b.Name && e.Rail == r.Name && e.State == st {
							f.values.Set(name, expectedText(e))
						}
					}
				}
				label := r.Name + " in " + st
				if i == 0 {
					label = r.Name + " in every other state"
				}
				row.Cells = append(row.Cells, f.fill(field{Name: name, Label: label}))
			}
			if x.read.tally != nil {
				for _, st := range x.read.tally.Boards {
					if st.Name == b.Name && len(st.States) > 0 {
						row.Read = "read"
					}
				}
			}
			v.Rails = append(v.Rails, row)
		}
		out = append(out, v)
	}
	return out
}

func expectedText(e *study.Expected) string {
	text := entryText(&e.Current)
	if e.Scatter != nil {
		text += " scatter " + entryText(e.Scatter)
	}
	return text
}

var scatterWord = regexp.MustCompile(`(?i)[,;]?\s*\bscatter(?:s|ing)?\b\s*(?:by|of)?\s*`)

// readExpectation reads a field such as "3 A", "10..50 mA" or "3 A scatter 6 mA";
// nil where it is empty or wrong.
func readExpectation(f *form, name, board, rail, state string) *study.Expected {
	text := strings.TrimSpace(f.Raw(name))
	if text == "" {
		return nil
	}
	const like = "3 A, 10..50 mA, or 3 A scatter 6 mA"
	e := &study.Expected{Board: board, Rail: rail, State: state}
	parts := scatterWord.Split(text, 2)
	wrong := func(message string) *study.Expected {
		f.Fault(name, rail+": "+message, like)
		return nil
	}
	cur, err := quantity.Parse(parts[0], quantity.Ampere, "A")
	switch {
	case err != nil:
		f.Wrong(name, err)
		return nil
	case cur.Kind == quantity.Repeats:
		return wrong("one value or a band is expected, not several")
	case cur.Value() < 0 || slices.Min(cur.Values) < 0:
		return wrong(cur.String() + " is below zero")
	case cur.Tol != nil && cur.Tol.Minus > cur.Value():
		return wrong(cur.String() + " reaches below zero")
	}
	e.Current = *written(&cur)
	if len(parts) == 2 {
		sc, err := quantity.Parse(parts[1], quantity.Ampere, "A")
		switch {
		case err != nil:
			f.Wrong(name, err)
			return nil
		case len(sc.Values) != 1 || sc.Tol != nil || sc.Value() < 0:
			return wrong("a scatter is one value, not below zero")
		}
		e.Scatter = written(&sc)
	}
	return e
}

// setExpected puts what is expected of a rail in a state in the place of what was;
// nil takes it out.
func setExpected(s *study.Study, board, rail, state string, e *study.Expected) {
	i := slices.IndexFunc(s.Expected, func(x *study.Expected) bool { return x.Board == board && x.Rail == rail && x.State == state })
	switch {
	case e == nil && i >= 0:
		s.Expected = slices.Delete(s.Expected, i, i+1)
	case e != nil && i >= 0:
		s.Expected[i] = e
	case e != nil:
		s.Expected = append(s.Expected, e)
	}
}

// readExpected puts what the table says into a study.
func readExpected(f *form, s *study.Study) {
	for _, b := range s.Boards {
		for _, r := range slices.Concat(b.Rails, b.Inputs) {
			for _, st := range append([]*study.State{{}}, s.States...) {
				name := cell(b.Name, r.Name, st.Name)
				if _, asked := f.values[name]; asked {
					setExpected(s, b.Name, r.Name, st.Name, readExpectation(f, name, b.Name, r.Name, st.Name))
				}
			}
		}
	}
}

func (c *planChecks) saveExpected(w http.ResponseWriter, r *http.Request) error {
	_, p, err := c.s.planOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	readExpected(f, p.Study) // for its faults
	return c.keep(w, r, f, "expected currents", "expected", func(s *study.Study) error { readExpected(f, s); return nil })
}

// otherStudies lists the studies with readings that a rail can be expected to be
// like.
func (c *planChecks) otherStudies(ctx context.Context, id int64) (out []option, err error) {
	list, err := c.s.nb.Studies(ctx)
	for _, x := range list {
		if x.ID != id && x.Readings > 0 {
			out = append(out, option{Value: strconv.FormatInt(x.ID, 10), Label: x.Question})
		}
	}
	return out, err
}

// expectLike expects what the rails of another study carried: what it read is
// written down here, so that the plan stays as it is when the other changes.
func (c *planChecks) expectLike(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	other, err := numberFrom(f.Raw("like"))
	if err != nil {
		return err
	}
	rec, err := c.s.nb.Record(r.Context(), other)
	if err != nil {
		return err
	}
	read, err := c.readSoFar(other, rec)
	if err != nil {
		return err
	}
	if read.tally == nil {
		f.Fault("like", "that study has no readings that count yet", "another study")
	}
	return c.keep(w, r, f, "expected as in “"+rec.Study.Question+"”", "expected", func(s *study.Study) error {
		if n := plan.ExpectLike(s, read.tally); n == 0 {
			f.Fault("like", "no rail and state of that study are called as here", "a study whose rails have these names")
		}
		return nil
	})
}
