package web

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/studyfile"
)

// askJSON sends a form the way a script does.
func askJSON(t testing.TB, h http.Handler, path string, form url.Values) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	r.Host, r.RemoteAddr = "127.0.0.1:7417", "127.0.0.1:50000"
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// said1 reads a JSON answer.
func said1[T any](t testing.TB, w *httptest.ResponseRecorder) T {
	t.Helper()
	var v T
	if err := json.Unmarshal(w.Body.Bytes(), &v); err != nil {
		t.Fatalf("%s: %v", w.Body, err)
	}
	return v
}

// desk is a notebook with the worked example and a sitting just begun.
type deskSetup struct {
	s       *Server
	nb      *notebook.Notebook
	id      int64
	sitting int64
	base    string
}

func newDesk(t testing.TB) deskSetup {
	t.Helper()
	nb := newNotebook(t)
	d := deskSetup{nb: nb, s: newServer(t, nb), id: importExample(t, nb)}
	d.sitting = openSitting(t, nb, d.id, "Otter", time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	d.base = at("studies", d.id, "bench", d.sitting)
	return d
}

func (d deskSetup) order(t testing.TB) *order {
	t.Helper()
	rec, err := d.nb.Record(t.Context(), d.id)
	if err != nil {
		t.Fatal(err)
	}
	o, err := newOrder(rec, d.sitting, "")
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// The order of work of a sitting that was just begun: a zero, two states, a
// zero, and a zero at the end; in a state rail by rail, current then voltage.
func TestOrderOfWork(t *testing.T) {
	d := newDesk(t)
	o := d.order(t)
	var titles []string
	for _, v := range o.visits {
		titles = append(titles, v.Title)
	}
	want := "Zeros|bare|one-idle|Zeros, 2nd time|one-busy|one-busy-fast|Zeros, 3rd time|four-idle|four-busy|Zeros, 4th time"
	if got := strings.Join(titles, "|"); got != want {
		t.Errorf("order %s\n want %s", got, want)
	}
	var asked []string
	for s := o.first(); s != nil && s.visit.Nth == 1 && len(asked) < 12; {
		asked = append(asked, s.visit.Title+" "+s.title()+" "+s.what())
		s.Entry = &notebook.Entry{}
		s = o.next(s, false)
	}
	wantAsked := []string{
		"Zeros red clamp low zero", "Zeros blue clamp fine zero", "Zeros io a zero",
		"bare core current", "bare core voltage", "bare link current", "bare link voltage",
		"bare pll a current", "bare pll a voltage", "bare pll b current", "bare pll b voltage", "bare io a current",
	}
	if strings.Join(asked, "|") != strings.Join(wantAsked, "|") {
		t.Errorf("asked %q\n want %q", asked, wantAsked)
	}
}

// Skipping goes on and comes back at the end of the visit; keeping the last thing
// of a visit comes back to what was skipped in it.
func TestSkipAndComeBack(t *testing.T) {
	o := newDesk(t).order(t)
	v := o.visitOf(visitKey(o.id, "bare", 1))
	open := v.open()
	if got := o.next(open[0], true); got != open[1] {
		t.Errorf("after skipping: %s", got.ID())
	}
	for _, s := range open[1:] {
		s.Entry = &notebook.Entry{}
	}
	last := open[len(open)-1]
	if got := o.next(last, false); got != open[0] {
		t.Errorf("after the last: %s, want what was skipped", got.ID())
	}
	if got := o.next(open[0], true); got.visit.State != "one-idle" {
		t.Errorf("skipping again stays in the visit: %s", got.ID())
	}
}

// What was typed and how it is taken. The bare unit is that of the meter's
// range; a rail of 0.95 V does not have 953 V.
func TestForgivingEntry(t *testing.T) {
	o := newDesk(t).order(t)
	bare := o.visitOf(visitKey(o.id, "bare", 1))
	slot := func(kind notebook.Kind, rail string) *wanted {
		for _, s := range bare.Slots {
			if s.Kind == kind && s.Rail == rail && !s.Back {
				return s
			}
		}
		t.Fatalf("no %s of %s", kind, rail)
		return nil
	}
	for _, x := range []struct {
		kind  notebook.Kind
		rail  string
		typed string
		want  float64 // SI
		bare  string
	}{
		{notebook.Current, "core", "345", 0.345, "mV"},
		{notebook.Current, "core", "345,5", 0.3455, "mV"},
		{notebook.Current, "core", "0.345 V", 0.345, "mV"},
		{notebook.Current, "core", "340..350", 0.345, "mV"},
		{notebook.Current, "core", "509 511 512", 0.51066666666666667, "mV"},
		{notebook.Voltage, "core", "0.953", 0.953, "V"},
		{notebook.Voltage, "core", "953", 0.953, "mV"},
		{notebook.Voltage, "core", "0,953 V", 0.953, "V"},
		{notebook.Voltage, "link", "1.49", 1.49, "V"},
		{notebook.Voltage, "link", "1490", 1.49, "mV"},
	} {
		e, unit, err := o.read(slot(x.kind, x.rail), x.typed)
		if err != nil {
			t.Errorf("%s %s %q: %v", x.rail, x.kind, x.typed, err)
			continue
		}
		if d := e.Value() - x.want; d > 1e-12 || d < -1e-12 || unit != x.bare {
			t.Errorf("%s %s %q: %g in %s, want %g in %s", x.rail, x.kind, x.typed, e.Value(), unit, x.want, x.bare)
		}
	}
}

// The echo says what the tally says: the same reading, kept, gives the figures
// that were echoed.
func TestEchoIsTheTally(t *testing.T) {
	d := newDesk(t)
	visit, key := visitKey(d.sitting, "", 1), visitKey(d.sitting, "bare", 1)
	enterAll(t, d.s, d.id, d.sitting, zeroEntry(visit, "red clamp", "low", "0.3"), readEntry(key, "current", "core", "mV", "345"))
	e := said1[echo](t, ask(t, d.s, "GET", d.base+"/echo?"+url.Values{"at": {key + "/voltage/core"}, "text": {"953"}}.Encode(), nil))
	enterAll(t, d.s, d.id, d.sitting, readEntry(key, "voltage", "core", "mV", "953"))
	rec, err := d.nb.Record(t.Context(), d.id)
	if err != nil {
		t.Fatal(err)
	}
	o, err := newOrder(rec, d.sitting, "")
	if err != nil {
		t.Fatal(err)
	}
	v := &benchView{}
	if err := o.results(v, o.find(key+"/current/link")); err != nil {
		t.Fatal(err)
	}
	// (345 mV − 0.3 mV) · 10 mA/mV · 1.004, the factor the clamp was calibrated
	// with; times 0.953 V. By hand.
	if !strings.HasPrefix(e.Current, "3.461 ±") || !strings.HasPrefix(e.Power, "3.298 ±") {
		t.Errorf("echo %s, %s; by hand 3.461 A and 3.298 W", e.Current, e.Power)
	}
	if e.Total != v.Total || e.Proviso != "" || e.Bare != "mV" || e.Reads != "953 mV" {
		t.Errorf("echo %+v, and then the total is %s", e, v.Total)
	}
}

// Implausible readings are questioned beside the field and kept all the same.
func TestFindingsNeverBlock(t *testing.T) {
	d := newDesk(t)
	key := visitKey(d.sitting, "bare", 1)
	enterAll(t, d.s, d.id, d.sitting, zeroEntry(visitKey(d.sitting, "", 1), "red clamp", "low", "0.3"))
	for _, x := range []struct{ slot, text, code string }{
		{"/current/link", "-53.1", "current-negative"},
		{"/current/core", "8 V", "over-range"},
		{"/current/pll+a", "100", "no-zero"},
		{"/voltage/core", "2 V", "voltage-outside"},
	} {
		if strings.HasPrefix(x.slot, "/voltage") {
			enterAll(t, d.s, d.id, d.sitting, readEntry(key, "current", "core", "mV", "345"))
		}
		e := said1[echo](t, ask(t, d.s, "GET", d.base+"/echo?"+url.Values{"at": {key + x.slot}, "text": {x.text}}.Encode(), nil))
		found := false
		for _, f := range e.Findings {
			found = found || f.Code == x.code
		}
		if !e.OK || !found {
			t.Errorf("%s %s: %+v lacks %s", x.slot, x.text, e, x.code)
		}
	}
	enterAll(t, d.s, d.id, d.sitting, readEntry(key, "current", "link", "mV", "-53.1"))
}

// A wrong quantity is explained in place, and what was typed stays; this is the
// way without scripts.
func TestFormWithoutScript(t *testing.T) {
	d := newDesk(t)
	key := visitKey(d.sitting, "", 1)
	v := zeroEntry(key, "red clamp", "low", "0.3 kg")
	v.Set("at", key+"/zero/red+clamp/low")
	v.Set("key", "form-1")
	contains(t, ask(t, d.s, "POST", d.base+"/entries", v), 422, `value="0.3 kg"`, "Accepted:", "mV")
	v.Set("text", "0.3")
	w := ask(t, d.s, "POST", d.base+"/entries", v)
	contains(t, w, 303)
	if to := w.Header().Get("Location"); !strings.Contains(to, url.QueryEscape("blue+clamp")) {
		t.Errorf("sent on to %s, want the next zero", to)
	}
	contains(t, ask(t, d.s, "GET", w.Header().Get("Location"), nil), 200, "blue clamp fine", "0.3 mV")
	// The same form again, as a browser's back button would: kept once.
	contains(t, ask(t, d.s, "POST", d.base+"/entries", v), 303)
	if n := len(currentEntries(t, d, notebook.Zero)); n != 1 {
		t.Errorf("%d zeros are kept of one form sent twice", n)
	}
}

// currentEntries lists the entries of a kind that count in the sitting.
func currentEntries(t testing.TB, d deskSetup, kind notebook.Kind) []notebook.Entry {
	t.Helper()
	rec, err := d.nb.Record(t.Context(), d.id)
	if err != nil {
		t.Fatal(err)
	}
	var out []notebook.Entry
	for _, e := range rec.Entries {
		if e.Sitting == d.sitting && e.Kind == kind {
			out = append(out, e)
		}
	}
	return out
}

// Two devices at the same place: both are kept, one counts, and a person can
// choose the other.
func TestTwoDevicesAtOnePlace(t *testing.T) {
	d := newDesk(t)
	key := visitKey(d.sitting, "bare", 1)
	a, b := readEntry(key, "current", "core", "mV", "345"), readEntry(key, "current", "core", "mV", "354")
	a.Set("key", "device-a")
	b.Set("key", "device-b")
	first := said1[kept](t, askJSON(t, d.s, d.base+"/entries", a))
	second := said1[kept](t, askJSON(t, d.s, d.base+"/entries", b))
	if !first.OK || first.Aside || !second.OK || !second.Aside || second.Text != "345 mV" {
		t.Fatalf("first %+v, second %+v", first, second)
	}
	if again := said1[kept](t, askJSON(t, d.s, d.base+"/entries", b)); !again.Again || !again.Aside || again.ID != second.ID {
		t.Errorf("sent again: %+v", again)
	}
	contains(t, ask(t, d.s, "GET", d.base, nil), 200, "Let 354 mV count instead", "345 mV counts")
	w := ask(t, d.s, "POST", d.base+"/choose", url.Values{"aside": {itoa(second.ID)}, "head": {itoa(first.ID)}})
	contains(t, w, 303)
	got := currentEntries(t, d, notebook.Current)
	if len(got) != 1 || got[0].Text != "354" || got[0].Supersedes != first.ID {
		t.Errorf("after choosing: %+v", got)
	}
	// A correction made from what no longer holds is set aside too.
	c := readEntry(key, "current", "core", "mV", "346")
	c.Set("key", "device-c")
	c.Set("based", itoa(first.ID))
	if k := said1[kept](t, askJSON(t, d.s, d.base+"/entries", c)); !k.OK || !k.Aside || k.Text != "354 mV" {
		t.Errorf("late correction: %+v", k)
	}
}

func itoa(n int64) string { b, _ := json.Marshal(n); return string(b) }

// Undo withdraws an entry, redo brings it back; a correction keeps the old one
// in the log with its reason.
func TestCorrectAndUndo(t *testing.T) {
	d := newDesk(t)
	key := visitKey(d.sitting, "bare", 1)
	v := readEntry(key, "current", "core", "mV", "345")
	v.Set("key", "one")
	first := said1[kept](t, askJSON(t, d.s, d.base+"/entries", v))
	v.Set("key", "two")
	v.Set("text", "354")
	v.Set("based", itoa(first.ID))
	v.Set("why", "two figures swapped")
	second := said1[kept](t, askJSON(t, d.s, d.base+"/entries", v))
	if !second.OK || second.Aside {
		t.Fatalf("correction %+v", second)
	}
	contains(t, ask(t, d.s, "GET", d.base, nil), 200, "two figures swapped", "<s>345 mV</s>", "corrected")
	undone := said1[kept](t, askJSON(t, d.s, d.base+"/undo", url.Values{"id": {itoa(second.ID)}}))
	if got := currentEntries(t, d, notebook.Current); !undone.OK || len(got) != 1 || got[0].Text != "345" {
		t.Errorf("after undo %+v", got)
	}
	redone := said1[kept](t, askJSON(t, d.s, d.base+"/undo", url.Values{"id": {itoa(undone.ID)}, "redo": {"yes"}}))
	if got := currentEntries(t, d, notebook.Current); !redone.OK || len(got) != 1 || got[0].Text != "354" {
		t.Errorf("after redo %+v", got)
	}
	// Undone twice from where it stands now: nothing is left, and it can be read anew.
	back := said1[kept](t, askJSON(t, d.s, d.base+"/undo", url.Values{"id": {itoa(redone.ID)}}))
	said1[kept](t, askJSON(t, d.s, d.base+"/undo", url.Values{"id": {itoa(back.ID)}}))
	v = readEntry(key, "current", "core", "mV", "350")
	v.Set("key", "three")
	if k := said1[kept](t, askJSON(t, d.s, d.base+"/entries", v)); !k.OK || k.Aside {
		t.Errorf("read anew: %+v", k)
	}
}

// A step of zeros whose only zero was undone does not count, and does again when
// the zero is read anew or brought back: at no time is the study unsound by it.
func TestUndoneZeros(t *testing.T) {
	d := newDesk(t)
	sound := func(when string, zeros int) {
		t.Helper()
		x, err := d.nb.Study(t.Context(), d.id)
		if err != nil {
			t.Fatal(err)
		}
		if faults := study.Check(x); len(faults) > 0 {
			t.Errorf("%s: %v", when, faults)
		}
		if n := len(currentEntries(t, d, notebook.Zero)); n != zeros {
			t.Errorf("%s: %d zeros, want %d", when, n, zeros)
		}
		steps := x.Sittings[len(x.Sittings)-1].Steps
		if len(steps) != zeros {
			t.Errorf("%s: %d steps, want %d", when, len(steps), zeros)
		}
	}
	v := zeroEntry(visitKey(d.sitting, "", 1), "red clamp", "low", "0.3")
	v.Set("key", "one")
	first := said1[kept](t, askJSON(t, d.s, d.base+"/entries", v))
	sound("read", 1)
	undone := said1[kept](t, askJSON(t, d.s, d.base+"/undo", url.Values{"id": {itoa(first.ID)}}))
	sound("undone", 0)
	redone := said1[kept](t, askJSON(t, d.s, d.base+"/undo", url.Values{"id": {itoa(undone.ID)}, "redo": {"yes"}}))
	sound("redone", 1)
	said1[kept](t, askJSON(t, d.s, d.base+"/undo", url.Values{"id": {itoa(redone.ID)}}))
	sound("undone again", 0)
	v.Set("key", "two")
	v.Set("text", "0.4")
	if k := said1[kept](t, askJSON(t, d.s, d.base+"/entries", v)); !k.OK || k.Aside {
		t.Errorf("read anew: %+v", k)
	}
	sound("read anew", 1)
}

// A script's entry that cannot be kept says why, as JSON, and keeps nothing.
func TestRefusedEntries(t *testing.T) {
	d := newDesk(t)
	key := visitKey(d.sitting, "bare", 1)
	for name, x := range map[string]struct {
		change url.Values
		status int
	}{
		"no quantity":       {url.Values{"text": {"many"}}, 422},
		"no text":           {url.Values{"text": {""}}, 422},
		"no step":           {url.Values{"visit": {"x"}}, 400},
		"foreign step":      {url.Values{"visit": {"n999999"}}, 404},
		"no kind":           {url.Values{"kind": {"guess"}}, 422},
		"no rail":           {url.Values{"rail": {""}}, 422},
		"endless key":       {url.Values{"key": {strings.Repeat("k", 400)}}, 400},
		"a unit of its own": {url.Values{"unit": {"kg"}}, 422},
	} {
		v := readEntry(key, "current", "core", "mV", "345")
		v.Set("key", name)
		for k, c := range x.change {
			v[k] = c
		}
		w := askJSON(t, d.s, d.base+"/entries", v)
		if k := said1[kept](t, w); w.Code != x.status || k.OK || k.Error == "" {
			t.Errorf("%s: %d %+v, want %d", name, w.Code, k, x.status)
		}
	}
	if got := currentEntries(t, d, notebook.Current); len(got) != 0 {
		t.Errorf("kept %+v", got)
	}
	if w := askJSON(t, d.s, at("studies", d.id, "bench", 999, "entries"), readEntry("step-999-zeros-1", "zero", "", "mV", "1")); w.Code/100 != 4 {
		t.Errorf("a sitting that is not there: %d", w.Code)
	}
}

// What is sent under another study's address is refused, whatever it is.
func TestUnderAnotherStudy(t *testing.T) {
	d := newDesk(t)
	other := importExample(t, d.nb)
	theirs := openSitting(t, d.nb, other, "Otter", time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	key := visitKey(d.sitting, "bare", 1)
	first := said1[kept](t, askJSON(t, d.s, d.base+"/entries", readEntry(key, "current", "core", "mV", "345")))
	before, err := d.nb.LastChange(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	correction := readEntry(key, "current", "core", "mV", "346")
	correction.Set("based", itoa(first.ID))
	for name, x := range map[string]struct {
		path string
		form url.Values
	}{
		"an entry":            {at("studies", other, "bench", d.sitting, "entries"), readEntry(key, "current", "link", "mV", "53")},
		"a correction":        {at("studies", other, "bench", d.sitting, "entries"), correction},
		"of another sitting":  {at("studies", other, "bench", theirs, "entries"), correction},
		"undo":                {at("studies", other, "bench", d.sitting, "undo"), url.Values{"id": {itoa(first.ID)}}},
		"undo of another":     {at("studies", other, "bench", theirs, "undo"), url.Values{"id": {itoa(first.ID)}}},
		"choice":              {at("studies", other, "bench", theirs, "choose"), url.Values{"aside": {itoa(first.ID)}, "head": {itoa(first.ID)}}},
		"what the sitting is": {at("studies", other, "bench", theirs, "about"), url.Values{"based": {itoa(d.sitting)}, "board": {"Otter"}, "on": {"2026-11-25"}}},
	} {
		if w := askJSON(t, d.s, x.path, x.form); w.Code != 404 && w.Code != 400 {
			t.Errorf("%s: %d", name, w.Code)
		}
	}
	if after, err := d.nb.LastChange(t.Context()); err != nil || after != before {
		t.Errorf("%d changes came of it, %v", after-before, err)
	}
}

// A sitting's form keeps what was typed, and understands a temperature.
func TestBeginSitting(t *testing.T) {
	d := newDesk(t)
	path := at("studies", d.id, "bench")
	form := url.Values{"board": {"Otter"}, "room": {"warm"}, "on": {"yesterday"}, "by": {"second bench"}, "voltagemeter": {"desk meter"}}
	contains(t, ask(t, d.s, "POST", path, form), 422, `value="warm"`, `value="yesterday"`, "second bench", "this is no day")
	form.Set("room", "22,8 ± 0,5")
	form.Set("on", "2026-11-26 08:15")
	form.Set("key", "sitting-1")
	w := ask(t, d.s, "POST", path, form)
	contains(t, w, 303)
	if again := ask(t, d.s, "POST", path, form); again.Header().Get("Location") != w.Header().Get("Location") {
		t.Errorf("sent twice: %s and %s", w.Header().Get("Location"), again.Header().Get("Location"))
	}
	s, err := d.nb.Study(t.Context(), d.id)
	if err != nil {
		t.Fatal(err)
	}
	x := s.Sittings[len(s.Sittings)-1]
	if x.By != "second bench" || x.Room == nil || x.Room.Value() != 22.8 || x.Room.Unit != quantity.Celsius || !x.Clock {
		t.Errorf("sitting %+v", x)
	}
	if faults := study.Check(s); len(faults) > 0 {
		t.Errorf("faults: %v", faults)
	}
}

// A note is possible to zeros, a state and a rail alike, also to a rail that is
// not read there or was not opened; the results show it, and the text form holds it.
func TestNotesToStepsAndRails(t *testing.T) {
	d := newDesk(t)
	zeros, bare := visitKey(d.sitting, "", 1), visitKey(d.sitting, "bare", 1)
	note := func(visit, rail, text string) url.Values {
		return url.Values{"visit": {visit}, "kind": {"note"}, "rail": {rail}, "text": {text}, "taken": {"2026-11-25T09:02:05Z"}}
	}
	enterAll(t, d.s, d.id, d.sitting, zeroEntry(zeros, "red clamp", "low", "0.3"), note(zeros, "", "jaw wiped first"),
		readEntry(bare, "current", "core", "mV", "345"), readEntry(bare, "voltage", "core", "V", "0.953"),
		note(bare, "", "fan off"), note(bare, "core", "loop moved"), note(bare, "link", "clamp would not close"), note(bare, "io b", "left closed"))
	texts := map[string]string{zeros: "jaw wiped first", bare: "fan off", bare + " core": "loop moved", bare + " link": "clamp would not close", bare + " io b": "left closed"}
	for _, v := range d.order(t).visits {
		for _, s := range v.Slots {
			if s.Kind != notebook.Note {
				continue
			}
			want, got := texts[strings.TrimSpace(v.Key+" "+s.Rail)], ""
			if s.Entry != nil {
				got = s.Entry.Text
			}
			if got != want {
				t.Errorf("%s: note %q, want %q", s.ID(), got, want)
			}
		}
	}
	contains(t, ask(t, d.s, "GET", d.base+"?at="+url.QueryEscape(zeros+"/note"), nil), 200, "jaw wiped first", "note on core", "Photograph of this step")
	contains(t, ask(t, d.s, "GET", at("studies", d.id, "results"), nil), 200, "step\u00a01: jaw wiped first", "step\u00a02, bare: fan off",
		"step\u00a02, bare, core: loop moved", "step\u00a02, bare, link: clamp would not close", "step\u00a02, bare, io b: left closed", "!Being read")
	x, err := d.nb.Study(t.Context(), d.id)
	if err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	if err := studyfile.Write(&text, x); err != nil {
		t.Fatal(err)
	}
	again, _, err := studyfile.Read("again", text.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	last := again.Sittings[len(again.Sittings)-1]
	if st := last.Steps[1]; last.Steps[0].Note != "jaw wiped first" || st.Note != "fan off" || st.Reading("core").Note != "loop moved" ||
		st.Reading("link").Note != "clamp would not close" || st.Reading("io b").Note != "left closed" {
		t.Errorf("the text form holds %+v", st)
	}
}
