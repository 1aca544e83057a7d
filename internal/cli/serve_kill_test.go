package cli

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"railtally/internal/example"
	"railtally/internal/notebook"
	"railtally/internal/studyfile"
)

// kills is how often TestServeKilled kills the server. The usual run is short;
// docs/notebook.md says what a long one found.
var kills = flag.Int("kills", 10, "how often TestServeKilled kills the server")

// TestServeKilled kills `railtally serve` with SIGKILL at random moments under a
// client that writes as the page's queue does: one entry after the other, each
// with its key, sent again until it is acknowledged. Every acknowledged entry is
// there then, in order, none twice, and nothing that was not sent.
//
// A kill loses what a process held in memory, not what the system holds for it;
// what a power cut does no test on a running machine shows.
func TestServeKilled(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.db")
	w := &writer{client: &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}}
	w.study, w.sitting = sittingIn(t, path)
	random := rand.New(rand.NewPCG(7, 11))
	opening := 0
	for range *kills {
		p := served(t, path)
		if random.IntN(8) == 0 { // while it opens the notebook
			opening++
			time.Sleep(time.Duration(random.IntN(60)) * time.Millisecond)
			p.kill(t)
			continue
		}
		base := p.address(t)
		after, pause := random.IntN(6), time.Duration(random.IntN(5000))*time.Microsecond
		for n := 0; ; n++ {
			if n == after { // so many entries, then a moment more
				time.AfterFunc(pause, func() { _ = p.cmd.Process.Kill() })
			}
			if !w.send(t, base) {
				break // killed; the same entry is sent to the next server
			}
		}
		p.kill(t)
	}
	p := served(t, path) // what is on the way when the last one dies is sent as well
	if !w.send(t, p.address(t)) {
		t.Fatal("the last server does not answer")
	}
	p.kill(t)
	w.survived(t, path)
	t.Logf("%d entries acknowledged over %d kills, %d of them while opening; %d had been kept before their answer was lost",
		w.next, *kills, opening, w.again)
	if w.next < *kills/2 {
		t.Errorf("only %d entries went in", w.next)
	}
}

// sittingIn begins a notebook with the worked example and a sitting to write to.
func sittingIn(t testing.TB, path string) (study, sitting int64) {
	t.Helper()
	nb, err := notebook.Open(t.Context(), path, notebook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	x, _, err := studyfile.Read("example", example.New(example.Seed).Text)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := nb.Import(t.Context(), x, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	ack, err := nb.OpenSitting(t.Context(), plan.StudyID, notebook.Head{Board: "Otter", On: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC),
		Clock: true, VoltageMeter: "desk meter", CurrentMeter: "desk meter"}, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	if err := nb.Close(); err != nil {
		t.Fatal(err)
	}
	return plan.StudyID, ack.First
}

// process is a server of its own process.
type process struct {
	cmd *exec.Cmd
	out *bufio.Scanner
	err strings.Builder
}

func served(t testing.TB, path string) *process {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	p := &process{cmd: &exec.Cmd{Path: self, Args: []string{"railtally", "serve", "--no-browser", "--addr", "127.0.0.1:0", "--notebook", path}}}
	p.cmd.Stderr = &p.err
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	p.out = bufio.NewScanner(out)
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return p
}

// address waits until the server says where it is.
func (p *process) address(t testing.TB) string {
	t.Helper()
	for p.out.Scan() {
		if base, ok := strings.CutPrefix(p.out.Text(), "Open     "); ok {
			return base
		}
	}
	_ = p.cmd.Wait()
	t.Fatalf("the server did not start: %s", p.err.String())
	return ""
}

func (p *process) kill(t testing.TB) {
	t.Helper()
	_ = p.cmd.Process.Kill() // it may be gone
	if err := p.cmd.Wait(); err == nil || err.Error() != "signal: killed" {
		t.Fatalf("the server ended by itself: %v %s", err, p.err.String())
	}
}

// writer is a client with a queue.
type writer struct {
	client         *http.Client
	study, sitting int64
	next, again    int     // entries acknowledged, and those of them that an earlier server had kept
	ids            []int64 // of the acknowledged ones
}

// entry is the n-th thing to write: notes and temperatures, and a new step, which
// goes in together with its first entry, every seven.
func (w *writer) entry(n int) url.Values {
	f := url.Values{"visit": {fmt.Sprintf("step-%d-state-%d-bare", w.sitting, 1+n/7)}, "key": {fmt.Sprintf("key-%d", n)}}
	if n%7 == 3 {
		f["kind"], f["text"] = []string{"note"}, []string{fmt.Sprintf("note %d", n)}
		return f
	}
	f["kind"], f["name"], f["unit"], f["bare"] = []string{"temperature"}, []string{fmt.Sprintf("point %d", n)}, []string{"°C"}, []string{"°C"}
	f["text"] = []string{fmt.Sprint(40 + n%10)}
	return f
}

// send sends the next entry. False: there was no answer, so it is still the next.
func (w *writer) send(t testing.TB, base string) bool {
	t.Helper()
	r, err := http.NewRequest("POST", fmt.Sprintf("%s/studies/%d/bench/%d/entries", base, w.study, w.sitting), strings.NewReader(w.entry(w.next).Encode()))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	answer, err := w.client.Do(r)
	if err != nil {
		return false
	}
	defer answer.Body.Close()
	var said struct {
		OK, Again bool
		ID        int64
		Error     string
	}
	if err := json.NewDecoder(answer.Body).Decode(&said); err != nil {
		return false
	}
	if !said.OK {
		t.Fatalf("entry %d: %d %s", w.next, answer.StatusCode, said.Error)
	}
	if said.Again {
		w.again++
	}
	w.ids = append(w.ids, said.ID)
	w.next++
	return true
}

// survived looks for everything that was acknowledged.
func (w *writer) survived(t testing.TB, path string) {
	t.Helper()
	nb, err := notebook.Open(t.Context(), path, notebook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer nb.Close()
	if problems, err := nb.Check(t.Context()); err != nil || len(problems) > 0 {
		t.Errorf("the notebook is not sound: %v %v", problems, err)
	}
	all, err := nb.Entries(t.Context(), w.study)
	if err != nil {
		t.Fatal(err)
	}
	steps, n := 0, 0
	for _, e := range all {
		switch {
		case e.Sitting != w.sitting:
			continue
		case e.Kind == notebook.Step:
			steps++
			continue
		case n == len(w.ids):
			t.Fatalf("entry %s was never acknowledged", e.Key)
		}
		if f := w.entry(n); e.Key != f.Get("key") || e.ID != w.ids[n] || e.Text != f.Get("text") || e.Name != f.Get("name") {
			t.Fatalf("entry %d of those acknowledged is %s, id %d, %q; want %v, id %d", n, e.Key, e.ID, e.Text, f, w.ids[n])
		}
		n++
	}
	if n != len(w.ids) {
		t.Errorf("%d of %d acknowledged entries are there", n, len(w.ids))
	}
	if want := (n + 6) / 7; steps != want {
		t.Errorf("%d steps were opened, want %d", steps, want)
	}
}
