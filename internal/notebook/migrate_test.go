package notebook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"railtally/internal/study"
)

// withMore returns the migrations of this program, with more after them.
func withMore(t testing.TB, more ...string) fs.FS {
	t.Helper()
	out := make(fstest.MapFS)
	steps := must[fs.FS](t)(fs.Sub(embedded, "migrations"))
	names := must[[]string](t)(fs.Glob(steps, "*.sql"))
	for _, n := range names {
		out[n] = &fstest.MapFile{Data: must[[]byte](t)(fs.ReadFile(steps, n))}
	}
	for i, sql := range more {
		out[fmt.Sprintf("9%04d_more.sql", i)] = &fstest.MapFile{Data: []byte("-- +goose Up\n" + sql)}
	}
	return out
}

const oneMore = "CREATE TABLE extra (id INTEGER PRIMARY KEY) STRICT;"

// TestOlderIsUpdated: after a backup, and without losing anything.
func TestOlderIsUpdated(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "notebook.db")
	nb := must[*Notebook](t)(Open(ctx, path, testOptions()))
	p := must[*Plan](t)(nb.Import(ctx, otter(t), Origin{}))
	if err := nb.Close(); err != nil {
		t.Fatal(err)
	}
	later := must[*Notebook](t)(open(ctx, path, testOptions(), withMore(t, oneMore)))
	if d := cmp.Diff(otter(t), must[*study.Study](t)(later.Study(ctx, p.StudyID))); d != "" {
		t.Error(d)
	}
	must[[]string](t)(column(later, "SELECT id FROM extra"))
	sound(t, later)
	if err := later.Close(); err != nil {
		t.Fatal(err)
	}
	saved := files(t, BackupFolder(path))
	if len(saved) != 1 || !strings.HasPrefix(saved[0], "before-version-90000-") {
		t.Fatalf("the backups are %v", saved)
	}
	before := openedAt(t, filepath.Join(BackupFolder(path), saved[0]))
	if d := cmp.Diff(otter(t), must[*study.Study](t)(before.Study(ctx, p.StudyID))); d != "" {
		t.Error(d)
	}

	// This program now meets a notebook of a later version: refused, unchanged.
	had := must[[]byte](t)(os.ReadFile(path))
	_, err := Open(ctx, path, testOptions())
	if CodeOf(err) != Newer || HintOf(err) == "" || !strings.Contains(err.Error(), "later version of railtally (notebook version 90000") {
		t.Errorf("%v", err)
	}
	if _, err := Restore(ctx, path, filepath.Join(t.TempDir(), "n.db"), began()); CodeOf(err) != Newer {
		t.Errorf("restored from a later version: %v", err)
	}
	if string(had) != string(must[[]byte](t)(os.ReadFile(path))) {
		t.Error("the refused notebook was changed")
	}
}

// TestEveryOlderVersion: a notebook of each version there ever was is backed up,
// brought up to date, and its backup can be checked and restored.
func TestEveryOlderVersion(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	all := withMore(t).(fstest.MapFS)
	names := must[[]string](t)(fs.Glob(all, "*.sql"))
	for n := 1; n < len(names); n++ {
		path := filepath.Join(t.TempDir(), "notebook.db")
		older := fstest.MapFS{}
		for _, name := range names[:n] {
			older[name] = all[name]
		}
		o := testOptions()
		if err := prepare(ctx, path, o, older); err != nil {
			t.Fatal(err)
		}
		db := must[*sql.DB](t)(writer(path, busyWait))
		_, err := db.ExecContext(ctx, `INSERT INTO study (key, device, who, why, taken_at, accepted_at) VALUES ('k', '', '', '', '', '2026-03-14T15:00:00Z');
			INSERT INTO plan (study, question, form, body, renames, key, device, who, why, taken_at, accepted_at)
			VALUES (1, 'Is it less?', 'yaml', '{study: Is it less?, boards: {Otter: {rails: {core: {nominal: 1 V, not opened: 0..1 A}}}}}', '[]', 'p', '', '', '', '', '2026-03-14T15:00:00Z')`)
		if err := errors.Join(err, db.Close()); err != nil {
			t.Fatal(err)
		}
		sound(t, openedAt(t, path))
		saved := files(t, BackupFolder(path))
		if len(saved) != 1 {
			t.Fatalf("version %d: the backups are %v", n, saved)
		}
		backup := filepath.Join(BackupFolder(path), saved[0])
		if problems := must[[]Problem](t)(CheckFile(ctx, backup)); len(problems) > 0 {
			t.Errorf("version %d: the backup has %v", n, problems)
		}
		to := filepath.Join(t.TempDir(), "n.db")
		must[string](t)(Restore(ctx, backup, to, began()))
		if s := must[[]Summary](t)(openedAt(t, to).Studies(ctx)); len(s) != 1 || s[0].Question != "Is it less?" {
			t.Errorf("version %d: restored %+v", n, s)
		}
	}
}

// TestFailedUpdate leaves the notebook at the version it had.
func TestFailedUpdate(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "notebook.db")
	nb := must[*Notebook](t)(Open(ctx, path, testOptions()))
	p := must[*Plan](t)(nb.Import(ctx, otter(t), Origin{}))
	if err := nb.Close(); err != nil {
		t.Fatal(err)
	}
	_, err := open(ctx, path, testOptions(), withMore(t, "CREATE TABLE half (id INTEGER) STRICT;\nINSERT INTO nowhere VALUES (1);"))
	if err == nil {
		t.Fatal("a migration that cannot work did")
	}
	back := openedAt(t, path)
	if n := must[[]string](t)(column(back, "SELECT count(*) FROM sqlite_schema WHERE name = 'half'")); n[0] != "0" {
		t.Error("half of the migration stayed")
	}
	if d := cmp.Diff(otter(t), must[*study.Study](t)(back.Study(ctx, p.StudyID))); d != "" {
		t.Error(d)
	}
}

// TestManyBegin: several that open a new notebook at the same time all can.
func TestManyBegin(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "notebook.db")
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			o := testOptions()
			o.Wait = busyWait
			nb, err := Open(ctx, path, o)
			if err != nil {
				t.Error(err)
				return
			}
			if err := nb.Close(); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	sound(t, openedAt(t, path))
}
