package web

import (
	"fmt"
	"html"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

var href = regexp.MustCompile(`href="(/studies/[^"]+)"`)

// Every figure of the results opens: all links from the results page on are
// followed, and each page that opens names what it is about.
func TestEveryFigureOpens(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	start := at("studies", id, "results")
	seen, next := map[string]bool{start: true}, []string{start}
	for len(next) > 0 {
		path := next[0]
		next = next[1:]
		w := ask(t, s, "GET", path, nil)
		if w.Code != 200 {
			t.Errorf("%s: status %d", path, w.Code)
			continue
		}
		for _, m := range href.FindAllStringSubmatch(w.Body.String(), -1) {
			to := html.UnescapeString(m[1])
			if opens.MatchString(to) && !seen[to] {
				seen[to] = true
				next = append(next, to)
			}
		}
	}
	states, rails := 0, 0
	kinds := map[string]int{}
	for path := range seen {
		kind := strings.Split(path, "/")[3]
		kinds[kind]++
		switch n := strings.Count(path, "/"); {
		case kind != "results":
		case n == 5:
			states++
		case n == 6:
			rails++
		}
	}
	// Two boards of six states; four and six rails. Fifteen pairs of states on each
	// board, and three comparisons across boards; five effects a board and the
	// page of all; the eight claims;
	// the effect of a sitting and the page that takes it over.
	if states != 12 || rails != 6*4+6*6 {
		t.Errorf("%d states and %d rails can be opened", states, rails)
	}
	for kind, want := range map[string]int{"effects": 11, "steps": 2, "matrix": 2, "shares": 2, "claims": 8, "differences": 33, "sitting-effect": 2} {
		if kinds[kind] != want {
			t.Errorf("%d pages of %s can be opened, want %d", kinds[kind], kind, want)
		}
	}
}

var opens = regexp.MustCompile(`^/studies/\d+/(results/|differences/|effects|steps/|matrix/|shares/|claims/|inputs|sitting-effect)`)

// The figures of the page are the tally's.
func TestFiguresAreTheTallys(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	tl, err := s.tallyOf(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range tl.Tally.Boards {
		for _, x := range b.States {
			want := strings.ReplaceAll(quantity.FormatU(x.Total.Estimate, x.Total.Expanded, quantity.Watt), " ", "\u00a0")
			contains(t, ask(t, s, "GET", at("studies", id, "results", b.Name, x.State.Name), nil), 200, `<p class="the-figure">`+want+"</p>")
		}
	}
}

// A study that is worked out once is not worked out again until something is
// entered, and then it is.
func TestTallyIsKept(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	first, err := s.tallyOf(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := s.tallyOf(t.Context(), id); err != nil || again != first {
		t.Errorf("worked out anew though nothing changed, error %v", err)
	}
	importExample(t, nb) // another study is no news
	if again, err := s.tallyOf(t.Context(), id); err != nil || again != first {
		t.Errorf("worked out anew though another study changed, error %v", err)
	}
	entries, err := nb.Entries(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Kind == notebook.Current {
			if _, err := nb.Withdraw(t.Context(), notebook.AnEntry, e.ID, notebook.Origin{Why: "test"}); err != nil {
				t.Fatal(err)
			}
			break
		}
	}
	again, err := s.tallyOf(t.Context(), id)
	if err != nil || again == first {
		t.Errorf("not worked out anew though an entry was withdrawn, error %v", err)
	}
	// What lacks a part is said to be under way, and counts for nothing.
	contains(t, ask(t, s, "GET", at("studies", id, "results"), nil), 200, "Being read", "lacks the current")
}

// What a page shows after an entry was acknowledged contains it, while others
// read and the results are worked out ahead of whoever looks next. Run with -race
// this also finds who reads without the lock.
func TestNothingIsStale(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importStudy(t, nb, inputsStudy)
	path := at("studies", id, "results", "Heron", "busy")
	all, err := nb.Entries(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	var last notebook.Entry
	for _, e := range all {
		if e.Kind == notebook.Current && e.Rail == "core" {
			last = e // of busy, the later one
		}
	}
	done, readers := make(chan struct{}), sync.WaitGroup{}
	for _, x := range []string{path, at("studies", id, "results"), at("studies", id, "matrix", "Heron"), at("studies", id, "charts", "totals.svg")} {
		readers.Go(func() {
			for {
				select {
				case <-done:
					return
				default:
				}
				if w := ask(t, s, "GET", x, nil); w.Code != 200 {
					t.Errorf("%s: status %d", x, w.Code)
					return
				}
			}
		})
	}
	based := last.ID
	enter := func(n int) string {
		text := fmt.Sprintf("2.%03d", n)
		v := readEntry(fmt.Sprintf("n%d", last.Step), "current", "core", "V", text)
		v.Set("key", text)
		v.Set("based", fmt.Sprint(based))
		k := said1[kept](t, askJSON(t, s, at("studies", id, "bench", last.Sitting, "entries"), v))
		if !k.OK {
			t.Fatalf("entry %s: %+v", text, k)
		}
		based = k.ID
		x, err := nb.Study(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		now, err := tally.Run(x, tally.Options{})
		if err != nil {
			t.Fatal(err)
		}
		total := now.State(study.StateOn{Board: "Heron", State: "busy"}).Total
		return strings.ReplaceAll(quantity.FormatU(total.Estimate, total.Expanded, quantity.Watt), " ", "\u00a0")
	}
	for n := range 12 {
		want := enter(100 + 7*n)
		contains(t, ask(t, s, "GET", path, nil), 200, `<p class="the-figure">`+want+"</p>")
		contains(t, ask(t, s, "GET", at("studies", id, "results"), nil), 200, want)
	}
	close(done)
	readers.Wait()
	// Nobody asks now, and still the results are made ready.
	want := enter(300)
	change, err := nb.LastChange(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	ready := func() bool {
		x := s.tallies.slot(id)
		x.mu.Lock()
		defer x.mu.Unlock()
		return x.t != nil && x.t.Change == change
	}
	for deadline := time.Now().Add(20 * time.Second); !ready(); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("the results were not worked out ahead")
		}
	}
	contains(t, ask(t, s, "GET", path, nil), 200, `<p class="the-figure">`+want+"</p>")
}

// Many readers at once get the same figures; run with -race this also finds who
// reads without the lock.
func TestManyReaders(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	paths := []string{at("studies", id, "results"), at("studies", id, "results", "Otter", "four-busy"), at("studies", id, "results", "Otter", "four-busy", "core"),
		at("studies", id, "differences", "Otter", "bare", "Otter", "four-idle"), "/studies"}
	var wg sync.WaitGroup
	for i := range 20 {
		wg.Go(func() {
			if w := ask(t, s, "GET", paths[i%len(paths)], nil); w.Code != http.StatusOK {
				t.Errorf("%s: status %d", paths[i%len(paths)], w.Code)
			}
		})
	}
	wg.Wait()
}

// Names may hold anything; what opens a figure still leads there, and nothing of
// them becomes markup.
func TestAwkwardNames(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	text := `
study: <script>alert(1)</script> & "less"?
instruments:
  m: {kind: meter, ranges: {5 V: {digit: 1 mV}, 1 A: {digit: 1 mA}}}
boards:
  "a/b": {rails: {"<i>%2F?#": {nominal: 1 V ±1 %, tap: series meter m 1 A}}}
states: {"..": {}, "~x & y": {}}
bench: {meter: m}
sittings:
  - {board: a/b, on: 2026-03-14, steps: [{state: "..", "<i>%2F?#": {i: 100 mA}}, {state: "~x & y", "<i>%2F?#": {i: 200 mA}}]}
`
	x, _, err := studyfile.Read("awkward", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	p, err := nb.Import(t.Context(), x, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	w := ask(t, s, "GET", at("studies", p.StudyID, "results"), nil)
	contains(t, w, 200, "!<script>alert", "!<i>%")
	for _, path := range []string{
		at("studies", p.StudyID, "results", "a/b", ".."), at("studies", p.StudyID, "results", "a/b", "~x & y", "<i>%2F?#"),
		at("studies", p.StudyID, "differences", "a/b", "~x & y", "a/b", ".."),
	} {
		if !strings.Contains(w.Body.String(), `href="`+html.EscapeString(path)+`"`) && !strings.Contains(path, "differences") {
			t.Errorf("the results do not lead to %s", path)
		}
		contains(t, ask(t, s, "GET", path, nil), 200, "!<script>alert", "!<i>%")
	}
}

// largeStudy is a study with about n readings: two boards with twelve rails,
// forty states, measured again in sitting after sitting.
func largeStudy(t testing.TB, n int) *study.Study {
	t.Helper()
	const rails, states = 12, 40
	var b strings.Builder
	b.WriteString("study: How much in all?\ninstruments:\n  red clamp: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A, spec: ±(1.5 % + 10 mA)}\n  m: {kind: meter, ranges: {500 mV: {digit: 0.1 mV, spec: ±(0.2 % + 2 digits)}, 5 V: {digit: 1 mV, spec: ±(0.1 % + 1 digit)}}}\nboards:\n")
	boards := []string{"Marten", "Otter"}
	for _, name := range boards {
		b.WriteString("  " + name + ":\n    rails:\n")
		for r := range rails {
			fmt.Fprintf(&b, "      rail %d: {nominal: 1.%d V ±5 %%, tap: red clamp}\n", r, r%10)
		}
	}
	b.WriteString("states:\n")
	for x := range states {
		fmt.Fprintf(&b, "  state %d: {}\n", x)
	}
	b.WriteString("bench: {meter: m}\nsittings:\n")
	for sitting := 0; n > 0; sitting++ {
		fmt.Fprintf(&b, "  - board: %s\n    on: 2026-03-%02d\n    steps:\n      - zero: {red clamp: 0.2 mV}\n", boards[sitting%2], sitting+1)
		n--
		for x := range states {
			fmt.Fprintf(&b, "      - state: state %d\n", x)
			for r := range rails {
				fmt.Fprintf(&b, "        rail %d: {i: %d.%d mV, v: 1.%d02 V}\n", r, 20+x+r, sitting%10, r%10)
				n -= 2
			}
		}
	}
	x, _, err := studyfile.Read("large", []byte(b.String()))
	if err != nil {
		t.Fatalf("%.2000v", err)
	}
	return x
}

// The rails of forty states are left to be asked for, and there without a script.
func TestManyStatesAreAskedFor(t *testing.T) {
	nb := newNotebook(t)
	p, err := nb.Import(t.Context(), largeStudy(t, 1), notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	s := newServer(t, nb)
	rails := at("studies", p.StudyID, "rails", "Marten")
	contains(t, ask(t, s, "GET", at("studies", p.StudyID, "results"), nil), 200, `href="`+rails+`"`, `hx-get="`+rails+`"`, "!Marten: the rails of each state")
	contains(t, ask(t, s, "GET", rails, nil), 200, "Marten: the rails of each state", "state 39", "charts/rails-1-marten.svg")
	contains(t, ask(t, s, "GET", at("studies", p.StudyID, "rails", "Otter"), nil), 200, "Nothing has been measured yet on this board")
	contains(t, ask(t, s, "GET", at("studies", p.StudyID, "rails", "Heron"), nil), 404, "no board called Heron")
}

// BenchmarkResults is the results page of a study of 10 000 readings: as it is
// asked for again and again, and the first time after an entry.
func BenchmarkResults(b *testing.B) {
	nb := newNotebook(b)
	p, err := nb.Import(b.Context(), largeStudy(b, 10_000), notebook.Origin{})
	if err != nil {
		b.Fatal(err)
	}
	for _, x := range []struct {
		name string
		cold bool
	}{{"again", false}, {"after an entry", true}} {
		b.Run(x.name, func(b *testing.B) {
			s := newServer(b, nb)
			path := at("studies", p.StudyID, "results")
			if w := ask(b, s, "GET", path, nil); w.Code != 200 {
				b.Fatal(w.Body.String())
			}
			for b.Loop() {
				if x.cold {
					s.tallies = newTallyCache()
				}
				ask(b, s, "GET", path, nil)
			}
		})
	}
}
