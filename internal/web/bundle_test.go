package web

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"railtally/internal/bundle"
	"railtally/internal/notebook"
)

// sendFile sends a file to the page on which studies are taken in.
func sendFile(t *testing.T, s *Server, name string, content []byte, key string) *httptest.ResponseRecorder {
	t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for k, v := range map[string]string{"text": "", "key": key} {
		if err := m.WriteField(k, v); err != nil {
			t.Fatal(err)
		}
	}
	f, err := m.CreateFormFile("file", name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write(content); err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("POST", "/studies/import", &body)
	r.Host, r.RemoteAddr = "127.0.0.1:7417", "127.0.0.1:50000"
	r.Header.Set("Content-Type", m.FormDataContentType())
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

// A study goes out as a bundle with its photographs and comes in again, in
// another notebook, as the same study; one that was tampered with does not.
func TestBundleOutAndIn(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	ask(t, s, "POST", "/studies/example", nil)
	img := image.NewRGBA(image.Rect(0, 0, 40, 30))
	img.Set(10, 10, color.RGBA{255, 0, 0, 255})
	var pic bytes.Buffer
	if err := png.Encode(&pic, img); err != nil {
		t.Fatal(err)
	}
	clean, err := cleanPhoto(pic.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	ack, err := nb.AddPhoto(t.Context(), 1, notebook.View{Board: "Otter", Side: notebook.Front, Note: "at Exampletown"}, clean, notebook.Origin{Device: "test"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := nb.AddPin(t.Context(), ack.First, notebook.Spot{Role: notebook.Opening, Rail: "core", X: 0.25, Y: 0.5}, notebook.Origin{Device: "test"}); err != nil {
		t.Fatal(err)
	}

	contains(t, ask(t, s, "GET", "/studies/1/report", nil), 200, "/studies/1/report/bundle")
	contains(t, ask(t, s, "GET", "/studies/1/report/bundle", nil), 200, "Leave out names", "Save the bundle")
	w := ask(t, s, "POST", "/studies/1/report/bundle", nil)
	if w.Code != 200 || !strings.HasSuffix(w.Header().Get("Content-Disposition"), ".zip") {
		t.Fatalf("status %d, %s", w.Code, w.Header().Get("Content-Disposition"))
	}
	archive := w.Body.Bytes()

	other := newNotebook(t)
	o := newServer(t, other)
	for range 2 { // sent twice with one key, kept once
		w := sendFile(t, o, "otter.zip", archive, "once")
		if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/studies/1" {
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
	}
	photos, err := other.Photos(t.Context(), 1)
	if err != nil || len(photos) != 1 || photos[0].Board != "Otter" || photos[0].Note != "at Exampletown" {
		t.Errorf("%+v %v", photos, err)
	}
	if pins, err := other.Pins(t.Context(), 1); err != nil || len(pins) != 1 || pins[0].Rail != "core" {
		t.Errorf("%+v %v", pins, err)
	}
	text := ask(t, s, "GET", "/studies/1/study.yaml", nil).Body.String()
	if got := ask(t, o, "GET", "/studies/1/study.yaml", nil).Body.String(); got != text {
		t.Error("the study that came in says something else")
	}

	// Words are left out; what is packed then still verifies.
	w = ask(t, s, "POST", "/studies/1/report/bundle", url.Values{"names": {"on"}, "words": {"Exampletown\n\n"}})
	b, err := bundle.Open("x.zip", bytes.NewReader(w.Body.Bytes()), int64(w.Body.Len()))
	if err != nil {
		t.Fatal(err)
	}
	if v, err := b.Verify(s.program); err != nil || !v.Holds {
		t.Errorf("%+v %v", v, err)
	}
	if text, err := b.Read("photos.json"); err != nil || bytes.Contains(text, []byte("Exampletown")) || !bytes.Contains(text, []byte("at withheld")) {
		t.Errorf("%s %v", text, err)
	}
	contains(t, ask(t, s, "POST", "/studies/1/report/bundle", url.Values{"words": {"x"}}), http.StatusUnprocessableEntity, "too short", `aria-invalid="true"`)

	at := bytes.Index(archive, []byte("PAR1"))
	archive[at+5] ^= 1
	contains(t, sendFile(t, o, "otter.zip", archive, "again"), http.StatusUnprocessableEntity, "was not taken in", "tables/readings.parquet is damaged")
	contains(t, sendFile(t, o, "otter.zip", []byte("PK\x03\x04 no archive, only its first bytes"), "third"), http.StatusUnprocessableEntity, "is no bundle")
	if list, err := other.Studies(t.Context()); err != nil || len(list) != 1 {
		t.Errorf("%d studies, %v", len(list), err)
	}
}

// Two studies of the notebook side by side; an instrument that could be one is
// asked for, and ticking it makes the differences more certain.
func TestComparePage(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	contains(t, ask(t, s, "GET", "/studies", nil), 200, "!Compare two studies")
	for i := range 2 {
		ask(t, s, "POST", "/studies/example", url.Values{"key": {strings.Repeat("x", i+1)}})
	}
	contains(t, ask(t, s, "GET", "/studies", nil), 200, "Compare two studies")
	contains(t, ask(t, s, "GET", "/studies/compare", nil), 200, "Then and now", "!What changed", "(study 1, begun ", "(study 2, begun ")
	contains(t, ask(t, s, "GET", "/studies/compare?first=1&second=1", nil), 200, "choose two")
	contains(t, ask(t, s, "GET", "/studies/compare?first=1&second=9", nil), 404)
	apart := ask(t, s, "GET", "/studies/compare?first=1&second=2", nil)
	contains(t, apart, 200, "What changed", "Otter (second)", "equal within", "Used in both studies: red clamp", `value="blue clamp"`)
	together := ask(t, s, "GET", "/studies/compare?first=1&second=2&same=blue+clamp&same=desk+meter&same=nonesuch", nil)
	contains(t, together, 200, "blue clamp", `value="blue clamp" checked`)
	if apart.Body.String() == together.Body.String() {
		t.Error("ticking an instrument changes nothing")
	}
}
