package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"

	"railtally/internal/notebook"
	"railtally/internal/study"
)

// ask sends one request from this computer.
func ask(t testing.TB, h http.Handler, method, path string, form url.Values) *httptest.ResponseRecorder {
	t.Helper()
	var r *http.Request
	if form != nil {
		r = httptest.NewRequest(method, path, strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	} else {
		r = httptest.NewRequest(method, path, nil)
	}
	r.Host, r.RemoteAddr = "127.0.0.1:7417", "127.0.0.1:50000"
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// contains checks what a page must and must not hold; the latter begin with "!".
func contains(t testing.TB, w *httptest.ResponseRecorder, status int, texts ...string) {
	t.Helper()
	body := w.Body.String()
	if w.Code != status {
		t.Errorf("status %d, want %d\n%.600s", w.Code, status, body)
		return
	}
	for _, x := range texts {
		if rest, not := strings.CutPrefix(x, "!"); not {
			if strings.Contains(body, rest) {
				t.Errorf("the page holds %q", rest)
			}
		} else if !strings.Contains(body, x) {
			t.Errorf("the page lacks %q", x)
		}
	}
}

var anchor = regexp.MustCompile(`href="#([^"]+)"`)

// Every page that can be reached from the list of studies, with the worked
// example and with nothing.
func TestPages(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	empty, err := nb.NewStudy(t.Context(), emptyPlan("Is it <b>less</b>?"), notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		path   string
		status int
		texts  []string
	}{
		{"/studies", 200, []string{"Does the newer bridge chip draw less", "Is it &lt;b&gt;less", "!<b>less", "±", "nothing measured yet"}},
		{"/studies/import", 200, []string{"<textarea", "multipart/form-data"}},
		{at("studies", id, "results"), 200, []string{"Otter", "four-busy", "resolved", "<svg", "/results/Otter/four-busy/pll%20a", "/differences/Otter/four-busy/Marten/four-busy", "!<style", "!style="}},
		{at("studies", id, "results", "Otter", "four-busy"), 200, []string{"pll a", "By cause", "By rail", "Measured in", "!<details"}},
		{at("studies", id, "results", "Otter", "four-busy", "core"), 200, []string{"red clamp", "mV", "As written at the bench", "correction factor", "The zero"}},
		{at("studies", id, "results", "Otter", "four-busy", "io b"), 200, []string{"was not opened"}},
		{at("studies", id, "results", "Otter", "four-busy", "nonesuch"), 404, []string{"Nothing is here"}},
		{at("studies", id, "results", "Otter", "nonesuch"), 404, nil},
		{at("studies", id, "differences", "Otter", "four-busy", "Marten", "four-busy"), 200, []string{"less Marten four-busy", "By rail"}},
		{at("studies", id, "differences", "Otter", "bare", "Otter", "four-idle"), 200, []string{"Otter bare less Otter four-idle"}},
		{at("studies", id, "report"), 200, []string{"Save the page", "totals.svg", "lanes-otter"}},
		{at("studies", empty.StudyID, "results"), 200, []string{"There are no figures yet", "the study has no board"}},
		{at("studies", empty.StudyID, "report"), 200, []string{"nothing to publish yet"}},
		{at("studies", empty.StudyID, "results", "a", "b"), 404, nil},
		{"/studies/999/results", 404, []string{"no study 999"}},
		{"/studies/abc/results", 404, nil},
		{"/nonesuch", 404, []string{"no page has the address"}},
		{"/instruments", 200, []string{"The shelf is empty", "In studies only", "red clamp"}},
		{"/instruments/new", 200, []string{"Accuracy", "Keep it"}},
		{"/instruments/77", 404, nil},
		{"/devices", 200, []string{"Only this computer is served", "--lan"}},
	} {
		t.Run(x.path, func(t *testing.T) {
			w := ask(t, s, "GET", x.path, nil)
			contains(t, w, x.status, x.texts...)
			body := w.Body.String()
			for _, forbidden := range []string{"onclick=", "onload=", "javascript:", "<no value>", "%!", "ZgotmplZ", "NaN"} {
				if strings.Contains(body, forbidden) {
					t.Errorf("the page holds %q", forbidden)
				}
			}
			for _, m := range anchor.FindAllStringSubmatch(body, -1) {
				if !strings.Contains(body, `id="`+m[1]+`"`) {
					t.Errorf("#%s leads nowhere", m[1])
				}
			}
			if n := strings.Count(body, "<h1"); n != 1 {
				t.Errorf("%d headings of the first order", n)
			}
		})
	}
}

func TestWrongMethod(t *testing.T) {
	s := newServer(t, newNotebook(t))
	if w := ask(t, s, "POST", "/instruments/new", url.Values{}); w.Code == 200 {
		t.Error("POST where only GET is served was answered as done")
	}
}

func TestSegments(t *testing.T) {
	for _, name := range []string{"core", "a/b", "..", ".", "~x", "", "60 % ü?#", "a%2Fb"} {
		mux := http.NewServeMux()
		got := "unasked"
		mux.HandleFunc("GET /x/{name}", func(_ http.ResponseWriter, r *http.Request) { got = nameIn(r, "name") })
		w := httptest.NewRecorder()
		mux.ServeHTTP(w, httptest.NewRequest("GET", at("x", name), nil))
		if got != name {
			t.Errorf("%q came back as %q by %s", name, got, at("x", name))
		}
	}
}

func TestFlash(t *testing.T) {
	w := httptest.NewRecorder()
	flash(w, "Done: 5 Ω & <b>")
	r := httptest.NewRequest("GET", "/", nil)
	r.AddCookie(w.Result().Cookies()[0])
	again := httptest.NewRecorder()
	if got := takeFlash(again, r); got == nil || got.Text != "Done: 5 Ω & <b>" {
		t.Errorf("got %q", got)
	}
	if c := again.Result().Cookies(); len(c) != 1 || c[0].MaxAge >= 0 {
		t.Error("the sentence stays for a second page")
	}
}

// The first page, with everything it needs, is under 250 kB on the wire.
func TestFirstPageIsSmall(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	total := 0
	fetch := func(path string) string {
		r := httptest.NewRequest("GET", path, nil)
		r.Host, r.RemoteAddr = "localhost", "127.0.0.1:1"
		plain := httptest.NewRecorder()
		s.ServeHTTP(plain, r)
		r.Header.Set("Accept-Encoding", "gzip")
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		if w.Code != 200 {
			t.Fatalf("%s: status %d", path, w.Code)
		}
		total += w.Body.Len()
		return plain.Body.String()
	}
	body := fetch(at("studies", id, "results"))
	for _, name := range []string{"app.css", "htmx.min.js", "app.js", "icon.svg", "sans-regular.woff2"} {
		if x := s.assets.byName[name]; !strings.Contains(body, x.path) {
			t.Errorf("the page does not name %s", name)
		}
	}
	for _, x := range s.assets.byPath {
		if strings.Contains(body, x.path) || x.name == "sans-semibold.woff2" {
			fetch(x.path)
		}
	}
	t.Logf("results page of the worked example with style, scripts and fonts: %.0f kB", float64(total)/1000)
	if total > 250_000 {
		t.Errorf("%d bytes, want at most 250000", total)
	}
}

func TestAssetsAreKeptForEver(t *testing.T) {
	s := newServer(t, newNotebook(t))
	x := s.assets.byName["app.css"]
	w := ask(t, s, "GET", x.path, nil)
	contains(t, w, 200, "--paper", "@font-face", ".bar-top")
	if !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
		t.Error("an asset is not kept")
	}
	contains(t, ask(t, s, "GET", strings.Replace(x.path, "app.", "app.0", 1), nil), 404)
}

// The vendored files, the list of them and the script that fetches them name
// the same versions.
func TestVendorVersions(t *testing.T) {
	list, err := os.ReadFile("static/vendor/README.md")
	if err != nil {
		t.Fatal(err)
	}
	script, err := os.ReadFile("../../scripts/refresh-assets.sh")
	if err != nil {
		t.Fatal(err)
	}
	source, err := os.ReadFile("static/vendor/htmx.min.js")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(source), `version:"`)
	version, _, _ := strings.Cut(rest, `"`)
	if version == "" || !strings.Contains(string(list), "| "+version+" |") || !strings.Contains(string(script), "htmx.org@"+version) {
		t.Errorf("htmx says it is %q; the list and the script must say so too", version)
	}
}

func emptyPlan(question string) *study.Study {
	return &study.Study{Question: question, Level: study.DefaultLevel}
}
