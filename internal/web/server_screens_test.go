package web

import (
	"fmt"
	"testing"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// screen is one page that is looked at in a browser.
type screen struct{ name, path string }

// screens lists the pages of a notebook that holds the worked example.
func screens(id int64) []screen {
	return []screen{
		{"studies", "/studies"},
		{"import", "/studies/import"},
		{"instruments", "/instruments"},
		{"instrument", "/instruments/1"},
		{"instrument-new", "/instruments/new"},
		{"results", at("studies", id, "results")},
		{"state", at("studies", id, "results", "Otter", "four-busy")},
		{"rail", at("studies", id, "results", "Otter", "four-busy", "pll a")},
		{"difference", at("studies", id, "differences", "Otter", "four-busy", "Marten", "four-busy")},
		{"report", at("studies", id, "report")},
		{"bundle", at("studies", id, "report", "bundle")},
		{"compare", fmt.Sprintf("/studies/compare?first=%d&second=%d", id, id+1)},
		{"devices", "/devices"},
		{"error", "/nonesuch"},
	}
}

// fillShelf puts instruments on the shelf whose calibrations are due, soon due
// and overdue on the day.
func fillShelf(t testing.TB, nb *notebook.Notebook, now time.Time) {
	t.Helper()
	for i, days := range []int{-20, 14, 300} {
		e, err := quantity.Parse("100 mΩ ±1 %", quantity.Ohm, "")
		if err != nil {
			t.Fatal(err)
		}
		k, err := quantity.Parse("1.002 ± 0.004 (k=2)", quantity.None, "")
		if err != nil {
			t.Fatal(err)
		}
		day := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
		in := &study.Instrument{
			Name: fmt.Sprintf("io shunt %d", i+1), Kind: study.Shunt, Ident: "made-up resistor", Shunt: &study.ShuntValue{Resistance: e},
			Calibration: &study.Calibration{On: day.AddDate(-1, 0, days), Due: day.AddDate(0, 0, days), Factor: k},
		}
		if _, err := nb.PutInstrument(t.Context(), in, notebook.Origin{}); err != nil {
			t.Fatal(err)
		}
	}
}

// Every page in the browser; which complains of nothing.
func TestScreens(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	importExample(t, nb) // to be compared with the first
	fillShelf(t, nb, time.Now())
	b := newBrowser(t, listening(t, s))
	said := b.complaints()
	b.screens(screens(id))
	for _, x := range said() {
		if x != "" {
			t.Errorf("the browser says: %s", x)
		}
	}
}

// An empty notebook and what it leads to.
func TestEmptyScreens(t *testing.T) {
	s := newServer(t, newNotebook(t))
	b := newBrowser(t, listening(t, s))
	b.look(360, "light")
	for _, path := range []string{"/studies", "/instruments"} {
		b.open(path)
		b.fits()
		b.accessible()
		b.picture("empty" + path[1:])
	}
	b.open("/studies")
	b.click("button.primary")
	b.until("location.pathname.startsWith('/studies/1')")
	if text := eval[string](b, "document.querySelector('.said').textContent"); text == "" {
		t.Error("nothing says that the example was loaded")
	}
}
