package web

import (
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/study"
	"railtally/internal/studyfile"
)

// trialled is a study with every trial and no reading yet.
const trialled = `study: did the surgery change anything?
instruments:
  clamp: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A, spec: ±(1.5 % + 10 mA)}
  meter:
    kind: meter
    ranges:
      500 mV: {digit: 0.1 mV, spec: ±(0.3 % + 2 digits)}
      5 V: {digit: 1 mV, spec: ±(0.1 % + 1 digit)}
      50 V: {digit: 10 mV, spec: ±(0.1 % + 1 digit)}
      10 A: {digit: 1 mA, spec: ±(0.3 % + 2 digits)}
boards:
  Heron:
    rails:
      core: {nominal: 1 V ±3 %, feed: inductor leg, tap: clamp, loop: 60 mm AWG 18}
      aux: {nominal: 3.3 V ±5 %, tap: clamp ×5, loop: 250 mm AWG 24}
      aux again: {nominal: 3.3 V ±5 %, tap: clamp ×10, loop: 250 mm AWG 24, enters the chip: no, checks: aux}
    inputs:
      supply: {nominal: 12 V ±5 %, tap: series meter meter 10 A}
states: {idle: {}, loaded: {}}
expected: {Heron: {core: 2 A, aux: 100 mA, supply: 0.4 A}}
work: {first again: yes, states per zero: 4}
order: {Heron: [idle, loaded]}
proofs:
  - {board: Heron, rail: core, with: loaded, without: idle, resistance: 10 Ω ±1 %}
bench: {meter: meter}
`

func trialledStudy(t testing.TB) (*Server, *notebook.Notebook, int64) {
	t.Helper()
	x, _, err := studyfile.Read("trialled", []byte(trialled))
	if err != nil {
		t.Fatal(err)
	}
	nb := newNotebook(t)
	s := newServer(t, nb)
	p, err := nb.Import(t.Context(), x, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	return s, nb, p.StudyID
}

// sitDown begins a sitting of that name and keeps the readings, written as "state
// rail kind bare text"; a state of "-" is the first zeros.
func sitDown(t testing.TB, s *Server, nb *notebook.Notebook, id int64, name string, on time.Time, readings ...string) int64 {
	t.Helper()
	ack, err := nb.OpenSitting(t.Context(), id, notebook.Head{Board: "Heron", On: on, Clock: true, Name: name, VoltageMeter: "meter", CurrentMeter: "meter"}, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range readings {
		f := strings.Split(line, "|")
		state, nth, _ := strings.Cut(f[0], " ")
		visit := visitKey(ack.First, state, 1+len(nth))
		v := readEntry(visit, f[2], f[1], f[3], f[4])
		if state == "-" {
			v = zeroEntry(visitKey(ack.First, "", 1), f[1], "", f[4])
		}
		if f[3] == "A" {
			v.Set("unit", "A")
		}
		v.Set("taken", on.Add(time.Minute).Format(time.RFC3339))
		enterAll(t, s, id, ack.First, v)
	}
	return ack.First
}

// The order of work leads from the untouched board to the sittings. What holds no
// reading is ticked off; what is read counts by itself; the file has it all.
func TestOrderOfWorkIsTicked(t *testing.T) {
	s, nb, id := trialledStudy(t)
	page := at("studies", id, "bench", "work") + "?board=Heron"
	tick := func(fields ...string) {
		t.Helper()
		v := url.Values{"board": {"Heron"}}
		for _, f := range fields {
			k, x, _ := strings.Cut(f, "=")
			v.Set(k, x)
		}
		if w := ask(t, s, "POST", at("studies", id, "bench", "work"), v); w.Code != 303 {
			t.Fatalf("%v: %d %s", fields, w.Code, w.Body)
		}
	}
	contains(t, ask(t, s, "GET", page, nil), 200, "Input power, nothing opened", "Photographs", "Open core", "lift the inductor&#39;s leg",
		"Power off. Pull supply", "wrist strap", "Draw the fumes off", "First power after soldering", "Nothing of this is for mains",
		"Input power, all loops closed", "Known load on core", "must add 100 mA", "Turns of aux", "0 of 10", "name=before")
	contains(t, ask(t, s, "GET", at("studies", id, "bench"), nil), 200, "0 of 10 steps done", "next: Input power, nothing opened")
	contains(t, ask(t, s, "GET", at("studies", id, "bench")+"?board=Heron&name=before+opening", nil), 200, `value="before opening"`)

	sitDown(t, s, nb, id, plan.BeforeOpening, time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC),
		"idle|supply|current|A|0.400", "idle|supply|voltage|V|12.00")
	contains(t, ask(t, s, "GET", page, nil), 200, "1 of 10", "before opening")
	tick("job=photograph", "what=done", "by=first bench", "key=k1")
	tick("job=photograph", "what=done", "by=first bench", "key=k1") // sent twice
	tick("job=open", "rail=core", "what=done", "by=first bench", "note=two joints")
	tick("job=power up", "rail=core", "what=skip")
	contains(t, ask(t, s, "GET", page, nil), 200, "4 of 10", "done on ", "by first bench", "Note: two joints", "skipped on ")
	st, err := nb.Study(t.Context(), id)
	if err != nil || len(st.Done) != 3 || len(study.Check(st)) > 0 {
		t.Fatalf("%v %+v %v", err, st.Done, study.Check(st))
	}
	var text strings.Builder
	if err := studyfile.Write(&text, st); err != nil {
		t.Fatal(err)
	}
	if again, _, err := studyfile.Read("again", []byte(text.String())); err != nil || len(again.Done) != 3 || !slices.EqualFunc(again.Done, st.Done, func(a, b *study.Tick) bool { return *a == *b }) {
		t.Errorf("%v\n%s", err, text.String())
	}
	// Taken back, and that undone.
	rec, err := nb.Record(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	tick("back=" + itoa(rec.Ticks[1].ID))
	contains(t, ask(t, s, "GET", page, nil), 200, "3 of 10")
	if rec, err = nb.Record(t.Context(), id); err != nil || len(rec.Ticks) != 2 {
		t.Fatal(err, rec.Ticks)
	}
	tick("job=open", "rail=core", "what=done")
	contains(t, ask(t, s, "GET", page, nil), 200, "4 of 10")
	for _, bad := range []url.Values{{"board": {"Heron"}, "job": {"open"}, "rail": {"gpu"}}, {"board": {"Marten"}, "job": {"photograph"}}, {"board": {"Heron"}, "job": {"solder"}}, {"board": {"Heron"}, "back": {"999"}}} {
		if w := ask(t, s, "POST", at("studies", id, "bench", "work"), bad); w.Code < 400 || w.Code >= 500 {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
	contains(t, ask(t, s, "GET", at("studies", id, "bench", "work")+"?board=Marten", nil), 404)
}

// At the bench each reading that is part of a trial says so, with what must come
// out, and is judged while it is typed; what was judged stays in sight.
func TestTrialsAtTheBench(t *testing.T) {
	s, nb, id := trialledStudy(t)
	day := func(d, h int) time.Time { return time.Date(2026, 11, d, h, 0, 0, 0, time.UTC) }
	sitDown(t, s, nb, id, plan.BeforeOpening, day(24, 9), "idle|supply|current|A|0.400", "idle|supply|voltage|V|12.00")
	closed := sitDown(t, s, nb, id, plan.LoopsClosed, day(24, 15), "idle|supply|current|A|0.400")
	echo := func(sitting int64, slot, text string) string {
		t.Helper()
		q := url.Values{"at": {slot}, "text": {text}, "taken": {"2026-11-25T10:00:00Z"}}
		return ask(t, s, "GET", at("studies", id, "bench", sitting, "echo")+"?"+q.Encode(), nil).Body.String()
	}
	says := func(what, got string, want ...string) {
		t.Helper()
		for _, w := range want {
			if !strings.Contains(got, w) {
				t.Errorf("%s: %q is not in %s", what, w, got)
			}
		}
	}
	slot := func(sitting int64, state string, n int, kind, rail string) string {
		return (&wanted{visit: &visit{Key: visitKey(sitting, state, n)}, Kind: notebook.Kind(kind), Rail: rail}).ID()
	}
	page := at("studies", id, "bench", closed)
	contains(t, ask(t, s, "GET", page, nil), 200, "Every loop closed, no clamp on any of them", "Trial: The power into supply with all loops closed must be what it was before opening")
	says("surgery", echo(closed, slot(closed, "idle", 1, "voltage", "supply"), "12.00"), `"holds":true`, "Agrees.", "Opening the rails changed nothing")
	says("surgery", echo(closed, slot(closed, "idle", 1, "voltage", "supply"), "13.50"), `"holds":false`, "Does not agree.")

	sit := sitDown(t, s, nb, id, "evening", day(25, 9), "-|clamp|zero|mV|0.0", "idle|core|current|mV|200.0", "idle|core|voltage|V|1.000", "idle|aux|current|mV|50.0")
	contains(t, ask(t, s, "GET", at("studies", id, "bench", sit)+"?at="+url.QueryEscape(slot(sit, "loaded", 1, "current", "core")), nil), 200,
		"Trial: 10 Ω ±1 % behind the loop of core must add 100 mA in loaded", "put 10 Ω ±1 % across core", "The resistor gets hot.", "to do")
	load := slot(sit, "loaded", 1, "current", "core")
	says("known load", echo(sit, load, "210.0"), `"holds":true`, "Gain, sign, scale and turns are right")
	says("sign", echo(sit, load, "190.0"), `"holds":false`, "The sign is turned")
	says("turns", echo(sit, slot(sit, "idle", 1, "current", "aux again"), "110.0"), `"holds":false`, "miscounted")
	says("turns", echo(sit, slot(sit, "idle", 1, "current", "aux again"), "100.0"), `"holds":true`)
	enterAll(t, s, id, sit, readEntry(visitKey(sit, "loaded", 1), "current", "core", "mV", "210.0"), readEntry(visitKey(sit, "idle", 1), "current", "aux again", "mV", "110.0"))
	last := slot(sit, "idle", 2, "current", "core")
	contains(t, ask(t, s, "GET", at("studies", id, "bench", sit)+"?at="+url.QueryEscape(last), nil), 200, "Trial: core, read first, is read once more", "Gain, sign, scale and turns are right", "fails", "!Known load, 10 Ω ±1 % on core.</strong> 10 Ω")
	says("drift", echo(sit, last, "240.0"), `"holds":false`, "was not steady")
	says("drift", echo(sit, last, "200.0"), `"holds":true`)
}

// Two devices at one order of work: what is ticked on one is seen on the other,
// what is being typed there stays, and the keyboard alone does it.
func TestOrderOfWorkOnTwoDevices(t *testing.T) {
	s, nb, id := trialledStudy(t)
	sitDown(t, s, nb, id, plan.BeforeOpening, time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC),
		"idle|supply|current|A|0.400", "idle|supply|voltage|V|12.00")
	one := newBrowser(t, listening(t, s))
	said := one.complaints()
	one.look(360, "dark")
	one.open(at("studies", id, "bench", "work") + "?board=Heron")
	two := one.tab()
	two.look(1440, "light")
	two.open(at("studies", id, "bench", "work") + "?board=Heron")
	two.click("#step-3 summary")
	two.do(chromedp.SendKeys("#note-3", "pads look tired"))
	one.accessible()
	one.picture("bench-work-phone")
	one.do(chromedp.SendKeys("#here button[value=done]", "\r"))
	one.until("document.readyState === 'complete' && document.querySelector('.said') !== null && document.querySelector('#here .name').textContent === 'Open core'")
	two.until("document.querySelector('#work-count').textContent.includes('2 of 10')")
	if got := eval[string](two, "document.querySelector('#note-3').value"); got != "pads look tired" {
		t.Errorf("what was being typed on the other device is %q", got)
	}
	two.picture("bench-work")
	two.accessible()
	one.click(".said button")
	one.until("document.readyState === 'complete' && document.querySelector('#here .name').textContent === 'Photographs'")
	for _, x := range said() {
		t.Errorf("the browser says: %s", x)
	}
}
