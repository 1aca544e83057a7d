package web

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"railtally/internal/notebook"
)

// killedServer tells the test binary to be a server on a notebook instead.
const killedServer = "RAILTALLY_TEST_SERVE"

// TestServeUntilKilled is no test of its own: TestKill runs it in a process that
// it kills.
func TestServeUntilKilled(t *testing.T) {
	path := os.Getenv(killedServer)
	if path == "" {
		return
	}
	nb, err := notebook.Open(context.Background(), path, notebook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(Config{Notebook: nb})
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println("serving http://" + l.Addr().String())
	t.Fatal(http.Serve(l, s))
}

// serveOnce starts a server in a process of its own.
func serveOnce(t testing.TB, path string) (base string, cmd *exec.Cmd) {
	t.Helper()
	cmd = exec.Command(os.Args[0], "-test.run", "^TestServeUntilKilled$")
	cmd.Env = append(os.Environ(), killedServer+"="+path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if base, ok := strings.CutPrefix(lines.Text(), "serving "); ok {
			return base, cmd
		}
	}
	_ = cmd.Wait()
	t.Fatal("the server did not start")
	return "", nil
}

// The server is killed ten times at random moments under a client that writes as
// the page does: one entry after the other, each with its key, sent again until
// it is acknowledged. Every entry is there then, in order, none twice.
func TestKill(t *testing.T) {
	const kills = 10
	path := filepath.Join(t.TempDir(), "bench.db")
	nb, err := notebook.Open(t.Context(), path, notebook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	id := importExample(t, nb)
	sitting := openSitting(t, nb, id, "Otter", time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	if err := nb.Close(); err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(7, 11))
	client := &http.Client{Timeout: 5 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}
	n, again := 0, 0
	for range kills {
		base, cmd := serveOnce(t, path)
		time.AfterFunc(time.Duration(40+random.IntN(300))*time.Millisecond, func() { _ = cmd.Process.Kill() }) // it may be gone
		for {
			k, err := sendNote(client, base, id, sitting, n)
			if err != nil {
				break // killed; the same entry is sent to the next server
			}
			if k.Again {
				again++
			}
			n++
		}
		_ = cmd.Wait() // says that it was killed
	}
	if nb, err = notebook.Open(t.Context(), path, notebook.Options{}); err != nil {
		t.Fatal(err)
	}
	defer nb.Close()
	all, err := nb.Entries(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range all {
		if e.Sitting == sitting && e.Kind == notebook.Temperature {
			got = append(got, e.Name)
		}
	}
	// One more than was acknowledged may be there: its answer was lost.
	if len(got) < n || len(got) > n+1 {
		t.Fatalf("%d entries of %d acknowledged", len(got), n)
	}
	for i, name := range got {
		if name != fmt.Sprintf("point %d", i) {
			t.Fatalf("entry %d is %s", i, name)
		}
	}
	if n < kills {
		t.Errorf("only %d entries went in", n)
	}
	t.Logf("%d entries over %d kills, %d of them sent again", n, kills, again)
}

// sendNote sends the n-th entry: one more temperature of a state.
func sendNote(client *http.Client, base string, id, sitting int64, n int) (k kept, err error) {
	form := url.Values{"visit": {visitKey(sitting, "bare", 1)}, "kind": {"temperature"}, "name": {fmt.Sprintf("point %d", n)},
		"unit": {"°C"}, "bare": {"°C"}, "text": {fmt.Sprint(40 + n%10)}, "key": {fmt.Sprintf("kill-%d", n)}}
	r, err := http.NewRequest("POST", base+at("studies", id, "bench", sitting, "entries"), strings.NewReader(form.Encode()))
	if err != nil {
		return k, err
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	answer, err := client.Do(r)
	if err != nil {
		return k, err
	}
	defer answer.Body.Close()
	if err := json.NewDecoder(answer.Body).Decode(&k); err != nil {
		return k, err
	}
	if !k.OK {
		return k, fmt.Errorf("%d: %s", answer.StatusCode, k.Error)
	}
	return k, nil
}
