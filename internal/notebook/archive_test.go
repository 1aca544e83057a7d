package notebook

import (
	"context"
	"testing"
)

// TestArchive: a study is put away and brought back, each once, and nothing of
// it changes; who names one means those at hand first.
func TestArchive(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	one := must[*Plan](t)(nb.NewStudy(ctx, asking("Does it draw less?"), Origin{}))
	two := must[*Plan](t)(nb.NewStudy(ctx, asking("Does it draw more?"), Origin{}))
	before := must[int64](t)(nb.LastChange(ctx))
	for _, key := range []string{"a", "a", "b"} {
		if err := nb.Archive(ctx, one.StudyID, true, Origin{Key: key, Who: "me"}); err != nil {
			t.Fatal(err)
		}
	}
	if n := must[int64](t)(nb.LastChange(ctx)) - before; n != 1 {
		t.Errorf("putting away thrice added %d changes, want 1", n)
	}
	away := func() map[int64]bool {
		out := map[int64]bool{}
		for _, s := range must[[]Summary](t)(nb.Studies(ctx)) {
			out[s.ID] = s.Archived
		}
		return out
	}
	if got := away(); !got[one.StudyID] || got[two.StudyID] {
		t.Errorf("put away: %v", got)
	}
	if got := must[Summary](t)(nb.Find(ctx, "does it")); got.ID != two.StudyID {
		t.Errorf("part of a name found study %d, want the one at hand", got.ID)
	}
	if got := must[Summary](t)(nb.Find(ctx, "does it draw less?")); got.ID != one.StudyID {
		t.Errorf("the whole name found study %d, want the one put away", got.ID)
	}
	// A late copy of the first message does not put it away again.
	if err := nb.Archive(ctx, one.StudyID, false, Origin{Key: "c"}); err != nil {
		t.Fatal(err)
	}
	if err := nb.Archive(ctx, one.StudyID, true, Origin{Key: "a"}); err != nil {
		t.Fatal(err)
	}
	if got := away(); got[one.StudyID] {
		t.Error("what was sent twice counts twice")
	}
	if err := nb.Archive(ctx, 99, true, Origin{}); CodeOf(err) != NotFound {
		t.Errorf("an unknown study: %v", err)
	}
	sound(t, nb)
}

// TestStudyOf: rows tell the study that they are of.
func TestStudyOf(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	for what, row := range map[What]int64{ASitting: sitting, AnEntry: step} {
		if got, first, err := nb.StudyOf(ctx, what, row); err != nil || got != id || first != row {
			t.Errorf("%s %d is of study %d, %v; want %d", what, row, got, err, id)
		}
		if _, _, err := nb.StudyOf(ctx, what, 999); CodeOf(err) != NotFound {
			t.Errorf("an unknown %s: %v", what, err)
		}
	}
	if _, _, err := nb.StudyOf(ctx, AnInstrument, 1); err == nil {
		t.Error("an instrument is of a study")
	}
}
