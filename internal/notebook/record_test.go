package notebook

import (
	"context"
	"errors"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/studyfile/studygen"
)

// TestImportLosesNothing: a study that went through the notebook is the same.
func TestImportLosesNothing(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	if _, err := nb.w.Exec("PRAGMA synchronous = OFF"); err != nil { // the disk is not what is tested
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := studygen.Studies().Draw(t, "study")
		p, err := nb.Import(ctx, s, Origin{})
		if err != nil {
			t.Fatal(err)
		}
		if p.Draft {
			t.Fatal("the plan of a sound study is kept as a draft")
		}
		got, err := nb.Study(ctx, p.StudyID)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(s, got); d != "" {
			t.Fatalf("the study changed in the notebook (-before +after):\n%s", d)
		}
		if done, left := Finished(got); left != nil || done != got {
			t.Fatalf("a sound study is unfinished: %v", left)
		}
	})
	sound(t, nb)
}

// TestExportIsTheSame: notebook → file → notebook, byte for byte.
func TestExportIsTheSame(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	s := otter(t)
	p := must[*Plan](t)(nb.Import(ctx, s, Origin{Who: "K. Example"}))
	file := filepath.Join(t.TempDir(), "otter.yaml")
	if err := nb.Export(ctx, p.StudyID, file); err != nil {
		t.Fatal(err)
	}
	back, _, err := studyfile.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(s, back); d != "" {
		t.Error(d)
	}
	q := must[*Plan](t)(nb.Import(ctx, back, Origin{}))
	again := must[*study.Study](t)(nb.Study(ctx, q.StudyID))
	if d := cmp.Diff(yamlText(t, s), yamlText(t, again)); d != "" {
		t.Error(d)
	}
	// A second export over the first leaves nothing else in the folder.
	if err := nb.Export(ctx, q.StudyID, file); err != nil {
		t.Fatal(err)
	}
	names, err := filepath.Glob(filepath.Join(filepath.Dir(file), "*"))
	if err != nil || len(names) != 1 {
		t.Errorf("the folder holds %v, %v", names, err)
	}
}

// TestImportOnce: the same import sent twice is one study.
func TestImportOnce(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	a := must[*Plan](t)(nb.Import(ctx, otter(t), Origin{Key: "k"}))
	b := must[*Plan](t)(nb.Import(ctx, otter(t), Origin{Key: "k"}))
	if a.ID != b.ID || a.StudyID != b.StudyID {
		t.Errorf("two studies: %d and %d", a.StudyID, b.StudyID)
	}
	if all := must[[]Summary](t)(nb.Studies(ctx)); len(all) != 1 {
		t.Errorf("%d studies", len(all))
	}
}

// TestImportRefuses what has no place, and leaves nothing behind.
func TestImportRefuses(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	for name, spoil := range map[string]func(*study.Study){
		"a rail read twice": func(s *study.Study) {
			st := s.Sittings[0].Steps[1]
			st.Rails = append(st.Rails, st.Rails[1])
		},
		"a reading without a value": func(s *study.Study) { s.Sittings[0].Steps[1].Rails[1].Current[0].Reading.Entry = quantity.Entry{} },
		"an empty rail reading": func(s *study.Study) {
			s.Sittings[0].Steps[1].Rails = append(s.Sittings[0].Steps[1].Rails, &study.RailReading{Rail: "io b"})
		},
		"a sitting without a board": func(s *study.Study) { s.Sittings[1].Board = "" },
	} {
		s := otter(t)
		spoil(s)
		if _, err := nb.Import(ctx, s, Origin{}); CodeOf(err) != Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	if all := must[[]Summary](t)(nb.Studies(ctx)); len(all) != 0 {
		t.Errorf("%d studies were left", len(all))
	}
}

// TestTypedWithoutUnit: what was typed stays in the log, and the study says what
// it meant in a way that a file can hold.
func TestTypedWithoutUnit(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	for text, want := range map[string]string{"511": "511 mV", "0,511 V": "0,511 V", "509 511 512": "509, 511, 512 mV", "10..50": "10..50 mV"} {
		a := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, text)}))
		s := must[*study.Study](t)(nb.Study(ctx, id))
		got := s.Sittings[0].Steps[0].Rails[0].Current[0].Reading.Entry
		if got.Text != want {
			t.Errorf("%q reads %q, want %q", text, got.Text, want)
		}
		if e := must[Entry](t)(nb.Entry(ctx, a.ID)); e.Text != text || e.Bare != "mV" {
			t.Errorf("the log holds %q in %q", e.Text, e.Bare)
		}
		back, _, err := studyfile.Read("again", []byte(yamlText(t, s)))
		var faults *studyfile.Faults
		if errors.As(err, &faults) {
			t.Errorf("%q: %v", text, err)
		} else if d := cmp.Diff(s, back); d != "" {
			t.Errorf("%q: %s", text, d)
		}
		must[Ack](t)(nb.Withdraw(ctx, AnEntry, a.ID, Origin{}))
	}
}

// TestFinished leaves out what is in the middle of being read.
func TestFinished(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	keep := func(c Content) {
		t.Helper()
		c.Step = step
		must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: c}))
	}
	keep(Content{Kind: Voltage, Rail: "link", Text: "1.498 V", Unit: quantity.Volt})
	keep(Content{Kind: Current, Rail: "core", Tap: "left", Text: "402.1 mV", Unit: quantity.Volt})
	keep(Content{Kind: Current, Rail: "pll a", Back: true, Text: "-3 mV", Unit: quantity.Volt})
	keep(Content{Kind: Current, Rail: "io a", Text: "5.9 mV", Unit: quantity.Volt})
	s := must[*study.Study](t)(nb.Study(ctx, id))
	done, left := Finished(s)
	want := []Unfinished{
		{0, 0, "link", "the current"},
		{0, 0, "core", "the current of right"},
		{0, 0, "pll a", "the current with the wire threaded forward"},
	}
	if d := cmp.Diff(want, left); d != "" {
		t.Error(d)
	}
	if n := len(done.Sittings[0].Steps[0].Rails); n != 1 || len(s.Sittings[0].Steps[0].Rails) != 4 {
		t.Errorf("%d rails are left of %d", n, len(s.Sittings[0].Steps[0].Rails))
	}
	if f := study.Check(done); f != nil {
		t.Errorf("what is finished is not sound: %v", f)
	}
}

// TestLateStep: a step that arrives late stands where its time says.
func TestLateStep(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, _ := atBench(t, nb)
	later := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: Content{Kind: Step, State: "one-busy", At: began().Add(30 * 60e9)}}))
	if later.Warning != "" {
		t.Errorf("warned of a step in order: %s", later.Warning)
	}
	late := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: Content{Kind: Step, State: "one-idle", At: began().Add(10 * 60e9)}}))
	if late.Warning == "" {
		t.Error("no warning of a step before the last")
	}
	r := must[*Record](t)(nb.Record(ctx, id))
	var order []string
	for _, st := range r.Study.Sittings[0].Steps {
		order = append(order, st.State)
	}
	if d := cmp.Diff([]string{"bare", "one-idle", "one-busy"}, order); d != "" {
		t.Error(d)
	}
	if got := r.StepOf[r.Study.Sittings[0].Steps[1]]; got != late.First {
		t.Errorf("the step is of entry %d, want %d", got, late.First)
	}
	if f := study.Check(r.Study); f != nil {
		t.Error(f)
	}
}
