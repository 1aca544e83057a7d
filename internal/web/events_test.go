package web

import (
	"bufio"
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"railtally/internal/notebook"
)

// listen reads the events of a study until ctx ends.
func listen(ctx context.Context, t testing.TB, base, path, last string) <-chan string {
	t.Helper()
	r, err := http.NewRequestWithContext(ctx, "GET", base+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if last != "" {
		r.Header.Set("Last-Event-ID", last)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	if got := answer.Header.Get("Content-Type"); answer.StatusCode != 200 || got != "text/event-stream" {
		t.Fatalf("status %d, %s", answer.StatusCode, got)
	}
	out := make(chan string, 64)
	go func() {
		defer close(out)
		defer answer.Body.Close()
		lines := bufio.NewScanner(answer.Body)
		for lines.Scan() {
			if id, ok := strings.CutPrefix(lines.Text(), "id: "); ok {
				out <- id
			}
		}
	}()
	return out
}

func nextEvent(t testing.TB, events <-chan string) string {
	t.Helper()
	select {
	case id, open := <-events:
		if !open {
			t.Fatal("the stream ended")
		}
		return id
	case <-time.After(10 * time.Second):
		t.Fatal("no event came")
		return ""
	}
}

// Every change is told as it is committed, and who comes back with the last one
// it saw misses nothing.
func TestEvents(t *testing.T) {
	d := newDesk(t)
	base := listening(t, d.s)
	path := at("studies", d.id, "events")
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	events := listen(ctx, t, base, path, "")
	key := visitKey(d.sitting, "bare", 1)
	enterAll(t, d.s, d.id, d.sitting, readEntry(key, "current", "core", "mV", "345"))
	step, entry := nextEvent(t, events), nextEvent(t, events)
	if step == entry {
		t.Errorf("two events are called %s", step)
	}
	stop()
	enterAll(t, d.s, d.id, d.sitting, readEntry(key, "voltage", "core", "V", "0.953"))
	again := listen(t.Context(), t, base, path, step)
	if got := nextEvent(t, again); got != entry {
		t.Errorf("after %s came %s, want %s", step, got, entry)
	}
	last, err := d.nb.LastChange(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if got := nextEvent(t, again); got != itoa(last) {
		t.Errorf("then came %s, want %d", got, last)
	}
	contains(t, ask(t, d.s, "GET", at("studies", 999, "events"), nil), 404)
}

// Another process on the same file is heard too: here another notebook on it.
func TestEventsOfAnotherProcess(t *testing.T) {
	d := newDesk(t)
	events := listen(t.Context(), t, listening(t, d.s), at("studies", d.id, "events"), "")
	other, err := notebook.Open(t.Context(), d.nb.Path(), notebook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	if _, err := other.OpenSitting(t.Context(), d.id, notebook.Head{Board: "Otter", On: time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)}, notebook.Origin{}); err != nil {
		t.Fatal(err)
	}
	nextEvent(t, events)
}

// The page can be installed: its manifest names icons that are there, and its
// worker names the files of this version.
func TestManifestAndWorker(t *testing.T) {
	s := newServer(t, newNotebook(t))
	w := ask(t, s, "GET", "/manifest.webmanifest", nil)
	contains(t, w, 200, `"display":"standalone"`, "192x192", "512x512", `"start_url":"/studies"`)
	m := said1[struct {
		Icons []struct{ Src, Type string } `json:"icons"`
	}](t, w)
	for _, icon := range m.Icons {
		got := ask(t, s, "GET", icon.Src, nil)
		if got.Code != 200 || got.Header().Get("Content-Type") != icon.Type {
			t.Errorf("icon %s: %d, %s", icon.Src, got.Code, got.Header().Get("Content-Type"))
		}
	}
	contains(t, ask(t, s, "GET", "/sw.js", nil), 200, "const FILES = [", "/static/bench.", "/static/app.", "/offline")
	contains(t, ask(t, s, "GET", "/offline", nil), 200, "No connection")
}
