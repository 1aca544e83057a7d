package notebook

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// files lists a folder.
func files(t testing.TB, dir string) (out []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

// TestBackupWhileWriting: a backup is one state of the notebook, taken between
// two entries, and nobody waits for it.
func TestBackupWhileWriting(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	// Some bulk, so that the copy takes several steps.
	bulk := Picture{Type: "image/png", Width: 1, Height: 1, Bytes: make([]byte, 12<<20)}
	must[Ack](t)(nb.AddPhoto(ctx, id, View{Board: "Otter", Side: Front}, bulk, Origin{}))
	stop := make(chan struct{})
	wrote := make(chan error, 1)
	go func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				wrote <- nil
				return
			default:
			}
			// Two entries in one transaction: a backup holds both or neither.
			var pair []Draft
			for _, end := range []string{"a", "b"} {
				pair = append(pair, Draft{Sitting: sitting, Content: Content{Kind: Temperature, Step: step, Name: fmt.Sprint(i, end), Text: "20 °C", Unit: quantity.Celsius}})
			}
			if _, err := nb.AppendAll(ctx, pair); err != nil {
				wrote <- err
				return
			}
		}
	}()
	dir := t.TempDir()
	counts := make([]int, 0, 4)
	for i := range 4 {
		to := filepath.Join(dir, "deep", fmt.Sprintf("%d.db", i))
		if err := nb.Backup(ctx, to); err != nil {
			t.Fatal(err)
		}
		if problems, err := CheckFile(ctx, to); err != nil || problems != nil {
			t.Fatalf("%v %v", problems, err)
		}
		copied := openedAt(t, to)
		s := must[*study.Study](t)(copied.Study(ctx, id))
		counts = append(counts, len(s.Sittings[0].Steps[0].Temperatures))
	}
	close(stop)
	if err := <-wrote; err != nil {
		t.Fatal(err)
	}
	for i, n := range counts {
		if n%2 != 0 || i > 0 && n < counts[i-1] {
			t.Errorf("the backups hold %v entries", counts)
		}
	}
	if counts[3] == 0 {
		t.Error("nothing was written meanwhile, so the test says nothing")
	}
	if err := nb.Backup(ctx, filepath.Join(dir, "deep", "0.db")); CodeOf(err) != Exists {
		t.Errorf("a backup over another: %v", err)
	}
	for _, f := range files(t, filepath.Join(dir, "deep")) {
		if strings.Contains(f, "part") {
			t.Errorf("%s was left", f)
		}
	}
	ended, cancel := context.WithCancel(ctx)
	cancel()
	if err := nb.Backup(ended, filepath.Join(dir, "never.db")); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if got := files(t, dir); !slices.Equal(got, []string{"deep"}) {
		t.Errorf("left: %v", got)
	}
}

func TestRestore(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	dir := t.TempDir()
	path, saved := filepath.Join(dir, "notebook.db"), filepath.Join(dir, "saved.db")
	nb := must[*Notebook](t)(Open(ctx, path, testOptions()))
	p := must[*Plan](t)(nb.Import(ctx, otter(t), Origin{}))
	want := must[*study.Study](t)(nb.Study(ctx, p.StudyID))
	if err := nb.Backup(ctx, saved); err != nil {
		t.Fatal(err)
	}
	late := must[*Plan](t)(nb.NewStudy(ctx, asking("later?"), Origin{}))
	if _, err := Restore(ctx, saved, path, began()); CodeOf(err) != Locked || HintOf(err) == "" {
		t.Errorf("restored under an open notebook: %v", err)
	}
	if q := must[*Plan](t)(nb.Plan(ctx, late.StudyID)); q.Question != "later?" {
		t.Error("the refused restore changed the notebook")
	}
	if err := nb.Close(); err != nil {
		t.Fatal(err)
	}
	aside, err := Restore(ctx, saved, path, began())
	if err != nil {
		t.Fatal(err)
	}
	back := openedAt(t, path)
	if d := cmp.Diff(want, must[*study.Study](t)(back.Study(ctx, p.StudyID))); d != "" {
		t.Error(d)
	}
	if n := len(must[[]Summary](t)(back.Studies(ctx))); n != 1 {
		t.Errorf("%d studies", n)
	}
	sound(t, back)
	// What was there is not lost.
	old := openedAt(t, aside)
	if n := len(must[[]Summary](t)(old.Studies(ctx))); n != 2 {
		t.Errorf("%d studies aside", n)
	}
	// Restoring where nothing is, and from one that is in use.
	fresh := filepath.Join(dir, "new", "notebook.db")
	if aside, err := Restore(ctx, path, fresh, began()); err != nil || aside != "" {
		t.Errorf("%q %v", aside, err)
	}
	sound(t, openedAt(t, fresh))
	if _, err := Restore(ctx, path, path, began()); CodeOf(err) != Invalid {
		t.Errorf("restored onto itself: %v", err)
	}
	if _, err := Restore(ctx, filepath.Join(dir, "none.db"), path, began()); CodeOf(err) != NotFound {
		t.Errorf("%v", err)
	}
}

// TestRestoreOverDamage: a damaged notebook is set aside as it is; a damaged
// backup is refused and changes nothing.
func TestRestoreOverDamage(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	dir := t.TempDir()
	path, saved := filepath.Join(dir, "notebook.db"), filepath.Join(dir, "saved.db")
	nb := must[*Notebook](t)(Open(ctx, path, testOptions()))
	must[*Plan](t)(nb.Import(ctx, otter(t), Origin{}))
	if err := errors.Join(nb.Backup(ctx, saved), nb.Close()); err != nil {
		t.Fatal(err)
	}
	rubbish := []byte(strings.Repeat("rubbish ", 4096))
	if err := os.WriteFile(path, rubbish, 0o600); err != nil {
		t.Fatal(err)
	}
	aside, err := Restore(ctx, saved, path, began())
	if err != nil {
		t.Fatal(err)
	}
	if got := must[[]byte](t)(os.ReadFile(aside)); string(got) != string(rubbish) {
		t.Error("what was there was changed")
	}
	sound(t, openedAt(t, path))
	bad := filepath.Join(dir, "bad.db")
	good := must[[]byte](t)(os.ReadFile(saved))
	for name, spoil := range map[string]func([]byte) []byte{
		"rubbish":   func([]byte) []byte { return rubbish },
		"empty":     func([]byte) []byte { return nil },
		"cut short": func(b []byte) []byte { return b[:len(b)/2] },
		"overwritten": func(b []byte) []byte {
			copy(b[len(b)/3:], make([]byte, len(b)/3))
			return b
		},
	} {
		if err := os.WriteFile(bad, spoil(slices.Clone(good)), 0o600); err != nil {
			t.Fatal(err)
		}
		target := filepath.Join(dir, "target.db")
		if _, err := Restore(ctx, bad, target, began()); CodeOf(err) != Corrupt && CodeOf(err) != NotNotebook {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := os.Stat(target); err == nil {
			t.Errorf("%s was restored", name)
		}
	}
}

// Of a large notebook fewer backups are kept, and they are made less often.
func TestBackupsOfALargeNotebook(t *testing.T) {
	t.Parallel()
	keep := Keep{Newest: 4, Days: 14, Months: 12, Room: 4 << 30, Rate: 256 << 20}
	for _, c := range []struct {
		size int64
		want time.Duration
	}{{10 << 20, time.Hour}, {256 << 20, time.Hour}, {1 << 30, 4 * time.Hour}, {100 << 30, 24 * time.Hour}} {
		if got := keep.spacing(time.Hour, c.size); got != c.want {
			t.Errorf("%d bytes: every %v, want %v", c.size, got, c.want)
		}
	}
	kept := func(size int64) (out []string) {
		var have []BackupFile
		for i := range 24 * 60 { // every hour of sixty days
			at := time.Date(2026, 4, 30, 12, 0, 0, 0, time.UTC).Add(-time.Duration(i) * time.Hour)
			have = append(have, BackupFile{at.String(), at, size})
		}
		drop := unwanted(have, keep, have[0].Path)
		for _, b := range have {
			if !slices.Contains(drop, b) {
				out = append(out, b.Taken.Format("01-02 15"))
			}
		}
		return out
	}
	if got := kept(1 << 20); len(got) != 4+13+1 {
		t.Errorf("small: %v", got)
	}
	for size, want := range map[int64]string{
		1 << 30: "[04-30 12 04-30 11 04-29 23 03-31 23]", // as many as there is room for
		2 << 30: "[04-30 12 04-29 23 03-31 23]",          // three in any case
	} {
		if got := fmt.Sprint(kept(size)); got != want {
			t.Errorf("%d bytes: %s, want %s", size, got, want)
		}
	}
}

// TestRollingBackups: due when something is new and the time has come; the kept
// ones follow the rule.
func TestRollingBackups(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	now := began()
	o := testOptions()
	o.Now = func() time.Time { return now }
	nb := must[*Notebook](t)(Open(ctx, filepath.Join(t.TempDir(), "a [b]*", "notebook.db"), o))
	defer nb.Close()
	p := must[*Plan](t)(nb.NewStudy(ctx, asking("q0"), Origin{}))
	keep := Keep{Newest: 2, Days: 3, Months: 2}
	roll := func(due bool) {
		t.Helper()
		path, err := nb.RollBackup(ctx, time.Hour, keep)
		if err != nil || (path != "") != due {
			t.Fatalf("%s: %q %v", now, path, err)
		}
	}
	say := func(q string) { p = must[*Plan](t)(nb.SavePlan(ctx, p.StudyID, p.ID, asking(q), Origin{})) }
	roll(true)
	say("q1")
	now = now.Add(59 * time.Minute)
	roll(false) // too early
	now = now.Add(2 * time.Minute)
	roll(true)
	now = now.Add(2 * time.Hour)
	roll(false) // nothing new
	must[Ack](t)(nb.PutInstrument(ctx, otter(t).Instruments[0], Origin{}))
	roll(true) // the shelf counts too
	now = now.Add(-30 * 24 * time.Hour)
	say("clock set back")
	roll(true) // a clock that was set back stops nothing
	now = now.Add(60 * 24 * time.Hour)
	for day := range 5 {
		for range 2 {
			now = now.Add(5 * time.Hour)
			say(fmt.Sprint("day", day))
			roll(true)
		}
		now = now.Add(14 * time.Hour)
	}
	have := must[[]BackupFile](t)(nb.Backups())
	var got []string
	for _, b := range have {
		got = append(got, b.Taken.Format("01-02 15:04"))
	}
	// The two newest, the last of each of three days, the last of each of two
	// months. The one of February, when the clock was wrong, is the third month.
	want := []string{"04-18 04:01", "04-17 23:01", "04-16 23:01", "03-14 18:01"}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	if problems, err := CheckFile(ctx, have[0].Path); err != nil || problems != nil {
		t.Errorf("%v %v", problems, err)
	}
	// Other files in the folder stay, but for parts left long ago.
	dir := BackupFolder(nb.Path())
	for _, name := range []string{"mine.db", "auto-notes.db", ".railtally-1.part", ".railtally-2.part"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(os.Chtimes(filepath.Join(dir, ".railtally-1.part"), now, now.Add(-25*time.Hour)),
		os.Chtimes(filepath.Join(dir, ".railtally-2.part"), now, now.Add(-23*time.Hour))); err != nil {
		t.Fatal(err)
	}
	now = now.Add(time.Hour)
	roll(false)
	got = files(t, dir)
	for name, stays := range map[string]bool{"mine.db": true, "auto-notes.db": true, ".railtally-1.part": false, ".railtally-2.part": true} {
		if slices.Contains(got, name) != stays {
			t.Errorf("%s stays: %v", name, !stays)
		}
	}
}

// TestRunBackups makes one at once and ends with its context.
func TestRunBackups(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(context.Background())
	nb := opened(t)
	atBench(t, nb)
	made := make(chan string, 1)
	done := make(chan struct{})
	go func() {
		nb.RunBackups(ctx, time.Hour, DefaultKeep(), func(path string, err error) {
			if err != nil {
				t.Error(err)
			}
			made <- path
		})
		close(done)
	}()
	path := <-made
	stop()
	<-done
	if problems, err := CheckFile(context.Background(), path); err != nil || problems != nil {
		t.Errorf("%v %v", problems, err)
	}
}
