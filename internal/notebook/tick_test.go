package notebook

import (
	"context"
	"testing"

	"railtally/internal/study"
)

// TestTicks: the last word about a job holds, whoever said it; it is sent twice and
// kept once, taken back, undone and found again where its rail comes back.
func TestTicks(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	plan := otter(t)
	p := must[*Plan](t)(nb.NewStudy(ctx, plan, Origin{}))
	said := func() (out string) {
		for _, x := range must[*study.Study](t)(nb.Study(ctx, p.StudyID)).Done {
			out += string(x.Job) + " " + x.Rail
			if x.Skipped {
				out += " skipped"
			}
			out += ";"
		}
		return out
	}
	expect := func(when, want string) {
		t.Helper()
		if got := said(); got != want {
			t.Errorf("%s: %q, want %q", when, got, want)
		}
	}
	expect("ticks are no part of a plan", "")
	open := study.Tick{Board: "Otter", Job: study.JobOpen, Rail: "link"}
	first := must[Ack](t)(nb.SetTick(ctx, p.StudyID, open, Origin{Key: "a", Device: "phone"}))
	if again := must[Ack](t)(nb.SetTick(ctx, p.StudyID, open, Origin{Key: "a"})); !again.Again || again.ID != first.ID {
		t.Errorf("sent twice: %+v", again)
	}
	expect("ticked", "open link;")
	passed := open
	passed.Skipped = true
	second := must[Ack](t)(nb.SetTick(ctx, p.StudyID, passed, Origin{Device: "desk"}))
	if second.First != first.First {
		t.Error("one job has two chains")
	}
	expect("another said otherwise", "open link skipped;")
	undone := must[Ack](t)(nb.Undo(ctx, ATick, second.ID, Origin{}))
	expect("undone", "open link;")
	must[Ack](t)(nb.Withdraw(ctx, ATick, undone.ID, Origin{}))
	expect("taken back", "")
	must[Ack](t)(nb.SetTick(ctx, p.StudyID, open, Origin{}))
	expect("ticked anew", "open link;")
	bare := otter(t)
	bare.Board("Otter").Rails = bare.Board("Otter").Rails[:1]
	q := must[*Plan](t)(nb.SavePlan(ctx, p.StudyID, p.ID, bare, Origin{}))
	expect("without the rail", "")
	must[*Plan](t)(nb.UndoPlan(ctx, p.StudyID, q.ID, Origin{}))
	expect("the rail came back", "open link;")
	for _, x := range []study.Tick{{Job: study.JobOpen, Rail: "link"}, {Board: "Otter", Job: study.JobOpen}, {Board: "Otter", Job: "solder"}, {Board: "Otter", Job: study.JobSitting, State: "bare"}} {
		if _, err := nb.SetTick(ctx, p.StudyID, x, Origin{}); CodeOf(err) != Invalid {
			t.Errorf("%+v: %v", x, err)
		}
	}
	sound(t, nb)
}
