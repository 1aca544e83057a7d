package notebook

import (
	"context"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// asking is a plan that is no more than its question: not sound yet.
func asking(q string) *study.Study { return &study.Study{Question: q, Level: study.DefaultLevel} }

func TestPlanRevisions(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	one := must[*Plan](t)(nb.NewStudy(ctx, asking("one?"), Origin{Who: "K. Example"}))
	if !one.Draft {
		t.Error("a question without boards is no sound plan")
	}
	id := one.StudyID
	two := must[*Plan](t)(nb.SavePlan(ctx, id, one.ID, asking("two?"), Origin{Why: "better"}))
	_, err := nb.SavePlan(ctx, id, one.ID, asking("mine?"), Origin{})
	var c *PlanConflict
	if !errors.As(err, &c) || c.Based.Study.Question != "one?" || c.Head.Study.Question != "two?" || CodeOf(err) != Conflicting {
		t.Fatalf("%v", err)
	}
	three := must[*Plan](t)(nb.SavePlan(ctx, id, two.ID, otter(t), Origin{}))
	if three.Draft {
		t.Error("a sound plan is kept as a draft")
	}
	says := func(want string) *Plan {
		t.Helper()
		p := must[*Plan](t)(nb.Plan(ctx, id))
		if p.Question != want || p.Study.Question != want {
			t.Fatalf("the plan asks %q and %q, want %q", p.Question, p.Study.Question, want)
		}
		return p
	}
	step := func(do func(context.Context, int64, int64, Origin) (*Plan, error), want string) {
		t.Helper()
		head := must[*Plan](t)(nb.Plan(ctx, id))
		must[*Plan](t)(do(ctx, id, head.ID, Origin{}))
		says(want)
	}
	last := otter(t).Question
	step(nb.UndoPlan, "two?")
	step(nb.UndoPlan, "one?")
	if _, err := nb.UndoPlan(ctx, id, must[*Plan](t)(nb.Plan(ctx, id)).ID, Origin{}); CodeOf(err) != Invalid {
		t.Errorf("undone beyond the beginning: %v", err)
	}
	step(nb.RedoPlan, "two?")
	step(nb.RedoPlan, last)
	if _, err := nb.RedoPlan(ctx, id, must[*Plan](t)(nb.Plan(ctx, id)).ID, Origin{}); CodeOf(err) != Invalid {
		t.Errorf("redone beyond the end: %v", err)
	}
	step(nb.UndoPlan, "two?")
	// Saying something new ends what could be redone.
	four := must[*Plan](t)(nb.SavePlan(ctx, id, says("two?").ID, asking("four?"), Origin{Key: "k"}))
	if _, err := nb.RedoPlan(ctx, id, four.ID, Origin{}); CodeOf(err) != Invalid {
		t.Errorf("redone beside the end: %v", err)
	}
	if again := must[*Plan](t)(nb.SavePlan(ctx, id, four.Based, asking("four?"), Origin{Key: "k"})); again.ID != four.ID {
		t.Error("a revision sent twice is two")
	}
	step(nb.UndoPlan, "two?")
	step(nb.RedoPlan, "four?")
	history := must[[]*Plan](t)(nb.PlanHistory(ctx, id))
	if n := len(history); n != 11 || history[n-2].Why != "better" || history[n-1].Who != "K. Example" {
		t.Errorf("%d revisions", n)
	}
	if p := must[*Plan](t)(nb.PlanAt(ctx, three.ID)); cmp.Diff(withoutSittings(otter(t)), p.Study) != "" {
		t.Error("an old revision does not say what it said")
	}
	sound(t, nb)
}

func withoutSittings(s *study.Study) *study.Study {
	s.Sittings, s.Done = nil, nil // a plan has neither
	return s
}

// TestDrafts: a plan that is not sound keeps everything, units above all.
func TestDrafts(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	s := withoutSittings(otter(t))
	s.Boards[0].Rails[1].Taps[0].Instrument = "a clamp that is not there yet"
	s.Boards = append(s.Boards, &study.Board{Name: "Newt"})
	p := must[*Plan](t)(nb.NewStudy(ctx, s, Origin{}))
	if !p.Draft {
		t.Fatal("no draft")
	}
	if d := cmp.Diff(s, must[*study.Study](t)(nb.Study(ctx, p.StudyID))); d != "" {
		t.Error(d)
	}
	// Units are counted otherwise some day: the names count.
	text := `{"units":["","Ω","V"],"value":{"Question":"q","StaleZero":null,"EqualWithin":{"Kind":0,"Values":[1],"Unit":2,"Tol":null,"Step":0,"Text":"1 V"}}}`
	got, err := decodePlan(text, true)
	if err != nil || got.EqualWithin.Unit != quantity.Volt {
		t.Errorf("%v %v", got, err)
	}
	for _, bad := range []string{"", "{}", `{"units":["","parsec"],"value":{"EqualWithin":{"Unit":1}}}`, `{"units":[],"value":{"EqualWithin":{"Unit":1}}}`} {
		if _, err := decodePlan(bad, true); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}

// TestAlike: every field counts, so that no plan is kept as YAML that the YAML
// does not hold whole.
func TestAlike(t *testing.T) {
	t.Parallel()
	if !alike(otter(t), otter(t)) {
		t.Fatal("a study is not like itself")
	}
	typed := otter(t)
	typed.EqualWithin.Text = "500 mW"
	if !alike(typed, otter(t)) {
		t.Error("the way a quantity was typed counts")
	}
	for name, change := range map[string]func(*study.Study){
		"text":     func(s *study.Study) { s.Note += "." },
		"number":   func(s *study.Study) { s.Instruments[0].Ranges[0].Scale *= 2 },
		"quantity": func(s *study.Study) { s.EqualWithin.Values[0] *= 2 },
		"step":     func(s *study.Study) { s.EqualWithin.Step *= 2 },
		"time":     func(s *study.Study) { s.Instruments[0].Calibration.On = began() },
		"pointer":  func(s *study.Study) { s.StaleZero = nil },
		"length":   func(s *study.Study) { s.Boards = s.Boards[:1] },
		"order":    func(s *study.Study) { s.States[0], s.States[1] = s.States[1], s.States[0] },
		"deep":     func(s *study.Study) { s.Sittings[0].Steps[1].Rails[0].Current[0].Reading.Meter = "x" },
	} {
		s := otter(t)
		change(s)
		if alike(s, otter(t)) || alike(otter(t), s) {
			t.Errorf("a change of %s is not seen", name)
		}
	}
}

// TestRenames: what was recorded follows the names, swapped ones too, and comes
// back with undo.
func TestRenames(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	before := otter(t)
	p := must[*Plan](t)(nb.Import(ctx, before, Origin{}))
	photo := must[Ack](t)(nb.AddPhoto(ctx, p.StudyID, View{Board: "Otter", Side: Front}, Picture{"image/png", 2, 1, []byte("x")}, Origin{}))
	must[Ack](t)(nb.AddPin(ctx, photo.First, Spot{Role: Opening, Rail: "core", Tap: "left"}, Origin{}))
	// The whole record with other names, made by changing the text.
	after := otter(t)
	renames := []Rename{
		{What: NamedBoard, From: "Otter", To: "Stoat"},
		{What: NamedRail, In: "Otter", From: "link", To: "io a"},
		{What: NamedRail, In: "Otter", From: "io a", To: "link"},
		{What: NamedTap, In: "Otter", Rail: "core", From: "left", To: "west"},
		{What: NamedState, From: "bare", To: "empty"},
		{What: NamedInstrument, From: "desk meter", To: "big meter"},
		{What: NamedRange, In: "pocket meter", From: "5 V", To: "5 volts"},
		{What: NamedRange, In: "desk meter", From: "500 mV", To: "half a volt"},
	}
	rename(after)
	q := must[*Plan](t)(nb.SavePlan(ctx, p.StudyID, p.ID, after, Origin{Who: "K. Example"}, renames...))
	got := must[*study.Study](t)(nb.Study(ctx, p.StudyID))
	if d := cmp.Diff(after, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	if f := study.Check(got); f != nil {
		t.Error(f)
	}
	if f := must[[]Photo](t)(nb.Photos(ctx, p.StudyID))[0]; f.Board != "Stoat" {
		t.Errorf("the photo is of %s", f.Board)
	}
	if x := must[[]Pin](t)(nb.Pins(ctx, p.StudyID))[0]; x.Tap != "west" || x.Photo != photo.First {
		t.Errorf("the pin is at %+v", x)
	}
	// Undo does not bring back a name that is gone, but undoes what came after.
	for _, e := range must[*Record](t)(nb.Record(ctx, p.StudyID)).Entries {
		if e.Rail != "io a" || e.Kind != Current {
			continue
		}
		if _, err := nb.Undo(ctx, AnEntry, e.ID, Origin{}); CodeOf(err) != Invalid {
			t.Errorf("undone beyond the rename: %v", err)
		}
		c := must[Ack](t)(nb.Correct(ctx, e.ID, e.Content, Origin{}))
		must[Ack](t)(nb.Undo(ctx, AnEntry, c.ID, Origin{}))
	}
	if d := cmp.Diff(after, must[*study.Study](t)(nb.Study(ctx, p.StudyID))); d != "" {
		t.Errorf("after undo of entries (-want +got):\n%s", d)
	}
	u := must[*Plan](t)(nb.UndoPlan(ctx, p.StudyID, q.ID, Origin{}))
	if d := cmp.Diff(before, must[*study.Study](t)(nb.Study(ctx, p.StudyID))); d != "" {
		t.Errorf("after undo (-want +got):\n%s", d)
	}
	must[*Plan](t)(nb.RedoPlan(ctx, p.StudyID, u.ID, Origin{}))
	if d := cmp.Diff(after, must[*study.Study](t)(nb.Study(ctx, p.StudyID))); d != "" {
		t.Errorf("after redo (-want +got):\n%s", d)
	}
	sound(t, nb)
}

// rename does by hand to the sample what the renames of TestRenames say.
func rename(s *study.Study) {
	meter := func(names ...*string) {
		for _, n := range names {
			if *n == "desk meter" {
				*n = "big meter"
			}
		}
	}
	rng := func(meter string, name *string) {
		switch {
		case (meter == "pocket meter") && *name == "5 V":
			*name = "5 volts"
		case (meter == "big meter") && *name == "500 mV":
			*name = "half a volt"
		}
	}
	rail := func(n *string) {
		switch *n {
		case "link":
			*n = "io a"
		case "io a":
			*n = "link"
		}
	}
	tap := func(n *string) {
		if *n == "left" {
			*n = "west"
		}
	}
	for _, x := range s.Done {
		x.Board = "Stoat"
		rail(&x.Rail)
		if x.State == "bare" {
			x.State = "empty"
		}
	}
	for _, in := range s.Instruments {
		meter(&in.Name)
		for _, r := range in.Ranges {
			rng(in.Name, &r.Name)
		}
	}
	for i, b := range s.Boards {
		for _, r := range b.Rails {
			if i == 0 {
				rail(&r.Name)
				if r.From != nil {
					rail(&r.From.Rail)
				}
			}
			for _, t := range r.Taps {
				tap(&t.Name)
				meter(&t.Instrument, &t.Meter)
			}
		}
	}
	s.Boards[0].Name = "Stoat"
	s.States[0].Name = "empty"
	for i := range s.Comparisons {
		for _, x := range []*study.StateOn{&s.Comparisons[i].First, &s.Comparisons[i].Second} {
			if x.Board == "Otter" {
				x.Board = "Stoat"
			}
		}
	}
	for _, x := range s.Sittings {
		otter := x.Board == "Otter"
		if otter {
			x.Board = "Stoat"
		}
		meter(&x.VoltageMeter, &x.CurrentMeter)
		for _, st := range x.Steps {
			if st.State == "bare" {
				st.State = "empty"
			}
			for _, z := range st.Zeros {
				tap(&z.Tap)
				rng("big meter", &z.Reading.Range) // the sitting's, as none is named
			}
			for _, r := range st.Rails {
				if otter {
					rail(&r.Rail)
				}
				for _, c := range r.Current {
					tap(&c.Tap)
					meter(&c.Reading.Meter)
					rng(c.Reading.Meter, &c.Reading.Range)
				}
				if r.Voltage != nil {
					meter(&r.Voltage.Meter)
					rng(r.Voltage.Meter, &r.Voltage.Range)
				}
			}
		}
	}
}
