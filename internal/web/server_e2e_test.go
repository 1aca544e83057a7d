package web

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"railtally/internal/notebook"
)

// From the list of studies to the instrument behind a reading by keyboard alone,
// and back with the back button.
func TestOpenAFigureByKeyboard(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	importExample(t, nb)
	b := newBrowser(t, listening(t, s))
	b.open("/studies")
	tabTo := func(what string) {
		t.Helper()
		for range 120 {
			b.keys(kb.Tab)
			if eval[bool](b, "document.activeElement.matches("+quoted(what)+")") {
				if !eval[bool](b, "document.activeElement.matches(':focus-visible')") {
					t.Errorf("%s has the keyboard and does not show it", what)
				}
				return
			}
		}
		t.Fatalf("the tabulator never comes to %q", what)
	}
	// The first stop leads past the head.
	b.keys(kb.Tab)
	if got := eval[string](b, "document.activeElement.textContent"); got != "Go to the content" {
		t.Errorf("the first stop is %q", got)
	}
	tabTo(`article a[href="/studies/1"]`)
	b.keys(kb.Enter)
	b.until("location.pathname === '/studies/1/results' && document.readyState === 'complete'")
	tabTo(`table a[href$="/results/Otter/four-busy"]`)
	b.keys(kb.Enter)
	b.until("location.pathname.endsWith('/four-busy') && document.readyState === 'complete'")
	tabTo(`a[href$="/four-busy/core"]`)
	b.keys(kb.Enter)
	b.until("location.pathname.endsWith('/core') && document.body.innerText.includes('As written at the bench')")
	b.do(chromedp.NavigateBack())
	b.until("location.pathname.endsWith('/four-busy')")
}

// A figure has an address of its own, and works without script.
func TestFigureOpens(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	b := newBrowser(t, listening(t, s))
	b.open(at("studies", id, "results"))
	b.click(`table.powers a[href$="/results/Otter/four-busy"]`)
	b.until("location.pathname.endsWith('/results/Otter/four-busy')")
	total := eval[string](b, "document.querySelector('.the-figure').textContent")
	if !strings.Contains(total, "±") {
		t.Errorf("the figure is %q", total)
	}
	b.click(`table.vip a[href$="/four-busy/core"]`)
	b.until("location.pathname.endsWith('/four-busy/core')")
	text := eval[string](b, "document.body.innerText")
	for _, want := range []string{"red clamp", "As written at the bench", "mV", "desk meter"} {
		if !strings.Contains(text, want) {
			t.Errorf("the opened rail lacks %q", want)
		}
	}
	b.do(chromedp.NavigateBack())
	b.until("location.pathname.endsWith('/results/Otter/four-busy')")
	b.do(chromedp.NavigateBack())
	b.until("location.pathname.endsWith('/results')")
}

// What one device enters shows on another's page without a reload.
func TestPageStaysTrue(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	b := newBrowser(t, listening(t, s))
	path := at("studies", id, "results", "Otter", "four-busy", "core")
	b.open(path)
	before := eval[string](b, "document.querySelector('.the-figure').textContent")
	if !strings.Contains(before, "±") {
		t.Fatalf("the figure is %q", before)
	}
	eval[bool](b, "window.stillThere = true")
	entries, err := nb.Entries(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	var last *notebook.Entry
	steps := map[int64]string{}
	for i, e := range entries {
		if e.Kind == notebook.Step {
			steps[e.First] = e.State
		}
		if e.Kind == notebook.Current && e.Rail == "core" && steps[e.Step] == "four-busy" {
			last = &entries[i] // the last board measured is the Otter
		}
	}
	c := last.Content
	c.Text = "90 mV"
	if _, err := nb.Correct(t.Context(), last.ID, c, notebook.Origin{Why: "misread"}); err != nil {
		t.Fatal(err)
	}
	b.until("document.querySelector('.the-figure').textContent !== " + quoted(before))
	if !eval[bool](b, "window.stillThere === true") {
		t.Error("the page was loaded anew")
	}
	if text := eval[string](b, "document.body.innerText"); !strings.Contains(text, "90\u00a0mV") {
		t.Error("the corrected reading is not shown")
	}
}

// A wrong entry is explained beside its field at once, and kept.
func TestInstrumentFieldIsExplained(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	b := newBrowser(t, listening(t, s))
	b.open("/instruments/new")
	b.fill("#f-name", "red clamp")
	b.do(chromedp.SetValue("#f-kind", "clamp"))
	b.fill("#f-r0-to", "20 A")
	b.fill("#f-r0-scale", "1 mV per 10 bananas")
	b.keys(kb.Tab)
	b.until("document.querySelector('#f-r0-scale-said').classList.contains('fault')")
	said := eval[string](b, "document.querySelector('#f-r0-scale-said').textContent")
	if !strings.Contains(said, "Accepted") {
		t.Errorf("beside the field stands %q", said)
	}
	b.click("form button.primary")
	b.wait(".field.wrong")
	if got := eval[string](b, "document.querySelector('#f-r0-scale').value"); got != "1 mV per 10 bananas" {
		t.Errorf("the field holds %q", got)
	}
	if got := eval[string](b, "document.activeElement.id"); got != "f-r0-scale" {
		t.Errorf("the keyboard is at %q", got)
	}
	b.accessible()
	b.picture("instrument-wrong")
	b.fill("#f-r0-scale", "1 mV per 10 mA")
	b.fill("#f-r0-spec", "1.5% + 10mA")
	b.keys(kb.Tab)
	b.until("document.querySelector('#f-r0-spec-said').textContent.startsWith('Read as')")
	b.click("form button.primary")
	b.wait(".said")
	shelf, err := nb.Shelf(t.Context())
	if err != nil || len(shelf) != 1 || shelf[0].Instrument.Ranges[0].Scale != 10 {
		t.Fatalf("on the shelf: %+v, error %v", shelf, err)
	}
}

// Everything that shows figures works with script switched off.
func TestWithoutScript(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	b := newBrowser(t, listening(t, s))
	b.withoutScript()
	b.open(at("studies", id, "results"))
	b.click(`table.powers a[href$="/results/Otter/four-busy"]`)
	b.wait("table.vip")
	b.open("/studies")
	b.fill("#f-question", "Does it work without script?")
	b.click(`form[action="/studies"] button`)
	b.wait("#results, .study-head")
	if list, err := nb.Studies(t.Context()); err != nil || len(list) != 2 {
		t.Errorf("%d studies, error %v", len(list), err)
	}
}
