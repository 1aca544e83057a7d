package web

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"net/url"
	"testing"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// boardPhoto draws an invented board: a dark ground, a chip, four inductors.
func boardPhoto(w, h int) []byte {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	fill := func(r image.Rectangle, c color.Color) {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				img.Set(x, y, c)
			}
		}
	}
	fill(img.Bounds(), color.RGBA{28, 70, 52, 255})
	fill(image.Rect(w/3, h/3, w*2/3, h*2/3), color.RGBA{30, 30, 34, 255})
	for i := range 4 {
		x := w/8 + i*w/5
		fill(image.Rect(x, h/8, x+w/12, h/8+h/9), color.RGBA{120, 118, 110, 255})
	}
	var b bytes.Buffer
	_ = jpeg.Encode(&b, img, nil) // a buffer takes everything
	return b.Bytes()
}

// pinBoard photographs a board and pins its core rail.
func pinBoard(t testing.TB, nb *notebook.Notebook, id int64, board string) int64 {
	t.Helper()
	pic, err := cleanPhoto(boardPhoto(1200, 800))
	if err != nil {
		t.Fatal(err)
	}
	ack, err := nb.AddPhoto(t.Context(), id, notebook.View{Board: board, Side: notebook.Front}, pic, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range []notebook.Spot{
		{Number: 1, Role: notebook.Opening, Rail: "core", X: 0.16, Y: 0.18, Note: "lift the left leg"},
		{Number: 2, Role: notebook.Probe, Rail: "core", X: 0.4, Y: 0.3},
	} {
		if _, err := nb.AddPin(t.Context(), ack.First, s, notebook.Origin{}); err != nil {
			t.Fatalf("pin %d: %v", i, err)
		}
	}
	return ack.First
}

// openSitting begins a sitting of the worked example.
func openSitting(t testing.TB, nb *notebook.Notebook, id int64, board string, on time.Time) int64 {
	t.Helper()
	ack, err := nb.OpenSitting(t.Context(), id, notebook.Head{Board: board, On: on, Clock: true, Room: "23.1", RoomBare: "°C",
		VoltageMeter: "desk meter", CurrentMeter: "desk meter", By: "first bench"}, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	return ack.First
}

// enterAll sends readings the way the page does.
func enterAll(t testing.TB, s *Server, id, sitting int64, entries ...url.Values) {
	t.Helper()
	for i, v := range entries {
		v.Set("key", fmt.Sprintf("%s-%d-%s%s%s", v.Get("visit"), i, v.Get("kind"), v.Get("rail"), v.Get("instrument")))
		w := askJSON(t, s, at("studies", id, "bench", sitting, "entries"), v)
		if w.Code != 200 {
			t.Fatalf("entry %v: %d %s", v, w.Code, w.Body)
		}
	}
}

func zeroEntry(visit, instrument, rng, text string) url.Values {
	return url.Values{"visit": {visit}, "kind": {"zero"}, "instrument": {instrument}, "range": {rng}, "unit": {"V"}, "bare": {"mV"}, "text": {text}, "taken": {"2026-11-25T09:00:05Z"}}
}

func readEntry(visit, kind, rail, bare, text string) url.Values {
	return url.Values{"visit": {visit}, "kind": {kind}, "rail": {rail}, "unit": {"V"}, "bare": {bare}, "text": {text}, "taken": {"2026-11-25T09:02:05Z"}}
}

// benchScreens lists the pages of plan and bench, with a sitting under way.
func benchScreens(t testing.TB, nb *notebook.Notebook, s *Server, id int64) []screen {
	t.Helper()
	photo := pinBoard(t, nb, id, "Otter")
	sitting := openSitting(t, nb, id, "Otter", time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	bare := visitKey(sitting, "bare", 1)
	enterAll(t, s, id, sitting,
		zeroEntry(visitKey(sitting, "", 1), "red clamp", "low", "0.3"),
		zeroEntry(visitKey(sitting, "", 1), "blue clamp", "fine", "-0.8"),
		readEntry(bare, "current", "core", "mV", "345 347 346"),
		readEntry(bare, "voltage", "core", "V", "0.953"),
		readEntry(bare, "current", "link", "mV", "-53.1"),
		readEntry(bare, "current", "core", "mV", "351"),
	)
	base := at("studies", id, "bench", sitting)
	return []screen{
		{"plan", at("studies", id, "plan")},
		{"plan-board", at("studies", id, "plan", "boards", "Otter")},
		{"plan-rail", at("studies", id, "plan", "boards", "Otter", "rails", "core")},
		{"plan-checks", at("studies", id, "plan", "checks")},
		{"plan-states", at("studies", id, "plan", "states")},
		{"photo", at("studies", id, "plan", "photos", photo)},
		{"bench-start", at("studies", id, "bench")},
		{"bench", base + "?at=" + url.QueryEscape(bare+"/voltage/core")},
		{"bench-next", base},
		{"sheet", base + "/sheet"},
		{"about", base + "/about"},
		{"offline", "/offline"},
	}
}

// Plan and bench, as TestScreens has it.
func TestBenchScreens(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	pages := benchScreens(t, nb, s, id)
	b := newBrowser(t, listening(t, s))
	said := b.complaints()
	b.screens(pages)
	for _, x := range said() {
		t.Errorf("the browser says: %s", x)
	}
}

// A study that was just begun leads by the hand to its first reading.
func TestBenchOfAnEmptyStudy(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	p, err := nb.NewStudy(t.Context(), &study.Study{Question: "Is it less?", Level: study.DefaultLevel}, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	contains(t, ask(t, s, "GET", at("studies", p.StudyID, "bench"), nil), 200, "Plan the study first", "!Begin the sitting")
	contains(t, ask(t, s, "GET", at("studies", p.StudyID, "plan"), nil), 200, "Add an instrument", "every supply that enters the chip", "First board", "!Everything that the bench needs")
	contains(t, ask(t, s, "GET", at("studies", p.StudyID, "plan", "states"), nil), 200, "One name for each")
}

// entryOf reads a quantity or fails.
func entryOf(t testing.TB, text string, u quantity.Unit) quantity.Entry {
	t.Helper()
	e, err := quantity.Parse(text, u, "")
	if err != nil {
		t.Fatal(err)
	}
	return e
}
