package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"testing"

	"railtally/internal/notebook"
	"railtally/internal/study"
)

// undone presses the Undo that stands on the page which follows an answer.
func undone(t testing.TB, s *Server, w *httptest.ResponseRecorder) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("GET", w.Header().Get("Location"), nil)
	r.Host, r.RemoteAddr = "127.0.0.1:7417", "127.0.0.1:50000"
	for _, c := range w.Result().Cookies() {
		r.AddCookie(c)
	}
	page := httptest.NewRecorder()
	s.ServeHTTP(page, r)
	form := regexp.MustCompile(`(?s)class="said".*?action="([^"]+)">(.*?)<button class="link">Undo`).FindStringSubmatch(page.Body.String())
	if form == nil {
		t.Fatalf("nothing to undo on %s: %d", r.URL, page.Code)
	}
	v := url.Values{}
	for _, f := range regexp.MustCompile(`name="([^"]*)" value="([^"]*)"`).FindAllStringSubmatch(form[2], -1) {
		v.Set(f[1], f[2])
	}
	return ask(t, s, "POST", form[1], v)
}

// A study is renamed, put away and brought back from the list, and each is taken
// back by the button that then stands there.
func TestRenameAndArchive(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	p, err := nb.NewStudy(t.Context(), &study.Study{Question: "Is it less?", Level: study.DefaultLevel}, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	path := at("studies", p.StudyID)
	contains(t, ask(t, s, "POST", path+"/rename", url.Values{"based": {itoa(p.ID)}, "question": {" "}}), http.StatusUnprocessableEntity, "what the study is to answer")
	w := ask(t, s, "POST", path+"/rename", url.Values{"based": {itoa(p.ID)}, "question": {"Is  it <less> & why?"}})
	contains(t, w, http.StatusSeeOther)
	contains(t, ask(t, s, "GET", "/studies", nil), 200, "Is it &lt;less&gt; &amp; why?", "!Archived")
	// From a list that is out of date nothing is overwritten.
	contains(t, ask(t, s, "POST", path+"/rename", url.Values{"based": {itoa(p.ID)}, "question": {"Mine"}}), http.StatusConflict, "changed meanwhile")
	contains(t, undone(t, s, w), http.StatusSeeOther)
	contains(t, ask(t, s, "GET", "/studies", nil), 200, "Is it less?", "!why?")

	w = ask(t, s, "POST", path+"/archive", url.Values{})
	contains(t, w, http.StatusSeeOther)
	contains(t, ask(t, s, "GET", "/studies", nil), 200, "Archived", "Bring back", "Every study is archived", "Is it less?")
	contains(t, ask(t, s, "GET", path+"/plan", nil), 200, "Is it less?")
	contains(t, undone(t, s, w), http.StatusSeeOther)
	contains(t, ask(t, s, "GET", "/studies", nil), 200, "!Bring back")
	contains(t, ask(t, s, "POST", at("studies", 99, "archive"), url.Values{}), http.StatusNotFound)
}

// What was taken off comes back: a pin, a photograph, an instrument.
func TestUndoTakenOff(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	photo := pinBoard(t, nb, id, "Otter")
	pins, err := nb.Pins(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	page := at("studies", id, "plan", "photos", photo)
	contains(t, undone(t, s, ask(t, s, "POST", page+"/pins/"+itoa(pins[0].ID), url.Values{"remove": {"yes"}})), http.StatusSeeOther)
	contains(t, undone(t, s, ask(t, s, "POST", page+"/remove", url.Values{})), http.StatusSeeOther)
	contains(t, ask(t, s, "GET", page, nil), 200, "lift the left leg")
	if now, err := nb.Pins(t.Context(), id); err != nil || len(now) != len(pins) {
		t.Errorf("%d pins came back, want %d; %v", len(now), len(pins), err)
	}
	// Under another study's address nothing is moved or brought back.
	other, err := nb.NewStudy(t.Context(), &study.Study{Question: "Another?", Level: study.DefaultLevel}, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	contains(t, ask(t, s, "POST", at("studies", other.StudyID, "plan", "photos", "undo"), url.Values{"what": {"pin"}, "id": {itoa(pins[0].ID)}}), http.StatusNotFound)

	in := nb1(t, nb, id).Instruments[0]
	if _, err := nb.PutInstrument(t.Context(), in, notebook.Origin{}); err != nil {
		t.Fatal(err)
	}
	contains(t, undone(t, s, ask(t, s, "POST", "/instruments/1/withdraw", url.Values{})), http.StatusSeeOther)
	contains(t, ask(t, s, "GET", "/instruments", nil), 200, in.Name, "!The shelf is empty")
	// Where another took its name meanwhile it stays off.
	w := ask(t, s, "POST", "/instruments/1/withdraw", url.Values{})
	if _, err := nb.PutInstrument(t.Context(), in, notebook.Origin{}); err != nil {
		t.Fatal(err)
	}
	contains(t, undone(t, s, w), http.StatusUnprocessableEntity, "already")
}

// nb1 is a study of a notebook.
func nb1(t testing.TB, nb *notebook.Notebook, id int64) *study.Study {
	t.Helper()
	s, err := nb.Study(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
