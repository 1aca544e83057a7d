package notebook

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// TestNotNotebooks: other files are refused and stay as they are.
func TestNotNotebooks(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	dir := t.TempDir()
	foreign := filepath.Join(dir, "foreign.db")
	db := must[*sql.DB](t)(sql.Open("sqlite", source(foreign, "rwc", busyWait)))
	if _, err := db.Exec("CREATE TABLE songs (title TEXT)"); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	text := filepath.Join(dir, "letter.txt")
	if err := os.WriteFile(text, []byte(strings.Repeat("Dear reader, ", 500)), 0o600); err != nil {
		t.Fatal(err)
	}
	for path, says := range map[string]string{foreign: "database of another program", text: "not a database", dir: "folder"} {
		var had []byte
		if path != dir {
			had = must[[]byte](t)(os.ReadFile(path))
		}
		_, err := Open(ctx, path, testOptions())
		if CodeOf(err) != NotNotebook || HintOf(err) == "" || !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v (%s)", path, err, HintOf(err))
		}
		if _, err := CheckFile(ctx, path); CodeOf(err) != NotNotebook {
			t.Errorf("check %s: %v", path, err)
		}
		if path != dir && string(had) != string(must[[]byte](t)(os.ReadFile(path))) {
			t.Errorf("%s was changed", path)
		}
	}
	if got := files(t, dir); !slices.Equal(got, []string{"foreign.db", "letter.txt"}) {
		t.Errorf("left behind: %v", got)
	}
	o := testOptions()
	o.MustExist = true
	if _, err := Open(ctx, filepath.Join(dir, "none.db"), o); CodeOf(err) != NotFound {
		t.Errorf("%v", err)
	}
	// An empty file is a notebook that has not begun.
	blank := filepath.Join(dir, "blank.db")
	if err := os.WriteFile(blank, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	sound(t, openedAt(t, blank))
}

// TestDamage: whatever page loses its head, the check finds it; nothing panics.
func TestDamage(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	dir := t.TempDir()
	path := filepath.Join(dir, "notebook.db")
	nb := must[*Notebook](t)(Open(ctx, path, testOptions()))
	p := must[*Plan](t)(nb.Import(ctx, otter(t), Origin{}))
	if err := nb.Close(); err != nil {
		t.Fatal(err)
	}
	good := must[[]byte](t)(os.ReadFile(path))
	const page = 4096
	broken := filepath.Join(dir, "broken.db")
	for at := 0; at < len(good); at += page {
		b := slices.Clone(good)
		for i := range 12 {
			b[at+i] ^= 0x5a
		}
		if err := os.WriteFile(broken, b, 0o600); err != nil {
			t.Fatal(err)
		}
		problems, err := CheckFile(ctx, broken)
		if problems == nil && CodeOf(err) != Corrupt && CodeOf(err) != NotNotebook {
			t.Errorf("page %d: %v", at/page, err)
		}
		if nb, err := Open(ctx, broken, testOptions()); err == nil {
			if s, err := nb.Study(ctx, p.StudyID); err == nil && yamlText(t, s) != yamlText(t, otter(t)) {
				t.Errorf("page %d: another study is read", at/page)
			} else if err != nil && (CodeOf(err) != Corrupt || HintOf(err) == "") {
				t.Errorf("page %d: %v", at/page, err)
			}
			nb.Close()
		}
		for _, tail := range []string{"-wal", "-shm"} {
			os.Remove(broken + tail)
		}
	}
	if err := os.WriteFile(broken, good[:len(good)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	if problems, err := CheckFile(ctx, broken); CodeOf(err) != Corrupt && problems == nil {
		t.Errorf("half a file: %v %v", problems, err)
	}
}

// TestCheckFindsBrokenRules: what SQLite allows and the notebook does not.
func TestCheckFindsBrokenRules(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), "n.db")
	nb := must[*Notebook](t)(Open(ctx, file, testOptions()))
	id, sitting, step := atBench(t, nb)
	a := must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
	must[Ack](t)(nb.Correct(ctx, a.ID, link(step, "119 mV"), Origin{}))
	must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "121 mV"), Aside: true}))
	must[Ack](t)(nb.PutInstrument(ctx, otter(t).Instruments[0], Origin{}))
	photo := must[Ack](t)(nb.AddPhoto(ctx, id, View{Board: "Otter", Side: Front}, Picture{"image/png", 2, 1, []byte("x")}, Origin{}))
	must[Ack](t)(nb.AddPin(ctx, photo.First, Spot{Role: Probe}, Origin{}))
	sound(t, nb)
	if err := nb.Close(); err != nil {
		t.Fatal(err)
	}
	bytes := must[[]byte](t)(os.ReadFile(file))
	for _, c := range []struct{ statement, says string }{
		{"UPDATE entry SET first = 1 WHERE id = 3", "entry 3: supersedes a row that is later or of another chain"},
		{"UPDATE entry SET step = 2 WHERE id = 4", "entry 4: belongs to no step"},
		{"UPDATE entry SET withdrawn = 0 WHERE id = 4", "entry 4: stands where another stands"},
		{"UPDATE entry SET text = 'lots' WHERE id = 3", "entry 3: a number is wanted here"},
		{"UPDATE picture SET bytes = x'00'", "bytes have changed"},
		{"DELETE FROM change WHERE what = 'pin'", "pin 1: was never announced"},
		{"DELETE FROM photo", "pin 1: refers to a row of photo that is not there"},
		{"DELETE FROM plan", "study 1: has no plan"},
		{"UPDATE plan SET body = 'study: [' WHERE id = 1", "plan 1: plan:1:"},
		{"INSERT INTO study VALUES (2, 'k', '', '', '', '', ''); UPDATE entry SET study = 2 WHERE id = 3", "entry 3: belongs to another study"},
		{"UPDATE entry SET unit = 'furlong' WHERE id = 3", "no entry is read in \"furlong\""},
		{"UPDATE entry SET taken_at = 'noon' WHERE id = 3", "entry 3: "},
		{"UPDATE instrument SET body = 'instruments: {}'", "instrument 1: "},
		{"UPDATE sitting SET room = 'warm'", "sitting 1: a number is wanted here"},
		{"UPDATE entry SET kind = 'voltage' WHERE id = 3", "entry 3: is of another kind"},
		{"UPDATE entry SET same_as = 1 WHERE id = 3", "entry 3: repeats a row of another chain"},
	} {
		path := filepath.Join(t.TempDir(), "n.db")
		if err := os.WriteFile(path, bytes, 0o600); err != nil {
			t.Fatal(err)
		}
		nb := openedAt(t, path)
		if _, err := nb.w.Exec("PRAGMA synchronous = OFF"); err != nil { // the disk is not what is tested
			t.Fatal(err)
		}
		for _, name := range must[[]string](t)(column(nb, "SELECT name FROM sqlite_schema WHERE type = 'trigger'")) {
			if _, err := nb.w.Exec("DROP TRIGGER " + name); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := nb.w.Exec("PRAGMA foreign_keys = OFF; " + c.statement); err != nil {
			t.Fatalf("%s: %v", c.statement, err)
		}
		problems := must[[]Problem](t)(nb.Check(ctx))
		if !strings.Contains(fmt.Sprint(problems), c.says) {
			t.Errorf("%s: the check says %v", c.statement, problems)
		}
	}
}

// TestDiskFull: SQLite is told that no more pages may be had, which is what a
// full disk tells it. What was acknowledged stays, the next entry is refused
// with the reason, and work goes on when there is space.
func TestDiskFull(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	var pages int64
	if err := nb.w.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	if _, err := nb.w.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages+8)); err != nil {
		t.Fatal(err)
	}
	kept := 0
	var full error
	note := func(i int) Draft {
		return Draft{Sitting: sitting, Content: Content{Kind: Temperature, Step: step, Name: fmt.Sprint(i), Text: "20 °C", Unit: quantity.Celsius}}
	}
	for full == nil && kept < 10000 {
		if _, full = nb.Append(ctx, note(kept)); full == nil {
			kept++
		}
	}
	if CodeOf(full) != Full || !strings.Contains(HintOf(full), "space") || kept == 0 {
		t.Fatalf("after %d entries: %v", kept, full)
	}
	count := func() int {
		return len(must[*study.Study](t)(nb.Study(ctx, id)).Sittings[0].Steps[0].Temperatures)
	}
	if n := count(); n != kept {
		t.Errorf("%d entries of %d are there", n, kept)
	}
	sound(t, nb)
	if _, err := nb.w.Exec("PRAGMA max_page_count = 1000000"); err != nil {
		t.Fatal(err)
	}
	must[Ack](t)(nb.Append(ctx, note(kept)))
	if n := count(); n != kept+1 {
		t.Errorf("%d entries", n)
	}
}

// TestLocked: another process has the file to itself.
func TestLocked(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	_, sitting, step := atBench(t, nb)
	c := child(t, "hold", nb.Path())
	in, out := must[io.WriteCloser](t)(c.StdinPipe()), must[io.ReadCloser](t)(c.StdoutPipe())
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	if line, err := bufio.NewReader(out).ReadString('\n'); line != "held\n" {
		t.Fatalf("%q %v", line, err)
	}
	_, err := nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")})
	if CodeOf(err) != Locked || HintOf(err) == "" {
		t.Errorf("%v", err)
	}
	if _, err := Open(ctx, nb.Path(), testOptions()); CodeOf(err) != Locked {
		t.Errorf("open: %v", err)
	}
	if _, err := nb.Study(ctx, 1); err != nil {
		t.Errorf("reading waits for the writer: %v", err)
	}
	if err := errors.Join(in.Close(), c.Wait()); err != nil {
		t.Fatal(err)
	}
	must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
}

// TestSecondProcess works on the same file at the same time.
func TestSecondProcess(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
	out, err := child(t, "one", nb.Path()).Output()
	if err != nil || string(out) != "kept 3\n" {
		t.Fatalf("%s %v", out, err)
	}
	must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: Content{Kind: Throughput, Step: step, Text: "1 GB/s"}}))
	st := must[*study.Study](t)(nb.Study(ctx, id)).Sittings[0].Steps[0]
	if st.Note != "from another process" || st.Throughput == nil || len(st.Rails) != 1 {
		t.Errorf("%+v", st)
	}
	sound(t, nb)
}

// TestContextEnds: a request that was given up leaves nothing and breaks
// nothing.
func TestContextEnds(t *testing.T) {
	t.Parallel()
	nb := opened(t)
	id, sitting, step := atBench(t, nb)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if got := reads(t, nb, id); got != "" {
		t.Errorf("reads %s", got)
	}
	must[Ack](t)(nb.Append(context.Background(), Draft{Sitting: sitting, Content: link(step, "118 mV")}))
}
