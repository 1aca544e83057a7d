package notebook

import (
	"context"
	"testing"
	"time"

	"railtally/internal/quantity"
)

// next takes the next change, or fails.
func next(t testing.TB, ch <-chan Change) Change {
	t.Helper()
	select {
	case c, ok := <-ch:
		if !ok {
			t.Fatal("the channel is closed")
		}
		return c
	case <-time.After(20 * time.Second):
		t.Fatal("no change came")
	}
	panic("not reached")
}

// TestWatch: who watches hears of everything once and in order, of what was
// before, of what this process adds and of what another does.
func TestWatch(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	other := must[*Plan](t)(nb.NewStudy(ctx, asking("another?"), Origin{}))
	ch := nb.Watch(ctx, id, 0)
	for i, want := range []What{APlan, ASitting, AnEntry} {
		if c := next(t, ch); c.What != want || c.Study != id {
			t.Errorf("change %d is %+v, want a %s", i, c, want)
		}
	}
	a := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
	if c := next(t, ch); c.Row != a.ID || c.What != AnEntry {
		t.Errorf("%+v", c)
	}
	// Another study is not this watcher's business, the shelf is.
	must[*Plan](t)(nb.SavePlan(ctx, other.StudyID, other.ID, asking("else?"), Origin{}))
	must[Ack](t)(nb.PutInstrument(ctx, otter(t).Instruments[0], Origin{}))
	if c := next(t, ch); c.What != AnInstrument || c.Study != 0 {
		t.Errorf("%+v", c)
	}
	out, err := child(t, "one", nb.Path()).Output()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	c := next(t, ch)
	if e := must[Entry](t)(nb.Entry(ctx, c.Row)); e.Text != "from another process" {
		t.Errorf("%+v", e)
	}
	// Who comes back later begins after what it has seen.
	must[Ack](t)(nb.Withdraw(ctx, AnEntry, a.ID, Origin{}))
	late := nb.Watch(ctx, id, c.Seq)
	if d := next(t, late); d != next(t, ch) || d.Seq <= c.Seq {
		t.Errorf("%+v", d)
	}
	if all := must[[]Change](t)(nb.Changes(ctx, 0, 0, 100)); len(all) != 9 || all[8].Seq != must[int64](t)(nb.LastChange(ctx)) {
		t.Errorf("%d changes in all", len(all))
	}
	stop()
	if _, open := <-ch; open {
		t.Error("a change came after the end")
	}
}

// TestWatchEnds with the notebook.
func TestWatchEnds(t *testing.T) {
	t.Parallel()
	nb, err := Open(context.Background(), t.TempDir()+"/n.db", testOptions())
	if err != nil {
		t.Fatal(err)
	}
	ch := nb.Watch(context.Background(), 0, 0)
	if err := nb.Close(); err != nil {
		t.Fatal(err)
	}
	if _, open := <-ch; open {
		t.Error("a change came after the end")
	}
}

// TestWatchMany: more than one batch, to several at once.
func TestWatchMany(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	const n = 600
	drafts := make([]Draft, n)
	for i := range drafts {
		drafts[i] = Draft{Sitting: sitting, Content: Content{Kind: Temperature, Step: step, Name: time.Duration(i).String(), Text: "20 °C", Unit: quantity.Celsius}}
	}
	watchers := []<-chan Change{nb.Watch(ctx, id, 3), nb.Watch(ctx, 0, 3)}
	must[[]Ack](t)(nb.AppendAll(ctx, drafts))
	for _, ch := range watchers {
		for i := range n {
			if c := next(t, ch); c.Seq != int64(i+4) {
				t.Fatalf("change %d is number %d", i, c.Seq)
			}
		}
	}
}
