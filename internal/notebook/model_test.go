package notebook

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"railtally/internal/quantity"
)

// modelRow is a row of a chain as the model has it: what it says, "" when it is
// withdrawn, and the row that first said so.
type modelRow struct {
	id, said int64 // said: the row whose content it is
	text     string
}

// model is a notebook in memory: chains of temperatures by name, and plans.
type model struct {
	nbs                   []*Notebook // two of one file, as two processes would have
	study, sitting, first int64
	chains                map[string][]modelRow // the name decides the slot
	plans                 []modelRow            // text is the question
	n                     int
}

// TestOrders: whatever is done in whatever order through two open notebooks of
// one file, the file says what the model says, and nothing that was refused left
// a trace.
func TestOrders(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	run := 0
	empty := emptyFile(t)
	rapid.Check(t, func(t *rapid.T) {
		run++
		ctx := context.Background()
		path := filepath.Join(dir, fmt.Sprintf("%d.db", run))
		if err := os.WriteFile(path, empty, 0o600); err != nil {
			t.Fatal(err)
		}
		m := &model{chains: make(map[string][]modelRow)}
		for i := range 2 {
			o := testOptions()
			o.Rand = seeded{rand.NewChaCha8([32]byte{byte(i)})} // two that draw the same keys would be one sender
			nb, err := Open(ctx, path, o)
			if err != nil {
				t.Fatal(err)
			}
			defer nb.Close()
			// How safe a commit is on a disk is not what this test is about.
			if _, err := nb.w.Exec("PRAGMA synchronous = OFF"); err != nil {
				t.Fatal(err)
			}
			m.nbs = append(m.nbs, nb)
		}
		m.begin(t)
		t.Repeat(map[string]func(*rapid.T){
			"append": m.append, "correct": m.correct, "withdraw": m.withdraw, "undo": m.undo, "redo": m.redo,
			"save plan": m.savePlan, "undo plan": m.undoPlan, "": m.same,
		})
		problems, err := m.nbs[0].Check(ctx)
		if err != nil || problems != nil {
			t.Fatalf("%v %v", problems, err)
		}
	})
}

func (m *model) nb(t *rapid.T) *Notebook { return m.nbs[rapid.IntRange(0, 1).Draw(t, "notebook")] }

func (m *model) begin(t *rapid.T) {
	ctx := context.Background()
	p, err := m.nbs[0].NewStudy(ctx, asking("q0"), Origin{})
	if err != nil {
		t.Fatal(err)
	}
	m.study, m.plans = p.StudyID, []modelRow{{id: p.ID, said: p.ID, text: "q0"}}
	a, err := m.nbs[0].OpenSitting(ctx, m.study, Head{Board: "Otter", On: began()}, Origin{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := m.nbs[0].Append(ctx, Draft{Sitting: a.First, Content: Content{Kind: Step, State: "bare"}})
	if err != nil {
		t.Fatal(err)
	}
	m.sitting, m.first = a.First, b.First
}

// content is a temperature that is new each time.
func (m *model) content(name string) Content {
	m.n++
	return Content{Kind: Temperature, Step: m.first, Name: name, Text: fmt.Sprintf("%d °C", m.n), Unit: quantity.Celsius}
}

func (m *model) name(t *rapid.T) string {
	return rapid.SampledFrom([]string{"case", "sink", "room"}).Draw(t, "name")
}

func (m *model) append(t *rapid.T) {
	name := m.name(t)
	c := m.content(name)
	a, err := m.nb(t).Append(context.Background(), Draft{Sitting: m.sitting, Content: c})
	rows := m.chains[name]
	if len(rows) > 0 && rows[len(rows)-1].text != "" {
		var taken *Taken
		if !errors.As(err, &taken) || taken.By.ID != rows[len(rows)-1].id {
			t.Fatalf("%s is taken, yet: %v", name, err)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	// A withdrawn chain of this name is given up: a new one takes its place.
	m.chains[name] = []modelRow{{id: a.ID, said: a.ID, text: c.Text}}
}

// pick draws a chain and one of its rows, more often the newest.
func (m *model) pick(t *rapid.T) (name string, rows []modelRow, row modelRow, ok bool) {
	name = m.name(t)
	rows = m.chains[name]
	if len(rows) == 0 {
		return name, nil, row, false
	}
	i := len(rows) - 1
	if rapid.IntRange(0, 3).Draw(t, "stale") == 0 {
		i = rapid.IntRange(0, i).Draw(t, "row")
	}
	return name, rows, rows[i], true
}

// took adds the row that a change made, or checks that it was refused.
func (m *model) took(t *rapid.T, name string, allowed bool, a Ack, err error, row modelRow) {
	if !allowed {
		if err == nil {
			t.Fatalf("a change of %s that was to be refused was made", name)
		}
		if code := CodeOf(err); code != Conflicting && code != Invalid {
			t.Fatal(err)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	row.id = a.ID
	if row.said == 0 {
		row.said = a.ID
	}
	m.chains[name] = append(m.chains[name], row)
}

func (m *model) correct(t *rapid.T) {
	name, rows, row, ok := m.pick(t)
	if !ok {
		return
	}
	c := m.content(name)
	a, err := m.nb(t).Correct(context.Background(), row.id, c, Origin{})
	m.took(t, name, row.id == rows[len(rows)-1].id, a, err, modelRow{text: c.Text})
}

func (m *model) withdraw(t *rapid.T) {
	name, rows, row, ok := m.pick(t)
	if !ok {
		return
	}
	a, err := m.nb(t).Withdraw(context.Background(), AnEntry, row.id, Origin{})
	m.took(t, name, row.id == rows[len(rows)-1].id && row.text != "", a, err, modelRow{})
}

// at returns the place of a row in its chain.
func at(rows []modelRow, id int64) int {
	for i, r := range rows {
		if r.id == id {
			return i
		}
	}
	return -1
}

func (m *model) undo(t *rapid.T) {
	name, rows, row, ok := m.pick(t)
	if !ok {
		return
	}
	head := rows[len(rows)-1]
	a, err := m.nb(t).Undo(context.Background(), AnEntry, row.id, Origin{})
	said := at(rows, head.said)
	to := modelRow{}
	if said > 0 {
		to = rows[at(rows, rows[said-1].said)]
		to = modelRow{said: to.id, text: to.text}
	}
	m.took(t, name, row.id == head.id || row.id == head.said, a, err, to)
}

func (m *model) redo(t *rapid.T) {
	name, rows, row, ok := m.pick(t)
	if !ok {
		return
	}
	head := rows[len(rows)-1]
	a, err := m.nb(t).Redo(context.Background(), AnEntry, row.id, Origin{})
	to := modelRow{}
	if len(rows) > 1 {
		to = rows[at(rows, rows[len(rows)-2].said)]
		to = modelRow{said: to.id, text: to.text}
	}
	m.took(t, name, row.id == head.id && len(rows) > 1, a, err, to)
}

func (m *model) savePlan(t *rapid.T) {
	m.n++
	q := fmt.Sprintf("q%d", m.n)
	based := rapid.SampledFrom(m.plans).Draw(t, "based")
	p, err := m.nb(t).SavePlan(context.Background(), m.study, based.id, asking(q), Origin{})
	if based.id != m.plans[len(m.plans)-1].id {
		var c *PlanConflict
		if !errors.As(err, &c) || c.Based.Question != based.text || c.Head.ID != m.plans[len(m.plans)-1].id {
			t.Fatalf("an old plan was saved over a new one: %v", err)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	m.plans = append(m.plans, modelRow{id: p.ID, said: p.ID, text: q})
}

func (m *model) undoPlan(t *rapid.T) {
	head := m.plans[len(m.plans)-1]
	p, err := m.nb(t).UndoPlan(context.Background(), m.study, head.id, Origin{})
	said := at(m.plans, head.said)
	if said == 0 {
		if CodeOf(err) != Invalid {
			t.Fatalf("undone beyond the beginning: %v", err)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	to := m.plans[at(m.plans, m.plans[said-1].said)]
	m.plans = append(m.plans, modelRow{id: p.ID, said: to.id, text: to.text})
}

// same compares the file with the model.
func (m *model) same(t *rapid.T) {
	s, err := m.nb(t).Study(context.Background(), m.study)
	if err != nil {
		t.Fatal(err)
	}
	if want := m.plans[len(m.plans)-1].text; s.Question != want {
		t.Fatalf("the plan asks %s, want %s", s.Question, want)
	}
	got := make(map[string]string)
	for _, x := range s.Sittings[0].Steps[0].Temperatures {
		got[x.Name] = x.Reading.Text
	}
	want := make(map[string]string)
	for name, rows := range m.chains {
		if text := rows[len(rows)-1].text; text != "" {
			want[name] = text
		}
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Fatalf("the step holds %v, want %v", got, want)
	}
}
