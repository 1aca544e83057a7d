package web

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"railtally/internal/notebook"
	"railtally/internal/studyfile"
)

// A study with readings before its converters, a claim that fails, and an effect
// that cannot be told from another.
const inputsStudy = `study: Does the input agree?
instruments: {meter: {kind: meter, ranges: {20 V: {digit: 1 mV, spec: ±(0.1 % + 1 digits)}}}}
boards:
  Heron:
    inputs: {slot: {nominal: 12 V ±5 %, tap: sense resistor 100 mΩ ±1 %}}
    rails: {core: {nominal: 1 V ±3 %, tap: sense resistor 1 Ω ±1 %}, io: {nominal: 3.3 V ±3 %, tap: sense resistor 1 Ω ±1 %}}
states: {bare: {drives: 0, load: none}, busy: {drives: 1, load: copy}}
claims:
  - {total: Heron busy, below: 3 W}
  - {total: Heron busy, within: 1..9 W, rule: guard band 1 U}
  - {effect: {board: Heron, factor: load, level: copy}, above: 1 W}
sittings:
  - {board: Heron, on: 2026-05-09, meter: meter, steps: [
      {state: bare, core: {i: 1.000 V, v: 1.000 V}, io: {i: 0.500 V, v: 3.300 V}, slot: {i: 25 mV, v: 12.000 V}},
      {state: busy, core: {i: 2.000 V, v: 1.000 V}, io: {i: 0.600 V, v: 3.300 V}, slot: {i: 37 mV, v: 12.000 V}}]}
`

func importStudy(t testing.TB, nb *notebook.Notebook, text string) int64 {
	t.Helper()
	x, _, err := studyfile.Read("study.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	p, err := nb.Import(t.Context(), x, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	return p.StudyID
}

func TestInputsClaimsAndDesignsOpen(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importStudy(t, nb, inputsStudy)
	at := func(parts ...any) string { return at(append([]any{"studies", id}, parts...)...) }
	for _, c := range []struct {
		path  string
		holds []string
	}{
		{at("results"), []string{`hx-get="` + at("inputs"), "fails", `href="` + at("claims", 1)}},
		{at("inputs"), []string{at("inputs", 1), "Rails over inputs", "Goes in"}},
		{at("inputs", 2), []string{"37", "12.000", at("results", "Heron", "busy", "core"), "What limits the efficiency"}},
		{at("effects"), []string{"drives and load were never varied separately"}},
		{at("claims", 1), []string{"fails", "Not so:", at("results", "Heron", "busy"), "How it was decided"}},
		{at("claims", 2), []string{"Limits drawn in, and pushed out, by", "Width of the limits over that of the interval"}},
		{at("claims", 3), []string{"undecided", "never varied separately"}},
		{at("sitting-effect"), []string{"Not assessed"}},
		{at("shares", "Heron", "busy"), []string{"Each rail of Heron busy opens"}},
		{at("matrix", "Heron"), []string{at("differences", "Heron", "busy", "Heron", "bare")}},
	} {
		contains(t, ask(t, s, "GET", c.path, nil), 200, c.holds...)
	}
	for _, missing := range []string{at("claims", 4), at("claims", "x"), at("inputs", 3), at("effects", "Heron", "base"), at("effects", "Hero", "base"), at("charts", "no.svg"), at("charts", "effects.gif"), at("steps", "x"), at("matrix", "x")} {
		if w := ask(t, s, "GET", missing, nil); w.Code != 404 {
			t.Errorf("%s: status %d", missing, w.Code)
		}
	}
}

// A script gets the sections alone, to put them into the page.
func TestPartsOfResults(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	for _, path := range []string{at("studies", id, "effects"), at("studies", id, "matrix", "Otter")} {
		r := httptest.NewRequest("GET", path, nil)
		r.Header.Set("HX-Request", "true")
		r.Host, r.RemoteAddr = "127.0.0.1:7417", "127.0.0.1:50000"
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		contains(t, w, 200, "<section", "<svg", "Save the chart")
		if body := w.Body.String(); strings.Contains(body, "<html") || strings.Contains(body, "<h1") {
			t.Errorf("%s: a script gets the whole page", path)
		}
	}
}

func TestChartsOfResults(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	for file, begins := range map[string]string{
		"effects.svg": "<svg", "steps-1.svg": "<svg", "matrix-2.svg": "<svg", "shares-1-6.svg": "<svg",
		"steps-2-frame.png": "\x89PNG", "effects.png": "\x89PNG",
	} {
		w := ask(t, s, "GET", at("studies", id, "charts", file), nil)
		if w.Code != 200 || !strings.Contains(w.Body.String()[:200], begins) || !strings.Contains(w.Header().Get("Content-Disposition"), "attachment") {
			t.Errorf("%s: status %d, begins %.20q", file, w.Code, w.Body.String())
		}
	}
}

func TestChosenDifference(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	w := ask(t, s, "GET", at("studies", id, "difference")+"?first=1.1&second=2.6", nil)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	contains(t, ask(t, s, "GET", w.Header().Get("Location"), nil), 200, "Smallest difference this study could see", "The study does not ask for this difference")
	for _, q := range []string{"", "?first=1.1", "?first=1.1&second=1.1", "?first=1.1&second=9.1", "?first=1.1&second=1.99", "?first=1.1&second=-1.1"} {
		if w := ask(t, s, "GET", at("studies", id, "difference")+q, nil); w.Code != http.StatusBadRequest {
			t.Errorf("%q: status %d", q, w.Code)
		}
	}
}

// What would settle an open question is worked out when it is asked for: a link
// that opens a page, and the sentences alone for a script.
func TestWhatWouldSettle(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	for _, c := range []struct{ from, to string }{
		{at("studies", id, "differences", "Otter", "bare", "Marten", "bare"), at("studies", id, "settle", "Otter", "bare", "Marten", "bare")},
		{at("studies", id, "claims", 3), at("studies", id, "settle", "claims", 3)},
	} {
		contains(t, ask(t, s, "GET", c.from, nil), 200, `hx-get="`+c.to+`"`, `href="`+c.to+`"`)
		contains(t, ask(t, s, "GET", c.to, nil), 200, "would have to be", "more sittings", "<html", `href="`+c.from+`"`)
	}
	contains(t, ask(t, s, "GET", at("studies", id, "claims", 1), nil), 200, "!What would settle it")
	contains(t, ask(t, s, "GET", at("studies", id, "settle", "claims", 1), nil), 200, "There is nothing to settle")
	for _, missing := range []string{at("studies", id, "settle", "claims", 99), at("studies", id, "settle", "Otter", "bare", "Marten", "none")} {
		if w := ask(t, s, "GET", missing, nil); w.Code != 404 {
			t.Errorf("%s: status %d", missing, w.Code)
		}
	}
}

// The effect of a sitting is taken over from another study of the notebook: its
// figure, degrees of freedom and source stand in the record, which is whole
// without that study; and it can be let go again.
func TestSittingEffectIsTakenOver(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	earlier := importExample(t, nb)
	id := importStudy(t, nb, inputsStudy)
	take := at("studies", id, "sitting-effect", "take")
	contains(t, ask(t, s, "GET", at("studies", id, "sitting-effect"), nil), 200, "Not assessed", take)
	contains(t, ask(t, s, "GET", take, nil), 200, fmt.Sprintf(`value="%d"`, earlier), "degrees of freedom", "!Taken over now")
	based := func() string {
		p, err := nb.Plan(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(p.ID)
	}
	from, err := s.tallyOf(t.Context(), earlier)
	if err != nil {
		t.Fatal(err)
	}
	if w := ask(t, s, "POST", take, url.Values{"based": {based()}, "from": {fmt.Sprint(earlier)}}); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %.500s", w.Code, w.Body)
	}
	p, err := nb.Plan(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	c, own := p.Study.SittingEffect, from.Tally.Sittings
	if c == nil || c.DOF != own.OwnDOF || math.Abs(c.SD.Value()-math.Sqrt(own.Own)) > 0.01*math.Sqrt(own.Own) || !strings.Contains(c.From, from.Question) {
		t.Fatalf("taken over: %+v, the other study found %g W² with %g degrees of freedom", c, own.Own, own.OwnDOF)
	}
	now, err := s.tallyOf(t.Context(), id)
	if err != nil || now.Tally.Sittings.SD != c.SD.Value() {
		t.Fatalf("%v: the results count with %g W", err, now.Tally.Sittings.SD)
	}
	var text bytes.Buffer
	if err := studyfile.Write(&text, now.Study); err != nil || !strings.Contains(text.String(), "sd: "+c.SD.Text) {
		t.Errorf("%v: the written study:\n%.400s", err, text.String())
	}
	contains(t, ask(t, s, "GET", at("studies", id, "sitting-effect"), nil), 200, "Taken over", "!Not assessed")
	if w := ask(t, s, "POST", take, url.Values{"based": {based()}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("nothing ticked: status %d", w.Code)
	}
	if w := ask(t, s, "POST", take, url.Values{"based": {based()}, "from": {fmt.Sprint(id)}}); w.Code != http.StatusBadRequest {
		t.Errorf("from itself: status %d", w.Code)
	}
	if w := ask(t, s, "POST", take, url.Values{"based": {based()}, "drop": {"yes"}}); w.Code != http.StatusSeeOther {
		t.Errorf("let go: status %d", w.Code)
	}
	contains(t, ask(t, s, "GET", at("studies", id, "sitting-effect"), nil), 200, "Not assessed")
}
