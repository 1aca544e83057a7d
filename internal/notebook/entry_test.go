package notebook

import (
	"context"
	"errors"
	"strings"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// reads returns the current of the rail "link" in the first step, "" when there
// is none.
func reads(t testing.TB, nb *Notebook, id int64) string {
	t.Helper()
	s := must[*study.Study](t)(nb.Study(context.Background(), id))
	if len(s.Sittings) == 0 || len(s.Sittings[0].Steps) == 0 {
		return ""
	}
	r := s.Sittings[0].Steps[0].Reading("link")
	if r == nil {
		return ""
	}
	return r.Current[0].Reading.Text
}

func TestCorrectAndUndo(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	first := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV"), Origin: Origin{Device: "phone", Who: "K. Example"}}))
	second := must[Ack](t)(nb.Correct(ctx, first.ID, link(step, "181 mV"), Origin{Why: "two figures swapped"}))
	if second.First != first.ID {
		t.Errorf("the correction began a chain of its own: %+v", second)
	}
	third := must[Ack](t)(nb.Correct(ctx, second.ID, link(step, "180 mV"), Origin{}))
	expect := func(want string) {
		t.Helper()
		if got := reads(t, nb, id); got != want {
			t.Fatalf("reads %q, want %q", got, want)
		}
	}
	expect("180 mV")
	// Undo walks back through what was done, by the ids that were given for it.
	u1 := must[Ack](t)(nb.Undo(ctx, AnEntry, third.ID, Origin{}))
	expect("181 mV")
	u2 := must[Ack](t)(nb.Undo(ctx, AnEntry, second.ID, Origin{}))
	expect("118 mV")
	u3 := must[Ack](t)(nb.Undo(ctx, AnEntry, first.ID, Origin{}))
	expect("")
	// And forward again.
	r3 := must[Ack](t)(nb.Redo(ctx, AnEntry, u3.ID, Origin{}))
	expect("118 mV")
	if _, err := nb.Redo(ctx, AnEntry, u2.ID, Origin{}); CodeOf(err) != Conflicting {
		t.Errorf("redo of an undo that no longer holds: %v", err)
	}
	must[Ack](t)(nb.Undo(ctx, AnEntry, r3.ID, Origin{}))
	expect("")
	if u1.ID == u2.ID {
		t.Error("two undos are one row")
	}
	log := must[[]Entry](t)(nb.Entries(ctx, id))
	if len(log) != 9 { // the step, three entries, three undos, a redo, an undo
		t.Errorf("%d rows in the log", len(log))
	}
	for i, e := range log {
		if i > 0 && e.ID <= log[i-1].ID {
			t.Error("the log is not in order")
		}
	}
	if e := log[1]; e.Device != "phone" || e.Who != "K. Example" || e.Accepted.IsZero() || log[2].Why != "two figures swapped" {
		t.Errorf("the origin is lost: %+v", e.Row)
	}
	sound(t, nb)
}

// TestNobodyOverwrites: of two who change the same thing one is told.
func TestNobodyOverwrites(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	_, sitting, step := atBench(t, nb)
	a := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
	b := must[Ack](t)(nb.Correct(ctx, a.ID, link(step, "119 mV"), Origin{}))
	_, err := nb.Correct(ctx, a.ID, link(step, "120 mV"), Origin{})
	var c *Conflict
	if !errors.As(err, &c) || c.Head != b.ID || c.Entry == nil || c.Entry.Text != "119 mV" {
		t.Errorf("correct: %v", err)
	}
	for name, change := range map[string]func() (Ack, error){
		"withdraw": func() (Ack, error) { return nb.Withdraw(ctx, AnEntry, a.ID, Origin{}) },
		"undo":     func() (Ack, error) { return nb.Undo(ctx, AnEntry, a.ID, Origin{}) },
		"redo":     func() (Ack, error) { return nb.Redo(ctx, AnEntry, a.ID, Origin{}) },
	} {
		if _, err := change(); !errors.As(err, &c) {
			t.Errorf("%s: %v", name, err)
		}
	}
	_, err = nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "121 mV")})
	var taken *Taken
	if !errors.As(err, &taken) || taken.By.ID != b.ID || CodeOf(err) != Conflicting {
		t.Errorf("append to a taken place: %v", err)
	}
	if err.Error() != "the current of link was entered already: 119 mV" {
		t.Errorf("says %q", err)
	}
}

// TestAside: what a phone wrote while the connection was down is kept even where
// another entry stands, and can take its place.
func TestAside(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	a := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
	d := Draft{Sitting: sitting, Content: link(step, "121 mV"), Aside: true, Origin: Origin{Key: "phone-1"}}
	b := must[Ack](t)(nb.Append(ctx, d))
	if !b.Aside || b.Again {
		t.Errorf("%+v", b)
	}
	if again := must[Ack](t)(nb.Append(ctx, d)); again.ID != b.ID || !again.Again || !again.Aside {
		t.Errorf("%+v", again)
	}
	if got := reads(t, nb, id); got != "118 mV" {
		t.Errorf("reads %s", got)
	}
	if _, err := nb.Correct(ctx, b.ID, d.Content, Origin{}); CodeOf(err) != Conflicting {
		t.Errorf("brought in beside the other: %v", err)
	}
	must[Ack](t)(nb.Withdraw(ctx, AnEntry, a.ID, Origin{Why: "the other is right"}))
	must[Ack](t)(nb.Correct(ctx, b.ID, d.Content, Origin{}))
	if got := reads(t, nb, id); got != "121 mV" {
		t.Errorf("reads %s", got)
	}
	if _, err := nb.Undo(ctx, AnEntry, a.ID, Origin{}); CodeOf(err) != Conflicting {
		t.Errorf("undo of the withdrawal by the wrong row: %v", err)
	}
	sound(t, nb)
}

// TestExactlyOnce: a queue that is sent twice, with a step of its own.
func TestExactlyOnce(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, _ := atBench(t, nb)
	queue := []Draft{
		{Sitting: sitting, Content: Content{Kind: Step, State: "one-idle"}, Origin: Origin{Key: "s"}},
		{Sitting: sitting, StepKey: "s", Content: link(0, "118"), Origin: Origin{Key: "a"}},
		{Sitting: sitting, StepKey: "s", Content: Content{Kind: Note, Text: "fan off"}, Origin: Origin{Key: "b"}},
	}
	one := must[[]Ack](t)(nb.AppendAll(ctx, queue))
	two := must[[]Ack](t)(nb.AppendAll(ctx, queue))
	for i := range one {
		if one[i].ID != two[i].ID || !two[i].Again || one[i].Again {
			t.Errorf("%+v, then %+v", one[i], two[i])
		}
	}
	st := must[*study.Study](t)(nb.Study(ctx, id)).Sittings[0].Steps[1]
	if st.State != "one-idle" || st.Note != "fan off" || len(st.Rails) != 1 {
		t.Errorf("%+v", st)
	}
	other := queue[1]
	other.Text = "119"
	if _, err := nb.Append(ctx, other); CodeOf(err) != Invalid {
		t.Errorf("a key for two entries: %v", err)
	}
	c1 := must[Ack](t)(nb.Correct(ctx, one[1].ID, link(one[0].ID, "119"), Origin{Key: "c"}))
	c2 := must[Ack](t)(nb.Correct(ctx, one[1].ID, link(one[0].ID, "119"), Origin{Key: "c"}))
	if c1.ID != c2.ID || !c2.Again {
		t.Errorf("%+v, then %+v", c1, c2)
	}
	u1 := must[Ack](t)(nb.Undo(ctx, AnEntry, c1.ID, Origin{Key: "u"}))
	u2 := must[Ack](t)(nb.Undo(ctx, AnEntry, c1.ID, Origin{Key: "u"}))
	if u1.ID != u2.ID || !u2.Again {
		t.Errorf("%+v, then %+v", u1, u2)
	}
	// All or none: the second is refused, so the first is not kept.
	_, err := nb.AppendAll(ctx, []Draft{
		{Sitting: sitting, Content: Content{Kind: Step, State: "bare"}, Origin: Origin{Key: "x"}},
		{Sitting: sitting, StepKey: "x", Content: link(0, "plenty")},
	})
	if CodeOf(err) != Invalid || !strings.Contains(err.Error(), "entry 2 of 2") {
		t.Errorf("%v", err)
	}
	if n := len(must[*study.Study](t)(nb.Study(ctx, id)).Sittings[0].Steps); n != 2 {
		t.Errorf("%d steps", n)
	}
	sound(t, nb)
}

// TestTakenBack: with a step or a sitting, what is in it no longer counts, and
// counts again with it.
func TestTakenBack(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
	w := must[Ack](t)(nb.Withdraw(ctx, AnEntry, step, Origin{}))
	if got := reads(t, nb, id); got != "" {
		t.Errorf("reads %s", got)
	}
	late := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: Content{Kind: Voltage, Step: step, Rail: "link", Text: "1.5 V", Unit: quantity.Volt}}))
	if late.Warning == "" {
		t.Error("no warning")
	}
	must[Ack](t)(nb.Undo(ctx, AnEntry, w.ID, Origin{}))
	s := must[*study.Study](t)(nb.Study(ctx, id))
	if r := s.Sittings[0].Steps[0].Reading("link"); r == nil || r.Voltage == nil || len(r.Current) != 1 {
		t.Errorf("%+v", r)
	}
	must[Ack](t)(nb.Withdraw(ctx, ASitting, sitting, Origin{}))
	if s := must[*study.Study](t)(nb.Study(ctx, id)); s.Sittings != nil {
		t.Error("the sitting is still there")
	}
	if _, err := nb.Withdraw(ctx, ASitting, sitting, Origin{}); CodeOf(err) != Conflicting {
		t.Errorf("withdrawn by a row that does not hold: %v", err)
	}
	sound(t, nb)
}

func TestEntryRefused(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	_, sitting, step := atBench(t, nb)
	reading := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
	second := must[Ack](t)(nb.OpenSitting(ctx, 1, Head{Board: "Otter", On: began()}, Origin{}))
	for name, c := range map[string]Draft{
		"no quantity":        {Sitting: sitting, Content: link(step, "lots")},
		"another unit":       {Sitting: sitting, Content: link(step, "3 A")},
		"no rail":            {Sitting: sitting, Content: Content{Kind: Current, Step: step, Text: "1 V", Unit: quantity.Volt}},
		"no unit":            {Sitting: sitting, Content: Content{Kind: Current, Step: step, Rail: "link", Text: "1"}},
		"a unit never read":  {Sitting: sitting, Content: Content{Kind: Current, Step: step, Rail: "link", Text: "1 Hz", Unit: quantity.Hertz}},
		"no kind":            {Sitting: sitting, Content: Content{Kind: "guess", Step: step}},
		"nothing zeroed":     {Sitting: sitting, Content: Content{Kind: Zero, Step: step, Text: "1 mV", Unit: quantity.Volt}},
		"two things zeroed":  {Sitting: sitting, Content: Content{Kind: Zero, Step: step, Rail: "link", Instrument: "red clamp", Text: "1 mV", Unit: quantity.Volt}},
		"an empty note":      {Sitting: sitting, Content: Content{Kind: Note, Step: step}},
		"no name":            {Sitting: sitting, Content: Content{Kind: Temperature, Step: step, Text: "20 °C", Unit: quantity.Celsius}},
		"a reading as step":  {Sitting: sitting, Content: Content{Kind: Note, Step: reading.ID, Text: "x"}},
		"another's step":     {Sitting: second.First, Content: Content{Kind: Note, Step: step, Text: "x"}},
		"a step in a step":   {Sitting: sitting, Content: Content{Kind: Step, Step: step}},
		"an unknown stepkey": {Sitting: sitting, StepKey: "none", Content: Content{Kind: Note, Text: "x"}},
	} {
		if _, err := nb.Append(ctx, c); CodeOf(err) != Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, c := range map[string]Draft{
		"no sitting": {Sitting: 99, Content: link(step, "1 mV")},
		"no step":    {Sitting: sitting, Content: link(99, "1 mV")},
	} {
		if _, err := nb.Append(ctx, c); CodeOf(err) != NotFound {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := nb.Correct(ctx, reading.ID, Content{Kind: Note, Step: step, Text: "x"}, Origin{}); CodeOf(err) != Invalid {
		t.Errorf("a current became a note: %v", err)
	}
}

// TestRowsStay: no program changes a row, not even by REPLACE.
func TestRowsStay(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
	must[Ack](t)(nb.PutInstrument(ctx, otter(t).Instruments[0], Origin{}))
	photo := must[Ack](t)(nb.AddPhoto(ctx, id, View{Board: "Otter", Side: Front}, Picture{"image/png", 2, 1, []byte("x")}, Origin{}))
	must[Ack](t)(nb.AddPin(ctx, photo.First, Spot{Role: Probe, X: 0.5, Y: 0.5}, Origin{}))
	must[Ack](t)(nb.SetTick(ctx, id, study.Tick{Board: "Otter", Job: study.JobPhotograph}, Origin{}))
	for _, table := range []string{"study", "plan", "instrument", "sitting", "entry", "picture", "photo", "pin", "tick", "change"} {
		columns := must[[]string](t)(column(nb, "SELECT name FROM pragma_table_info('"+table+"')"))
		if n := must[[]string](t)(column(nb, "SELECT count(*) FROM "+table)); n[0] == "0" {
			t.Errorf("%s is empty, so the test says nothing", table)
		}
		for _, statement := range []string{
			"DELETE FROM " + table,
			"UPDATE " + table + " SET " + columns[1] + " = " + columns[1],
			"INSERT OR REPLACE INTO " + table + " SELECT * FROM " + table,
		} {
			if _, err := nb.w.Exec(statement); err == nil || !strings.Contains(err.Error(), "are never") {
				t.Errorf("%s: %v", statement, err)
			}
		}
	}
	// Whatever tables there are, each has both triggers.
	bare := must[[]string](t)(column(nb, `SELECT name FROM sqlite_schema t WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> 'goose_db_version'
		AND (SELECT count(*) FROM sqlite_schema g WHERE g.type = 'trigger' AND g.tbl_name = t.name
			AND g.name IN (t.name || '_never_changed', t.name || '_never_deleted')) <> 2`))
	if len(bare) > 0 {
		t.Errorf("no triggers keep the rows of %v", bare)
	}
	sound(t, nb)
}

// column reads the first column of a query as text.
func column(nb *Notebook, query string) (out []string, err error) {
	rows, err := nb.r.Query(query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}
