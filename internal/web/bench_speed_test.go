package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"
)

// From an accepted entry to its acknowledgement, over a real connection on the
// loopback interface and to a real disk; the median is what counts.
func BenchmarkAcknowledged(b *testing.B) {
	d := newDesk(b)
	srv := httptest.NewServer(d.s)
	defer srv.Close()
	var took []time.Duration
	for i := 0; b.Loop(); i++ {
		at := time.Now()
		if _, err := sendNote(srv.Client(), srv.URL, d.id, d.sitting, i); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(at))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms/median")
}

// What a typed reading means, told while it is typed.
func BenchmarkEcho(b *testing.B) {
	d := newDesk(b)
	key := visitKey(d.sitting, "bare", 1)
	enterAll(b, d.s, d.id, d.sitting, zeroEntry(visitKey(d.sitting, "", 1), "red clamp", "low", "0.3"))
	path := d.base + "/echo?" + url.Values{"at": {key + "/current/core"}, "text": {"345 347 346"}}.Encode()
	for b.Loop() {
		if w := ask(b, d.s, "GET", path, nil); w.Code != 200 || !strings.Contains(w.Body.String(), "A") {
			b.Fatal(w.Body)
		}
	}
}

// The whole bench page with lanes, totals and the log.
func BenchmarkBenchPage(b *testing.B) {
	d := newDesk(b)
	for i, rail := range []string{"core", "link", "pll a", "pll b"} {
		enterAll(b, d.s, d.id, d.sitting, readEntry(visitKey(d.sitting, "bare", 1), "current", rail, "mV", fmt.Sprint(100+i)))
	}
	for b.Loop() {
		if w := ask(b, d.s, "GET", d.base, nil); w.Code != 200 {
			b.Fatal(w.Code)
		}
	}
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
