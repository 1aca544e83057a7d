package web

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"railtally/internal/example"
	"railtally/internal/notebook"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// now tells what the desk asks for, from the fields that it would send.
const askedFor = `(() => { const f = document.querySelector("[data-desk]"), v = (n) => f.elements[n].value;
	return [v("kind"), v("visit"), v("rail"), v("tap"), v("instrument"), v("range"), v("name"), v("at")].join("\n"); })()`

// model is a sitting of the example that is recorded anew at the desk.
type model struct {
	sitting *study.Sitting
	zeros   []*study.Step
}

func modelOf(t testing.TB, s *study.Study, name string) *model {
	t.Helper()
	for _, x := range s.Sittings {
		if x.Name == name {
			m := &model{sitting: x}
			for _, st := range x.Steps {
				if len(st.Zeros) > 0 {
					m.zeros = append(m.zeros, st)
				}
			}
			return m
		}
	}
	t.Fatalf("no sitting %q", name)
	return nil
}

// reading is what the model read at what the desk asks for.
func (m *model) reading(t testing.TB, asked string, sitting int64) string {
	t.Helper()
	p := strings.Split(asked, "\n")
	state, n, ok := parseVisitKey(p[1], sitting)
	if !ok {
		t.Fatalf("no planned visit: %q", p)
	}
	if state == "" {
		for _, z := range m.zeros[n-1].Zeros {
			if z.Rail == p[2] && z.Instrument == p[4] {
				return z.Reading.Text
			}
		}
	}
	for _, st := range m.sitting.Steps {
		if st.State != state {
			continue
		}
		switch p[0] {
		case "throughput":
			return st.Throughput.Text
		case "current":
			return st.Reading(p[2]).Current[0].Reading.Text
		case "temperature":
			for _, n := range st.Temperatures {
				if n.Name == p[6] {
					return n.Reading.Text
				}
			}
		case "voltage":
			return st.Reading(p[2]).Voltage.Text
		}
	}
	t.Fatalf("the model has no %q", p)
	return ""
}

// newSitting begins a sitting in the browser, at a time when the example's own
// calibrations hold.
func (b *browser) newSitting(id int64, board string) int64 {
	b.t.Helper()
	b.open(at("studies", id, "bench"))
	b.do(chromedp.SetValue("#f-board", board))
	b.fill("#f-room", "23.6 ± 0.5")
	b.fill("#f-by", "second bench")
	b.click("form.form button.primary")
	b.until("!!document.querySelector('[data-desk][data-ready]')")
	var n int64
	for _, c := range b.where()[len(at("studies", id, "bench"))+1:] {
		n = n*10 + int64(c-'0')
	}
	return n
}

// twoStates puts the worked example into a notebook with two of its states only,
// so that a whole sitting is soon recorded.
func twoStates(t testing.TB, nb *notebook.Notebook) int64 {
	t.Helper()
	x, _, err := studyfile.Read("example", example.New(example.Seed).Text)
	if err != nil {
		t.Fatal(err)
	}
	out := func(name string) bool { return name != "" && name != "bare" && name != "one-busy" }
	x.States = slices.DeleteFunc(x.States, func(st *study.State) bool { return out(st.Name) })
	dropDangling(x)
	for _, sitting := range x.Sittings {
		// A zero, the states, a zero: as the order of work has it for two states.
		var first, last *study.Step
		for _, st := range sitting.Steps {
			if len(st.Zeros) > 0 && first == nil {
				first = st
			} else if len(st.Zeros) > 0 {
				last = st
			}
		}
		sitting.Steps = slices.DeleteFunc(sitting.Steps, func(st *study.Step) bool {
			return out(st.State) || st.State == "" && st != first && st != last
		})
	}
	p, err := nb.Import(t.Context(), x, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	return p.StudyID
}

// A full sitting, recorded by keyboard alone: every figure of a sitting of the
// example typed anew gives that sitting's totals.
func TestSittingByKeyboard(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := twoStates(t, nb)
	b := newBrowser(t, listening(t, s))
	said := b.complaints()
	b.look(1440, "light")
	sitting := b.newSitting(id, "Otter")
	whole, err := nb.Study(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	m := modelOf(t, whole, "April")
	entries := 0
	for {
		asked := eval[string](b, askedFor)
		if eval[string](b, "document.activeElement.id") != "entry" {
			t.Fatalf("the keyboard is not in the field at %q", asked)
		}
		b.keys(m.reading(t, asked, sitting) + kb.Enter)
		entries++
		done := eval[bool](b, `!document.querySelector("[data-done]").hidden`)
		if done {
			break
		}
		if eval[string](b, askedFor) == asked {
			t.Fatalf("Enter did not go on from %q: %s", asked, eval[string](b, `document.querySelector("[data-echo-box]").textContent`))
		}
		if entries > 200 {
			t.Fatal("the sitting has no end")
		}
	}
	b.until("window.railtallyQueue.list().length === 0")
	got, err := nb.Study(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if faults := study.Check(got); len(faults) > 0 {
		t.Fatalf("faults: %v", faults)
	}
	mine := got.Sittings[len(got.Sittings)-1]
	sameTotals(t, got, m.sitting, mine)
	for _, x := range said() {
		t.Errorf("the browser says: %s", x)
	}
	t.Logf("%d entries by keyboard", entries)
}

// sameTotals compares the totals of all states of two sittings that hold the
// same figures. The times of the steps differ, and with them the weights of the
// two zeros, so estimates may differ by what a zero wanders: below a part in a
// thousand of a total here.
func sameTotals(t *testing.T, s *study.Study, want, got *study.Sitting) {
	t.Helper()
	totals := func(x *study.Sitting) map[string]float64 {
		one := *s
		one.Sittings, one.Comparisons = []*study.Sitting{x}, nil
		r, err := tally.Run(&one, tally.Options{})
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]float64{}
		for _, st := range r.Board("Otter").States {
			if st.Complete {
				out[st.State.Name] = st.Total.Estimate
			}
		}
		return out
	}
	w, g := totals(want), totals(got)
	if len(w) != len(g) || len(w) == 0 {
		t.Fatalf("%d states, want %d", len(g), len(w))
	}
	for name, x := range w {
		if d := g[name]/x - 1; d > 1e-3 || d < -1e-3 {
			t.Errorf("%s: %g W, want %g W", name, g[name], x)
		}
	}
}

// What one device keeps the other sees at once; what it corrects too, and a
// figure that is being typed stays.
func TestTwoPages(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	one := newBrowser(t, listening(t, s))
	one.look(1440, "light")
	one.newSitting(id, "Otter")
	two := one.tab()
	two.open(one.where())
	two.until("!!document.querySelector('[data-desk][data-ready]')")
	two.keys("9.9")
	one.do(chromedp.Focus("#entry"))
	one.keys("0.4" + kb.Enter)
	two.until(`document.querySelector("#bench-log").textContent.includes("0.4 mV")`)
	two.until(`document.querySelector("[data-meanwhile]").textContent.includes("0.4 mV")`)
	if v := eval[string](two, "document.querySelector('#entry').value"); v != "9.9" {
		t.Errorf("what was being typed became %q", v)
	}
	two.do(chromedp.Focus("#entry"))
	two.keys(kb.Enter)
	two.until(`document.querySelector("#bench-log").textContent.includes("Two were entered here")`)
	one.until(`document.querySelector("#bench-log").textContent.includes("set aside")`)
	// Corrected on the first page: back by the arrow, typed over, kept.
	one.do(chromedp.Focus("#entry"))
	one.keys(kb.ArrowUp)
	one.until(`document.querySelector("#entry").value.startsWith("0.4")`)
	one.fill("#entry", "0.5")
	one.fill("#why", "read again")
	one.do(chromedp.Focus("#entry"))
	one.keys(kb.Enter)
	two.until(`document.querySelector("#bench-log").textContent.includes("read again")`)
	if n := len(currentIn(t, nb, id, notebook.Zero)); n != 1 {
		t.Errorf("%d zeros count, want the corrected one", n)
	}
}

func currentIn(t testing.TB, nb *notebook.Notebook, id int64, kind notebook.Kind) []notebook.Entry {
	t.Helper()
	rec, err := nb.Record(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	last := rec.Sittings[len(rec.Sittings)-1].First
	var out []notebook.Entry
	for _, e := range rec.Entries {
		if e.Sitting == last && e.Kind == kind {
			out = append(out, e)
		}
	}
	return out
}

// Entries made while the connection is down wait in the browser, marked as
// such, and are sent once, in order, when it is back; the page opens meanwhile.
func TestOfflineQueue(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	base, down := severable(t, s)
	b := newBrowser(t, base)
	b.look(360, "light")
	b.newSitting(id, "Otter")
	path := b.where()
	b.until("navigator.serviceWorker.controller !== null")
	b.open(path) // under the worker, which keeps it
	b.until("(caches.match(location.origin + location.pathname).then(x => { window.isKept = !!x; }), window.isKept === true)")
	down(true)
	for _, text := range []string{"0.3", "-0.8", "0.02", "345", "953"} {
		b.do(chromedp.Focus("#entry"))
		b.keys(text + kb.Enter)
	}
	b.until(`document.querySelectorAll("[data-outbox] li").length === 5`)
	if text := eval[string](b, `document.querySelector("[data-outbox]").textContent`); !strings.Contains(text, "waits in this browser") {
		t.Errorf("the outbox says %q", text)
	}
	b.fits()
	b.picture("bench-offline-360")
	if n := len(currentIn(t, nb, id, notebook.Current)); n != 0 {
		t.Fatalf("%d readings arrived without a connection", n)
	}
	b.open(path) // from what was kept
	b.until(`document.querySelectorAll("[data-outbox] li").length === 5`)
	if asked := eval[string](b, askedFor); !strings.Contains(asked, "current") && !strings.Contains(asked, "zero") {
		t.Errorf("the page that was kept asks for %q", asked)
	}
	down(false)
	b.until(`window.railtallyQueue.flush() && window.railtallyQueue.list().length === 0`)
	var got []string
	rec, err := nb.Record(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range rec.Entries {
		if e.Sitting == rec.Sittings[len(rec.Sittings)-1].First && e.Kind != notebook.Step {
			got = append(got, e.Text+" "+e.Bare)
		}
	}
	if want := "0.3 mV|-0.8 mV|0.02 mV|345 mV|953 mV"; strings.Join(got, "|") != want {
		t.Errorf("arrived %q, want %q", got, want)
	}
	notKept(t, b, nb, id)
}

// notKept: the disk is full, or the notebook's file cannot be written any longer.
// An entry made then is not acknowledged; the page says what happened and what to
// do, keeps it, and sends it when it can be kept. A form without script keeps what
// was typed. Nothing that was acknowledged is lost.
func notKept(t *testing.T, b *browser, nb *notebook.Notebook, id int64) {
	ctx := t.Context()
	path := b.where()
	count := func() (n int) {
		all, err := nb.Entries(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		return len(all)
	}
	// Sends what a page would, and returns the status and what it was told.
	post := func(accept string, form url.Values) (int, string) {
		r, err := http.NewRequest("POST", b.base+path+"/entries", strings.NewReader(form.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Accept", accept)
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		body, err := io.ReadAll(answer.Body)
		if err != nil {
			t.Fatal(err)
		}
		return answer.StatusCode, string(body)
	}
	b.open(path)
	sitting, err := strconv.ParseInt(path[strings.LastIndex(path, "/")+1:], 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	more := 0
	fill := func() { // until not the smallest entry finds room, wherever its key would go
		for refused := 0; refused < 20; more++ {
			if more > 5000 {
				t.Fatal("the notebook is never full")
			}
			key := fmt.Sprintf("%08x", uint32(more)*2654435761)
			status, _ := post("application/json", url.Values{"visit": {visitKey(sitting, "bare", 1)}, "kind": {"temperature"}, "name": {fmt.Sprint(more)},
				"unit": {"°C"}, "text": {"4 °C"}, "key": {key}})
			switch status {
			case http.StatusOK:
				refused = 0
			case http.StatusInsufficientStorage:
				refused++
			default:
				t.Fatalf("status %d", status)
			}
		}
	}
	for _, c := range []struct {
		hinder, lift string
		fill         func()
		says         []string
	}{
		{"max_page_count = 1", "max_page_count = 4294967294", fill, []string{"The disk is full", "Make space on the disk"}},
		{"query_only = ON", "query_only = OFF", func() {}, []string{"The notebook cannot be used", "change its permissions"}},
	} {
		if err := nb.Hinder(ctx, c.hinder); err != nil {
			t.Fatal(err)
		}
		c.fill()
		before := count()
		at := eval[string](b, `document.querySelector("[data-desk]").elements.at.value`)
		b.do(chromedp.Focus("#entry"))
		b.keys("345" + kb.Enter)
		b.until(`document.querySelector("[data-kept]").textContent.includes("Your entries wait here")`)
		said := eval[string](b, `document.querySelector("[data-kept]").textContent`)
		for _, want := range c.says {
			if !strings.Contains(said, want) {
				t.Errorf("%s: the page says %q", c.hinder, said)
			}
		}
		if n := eval[int](b, `document.querySelectorAll("[data-outbox] li").length`); n != 1 {
			t.Errorf("%s: %d entries wait", c.hinder, n)
		}
		b.fits()
		b.picture("bench-not-kept-360")
		status, page := post("text/html", url.Values{"at": {at}, "visit": {visitKey(sitting, "bare", 1)}, "kind": {"current"}, "rail": {"core"}, "text": {"346"}, "key": {c.hinder}})
		if status != http.StatusUnprocessableEntity || !strings.Contains(page, `value="346"`) || !strings.Contains(page, c.says[0]) || !strings.Contains(page, c.says[1]) {
			t.Errorf("%s: a form gets status %d: %.3000s", c.hinder, status, page)
		}
		if n := count(); n != before {
			t.Errorf("%s: %d entries came in", c.hinder, n-before)
		}
		if err := nb.Hinder(ctx, c.lift); err != nil {
			t.Fatal(err)
		}
		b.until(`window.railtallyQueue.flush() && window.railtallyQueue.list().length === 0`)
		if n := count(); n != before+1 {
			t.Errorf("%s: %d entries came in when there was room, want 1", c.hinder, n-before)
		}
	}
	if problems, err := nb.Check(ctx); err != nil || len(problems) > 0 {
		t.Errorf("the notebook is not sound: %v %v", problems, err)
	}
}

// Two tabs send one queue: each entry arrives once.
func TestTwoTabsOneQueue(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	base, down := severable(t, s)
	one := newBrowser(t, base)
	one.look(820, "light")
	one.newSitting(id, "Otter")
	two := one.tab()
	two.open(one.where())
	two.until("!!document.querySelector('[data-desk][data-ready]')")
	down(true)
	for _, text := range []string{"0.3", "-0.8", "0.02"} {
		one.do(chromedp.Focus("#entry"))
		one.keys(text + kb.Enter)
	}
	down(false)
	eval[bool](one, "window.railtallyQueue.flush(); true")
	eval[bool](two, "window.railtallyQueue.flush(); true")
	two.until("window.railtallyQueue.list().length === 0")
	all, err := nb.Entries(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, e := range all {
		if e.Kind == notebook.Zero && (e.Text == "0.3" || e.Text == "-0.8" || e.Text == "0.02") {
			n++
		}
	}
	if n != 3 {
		t.Errorf("%d rows of 3 entries", n)
	}
}

// Skip, undo and the sheet by keyboard.
func TestKeysOfTheDesk(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	b := newBrowser(t, listening(t, s))
	b.look(1440, "light")
	b.newSitting(id, "Otter")
	b.do(chromedp.Focus("#entry"))
	b.keys(kb.ArrowDown)
	b.until(`document.querySelector("h1").textContent.includes("blue clamp")`)
	b.keys("-0.8")
	b.until(`document.querySelector("[data-echo-box]").textContent.includes("-0.8 mV")`)
	b.keys(kb.Enter)
	b.until(`document.querySelector("[data-kept]").textContent.startsWith("Kept")`)
	eval[bool](b, `document.querySelector("#entry").dispatchEvent(new KeyboardEvent("keydown", {key: "z", ctrlKey: true, bubbles: true})); true`)
	b.until(`document.querySelector("[data-kept]").textContent.startsWith("Undone")`)
	b.until(`document.querySelector("h1").textContent.includes("blue clamp")`)
	if n := len(currentIn(t, nb, id, notebook.Zero)); n != 0 {
		t.Errorf("%d zeros count after undo", n)
	}
	b.keys("many" + kb.Enter)
	b.until(`!!document.querySelector("[data-echo-box] .fault")`)
	if v := eval[string](b, "document.querySelector('#entry').value"); v != "many" {
		t.Errorf("what was typed became %q", v)
	}
	b.open(b.where() + "/sheet")
	b.do(chromedp.Focus("[data-cell] input[name=text]"))
	b.keys("345" + kb.Enter)
	b.until(`document.querySelector(".cell-said").textContent === "kept"`)
	if got := currentIn(t, nb, id, notebook.Current); len(got) != 1 || got[0].Text != "345" || got[0].Rail != "core" {
		t.Errorf("the sheet kept %+v", got)
	}
}

// From an empty notebook to the first total: a study is begun, its instruments
// are described, a board is planned, photographed and pinned, and one state is
// read. What a new user does, by what the pages offer.
func TestPlanABoard(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	b := newBrowser(t, listening(t, s))
	b.look(360, "light")
	b.open("/")
	b.fill("#f-question", "How much does the chip draw?")
	b.keys(kb.Enter)
	b.until("!!document.querySelector('.plan-steps')")
	const id = 1
	b.follow(".plan-steps a.primary") // add an instrument
	b.describe("red clamp", "clamp", map[string]string{"r0-name": "low", "r0-scale": "1 mV per 10 mA", "r0-spec": "1.5 % + 10 mA", "r0-to": "20 A",
		"calibrated-on": "2026-01-20", "calibrated-correction-factor": "1.004 +- 0.004 (k=2)"}, "another")
	b.describe("blue clamp", "clamp", map[string]string{"r0-name": "fine", "r0-scale": "1 mV per 1 mA", "r0-spec": "+-(1.5 % + 2 mA)", "r0-to": "2 A"}, "another")
	b.describe("desk meter", "meter", map[string]string{"r0-name": "500 mV", "r0-digit": "0.1 mV", "r0-spec": "0.2 % + 2 digits"}, "more")
	b.until("document.activeElement.id === 'f-r1-name'")
	b.describe("desk meter", "meter", map[string]string{"r1-name": "5 V", "r1-digit": "1 mV", "r1-spec": "0.1 % + 1 digit"}, "")
	b.until("location.pathname.endsWith('/plan') && document.querySelectorAll('.row-name').length === 3")
	b.follow(".plan-steps a.primary") // name the board, on the same page
	b.fill("#f-name", "Otter")
	b.fill("#f-chip", "second-generation bridge")
	b.keys(kb.Enter)
	b.until("!!document.querySelector('[data-rail]')") // its first rail
	b.planRails()
	b.fits()
	b.follow(".plan-steps a.primary") // name the states

	b.until("!!document.querySelector('.factor-form')")
	b.set("f-name-0", "drives")
	b.set("f-levels-0", "0, 1")
	b.set("f-name-1", "load")
	b.set("f-levels-1", "none, copy")
	b.click(".factor-form button")
	b.until("document.querySelectorAll('.states-grid tbody tr').length === 4")
	b.click(".states-grid tbody tr:nth-child(2) input[type=checkbox]") // no copying without a drive
	b.fill(".states-grid tbody tr:nth-child(1) input[name^=name]", "bare")
	b.fill(".states-grid tbody tr:nth-child(3) input[name^=name]", "one-idle")
	b.fill(".states-grid tbody tr:nth-child(4) input[name^=name]", "one-busy")
	b.click("[data-states] button.primary")
	b.until("location.pathname.endsWith('/plan') && document.querySelectorAll('.state-rows li').length === 3")
	b.until("!!document.querySelector('.lead a.primary')") // nothing is missing

	b.pinTheCore(t)
	got, err := nb.Study(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if faults := study.Check(got); len(faults) > 0 {
		t.Errorf("the plan lacks %v", faults)
	}
	core := got.Board("Otter").Rail("core")
	if core == nil || core.Feed != study.InductorLeg || core.Taps[0].Range != "low" || core.Taps[0].Loop == nil || len(got.States) != 3 {
		t.Errorf("planned %+v", core)
	}

	// And the first reading, at the pin.
	b.newSittingHere(id)
	for _, text := range []string{"0.3", "-0.8"} {
		b.do(chromedp.Focus("#entry"))
		b.keys(text + kb.Enter)
	}
	b.until(`document.querySelector("h1").textContent.includes("core")`)
	b.until(`!document.querySelector("[data-pins]").hidden && document.querySelector("[data-pins]").textContent.includes("core, opening")`)
	b.until(`document.querySelector("[data-clock]").textContent.includes("give it 5 min to settle")`)
	b.fits()
	b.picture("bench-planned-360")

	// The rest of the first state, and its total among the results. By hand:
	// (345 − 0.3) mV · 10 mA/mV · 1.004 · 0.953 V = 3.298 W; pll (61 + 0.8) mV ·
	// 1 mA/mV / 5 · 2.49 V = 31 mW; io between 0 and 5 mA at 3.3 V, 8 mW.
	for _, text := range []string{"345", "953", "61", "2.49"} {
		b.do(chromedp.Focus("#entry"))
		b.keys(text + kb.Enter)
	}
	b.until("window.railtallyQueue.list().length === 0")
	b.until(`document.querySelector("#bench-lanes").textContent.includes("3.337")`)
	b.open(at("studies", id, "results"))
	if text := eval[string](b, "document.querySelector('main').textContent"); !strings.Contains(text, "3.337") || !strings.Contains(text, "bare") {
		t.Errorf("the results say %.600s", text)
	}
	b.picture("bench-results-360")
}

// planRails fills the form of three rails, one by one.
func (b *browser) planRails() {
	b.t.Helper()
	choose := func(field, label string) {
		eval[bool](b, `(() => { const s = document.querySelector("[name='`+field+`']"); s.value = [...s.options].find(o => o.textContent.trim() === "`+label+`").value;
			s.dispatchEvent(new Event("change", {bubbles: true})); return true; })()`)
	}
	b.set("f-name", "core")
	b.set("f-nominal", "about one")
	choose("feed", "inductor leg")
	choose("converter", "buck")
	choose("way.0", "red clamp low")
	b.set("f-loop-0", "60 mm AWG 18")
	b.click("button[name=another]")
	b.until("!!document.querySelector('.fault')") // explained, and what was typed is there
	if v := eval[string](b, "document.querySelector('#f-nominal').value + document.querySelector('#f-loop-0').value"); v != "about one60 mm AWG 18" {
		b.t.Errorf("the form kept %q", v)
	}
	b.set("f-nominal", "0,95 V ±3 %")
	b.click("button[name=another]")
	b.until("document.querySelector('#f-name').value === '' && !document.querySelector('.fault')")
	b.set("f-name", "pll")
	b.set("f-nominal", "2.5 V ±5 %")
	choose("feed", "bead")
	choose("converter", "not said")
	choose("way.0", "blue clamp fine")
	b.set("f-turns-0", "×5")
	b.click("button[name=another]")
	b.until("document.querySelector('#f-name').value === '' && document.querySelector('#f-turns-0').value === '5'")
	b.set("f-name", "io")
	b.set("f-nominal", "3.3 V ±5 %")
	choose("feed", "not said")
	choose("way.0", "not opened: known to stay within bounds")
	b.set("f-bound", "0..5")
	b.click("button.primary")
	b.until("document.querySelectorAll('.plan-board tbody tr').length === 3")
}

// follow goes where a link leads.
func (b *browser) follow(sel string) {
	b.t.Helper()
	b.wait(sel)
	b.click(sel)
}

// describe fills in the form of an instrument and presses the button of that
// name; empty: the first.
func (b *browser) describe(name, kind string, fields map[string]string, button string) {
	b.t.Helper()
	b.until("!!document.querySelector('#instrument-form') && document.querySelector('#f-name').value !== 'red clamp' && document.querySelector('#f-name').value !== 'blue clamp'")
	b.set("f-name", name)
	b.set("f-kind", kind)
	for f, text := range fields {
		b.set("f-"+f, text)
	}
	if button == "" {
		b.click("#instrument-form button.primary")
	} else {
		b.click("#instrument-form button[name=" + button + "]")
	}
}

// set puts a text into a field at once, where typing it would only take time.
func (b *browser) set(id, text string) {
	b.t.Helper()
	eval[bool](b, "document.getElementById("+quoted(id)+").value = "+quoted(text)+"; true")
}

// pinTheCore uploads a photograph, puts a pin with the pointer and moves it by
// keyboard.
func (b *browser) pinTheCore(t *testing.T) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "board.jpg")
	if err := os.WriteFile(file, boardPhoto(1200, 800), 0o600); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.SetUploadFiles("input[type=file]", []string{file}))
	b.click("form[enctype] button")
	b.until("location.pathname.includes('/plan/photos/') && !!document.querySelector('#photo-stage[data-ready]')")
	b.fits()
	box := eval[[]float64](b, `(() => { const r = document.querySelector("[data-stage]").getBoundingClientRect(); return [r.left + r.width * 0.25, r.top + r.height * 0.5]; })()`)
	b.do(chromedp.MouseClickXY(box[0], box[1]))
	b.until("document.querySelectorAll('.pin').length === 1")
	b.do(chromedp.Focus(".pin"))
	b.keys(kb.ArrowRight + kb.ArrowRight)
	b.until(`document.querySelector("[data-kept]").textContent.includes("kept")`)
	x := eval[string](b, "document.querySelector('.pin').dataset.x")
	if x < "0.259" || x > "0.261" { // a quarter, and two steps of a two-hundredth
		t.Errorf("the pin is at x %s, want 0.26", x)
	}
	b.gestures(t)
	b.accessible()
}

// newSittingHere begins a sitting of a study with one board.
func (b *browser) newSittingHere(id int64) {
	b.t.Helper()
	b.open(at("studies", id, "bench"))
	b.fill("#f-room", "23")
	b.click("form.form button.primary")
	b.until("!!document.querySelector('[data-desk][data-ready]')")
}

// severable serves a server whose line can be cut: then every connection breaks
// off without an answer.
func severable(t testing.TB, s *Server) (base string, down func(bool)) {
	t.Helper()
	var cut atomic.Bool
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if cut.Load() {
			panic(http.ErrAbortHandler)
		}
		s.ServeHTTP(w, r)
	}))
	t.Cleanup(func() {
		srv.CloseClientConnections()
		srv.Close()
	})
	return srv.URL, func(on bool) {
		cut.Store(on)
		if on {
			srv.CloseClientConnections()
		}
	}
}
