package web

import (
	"bytes"
	"image/png"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"railtally/internal/cooling"
	"railtally/internal/report"
	"railtally/internal/tally"
)

// The page that is shown and saved is the report's, byte for byte, and nothing
// of it is worked out anew.
func TestReportIsTheReports(t *testing.T) {
	nb := newNotebook(t)
	id := importExample(t, nb)
	now := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	s, err := New(Config{Notebook: nb, Now: func() time.Time { return now }, Program: "railtally test"})
	if err != nil {
		t.Fatal(err)
	}
	x, err := nb.Study(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	tl, err := tally.Run(x, tally.Options{Temperature: cooling.Claimed})
	if err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	if err := report.Page(&want, tl, report.Options{Program: "railtally test", On: now}); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{at("studies", id, "report", "page"), at("studies", id, "report", "files", "page.html")} {
		// Pages that were opened before must not change what is published.
		ask(t, s, "GET", at("studies", id, "results"), nil)
		w := ask(t, s, "GET", path, nil)
		if w.Code != 200 || !bytes.Equal(w.Body.Bytes(), want.Bytes()) {
			t.Errorf("%s: status %d, %d bytes, want the report's %d", path, w.Code, w.Body.Len(), want.Len())
		}
	}
	csp := ask(t, s, "GET", at("studies", id, "report", "page"), nil).Header().Get("Content-Security-Policy")
	if !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "script-src") || !strings.Contains(csp, "frame-ancestors 'self'") {
		t.Errorf("the policy of the page is %s", csp)
	}
}

// Every file that the page offers is there and is what it says.
func TestReportFiles(t *testing.T) {
	nb := newNotebook(t)
	id := importExample(t, nb)
	s := newServer(t, nb)
	body := ask(t, s, "GET", at("studies", id, "report"), nil).Body.String()
	links := regexp.MustCompile(`href="(/studies/\d+/report/files/[^"]+)"`).FindAllStringSubmatch(body, -1)
	if len(links) < 1+4*12 {
		t.Errorf("%d files are offered", len(links))
	}
	for _, l := range links {
		if !strings.Contains(l[1], "totals") && !strings.Contains(l[1], "card") && ext(l[1]) == ".png" {
			continue // slow to paint; each is drawn as SVG
		}
		w := ask(t, s, "GET", l[1], nil)
		if w.Code != 200 || !strings.HasPrefix(w.Header().Get("Content-Disposition"), "attachment; filename=does-it") && !strings.HasPrefix(w.Header().Get("Content-Disposition"), "attachment; filename=does-the-newer") {
			t.Errorf("%s: status %d, %s", l[1], w.Code, w.Header().Get("Content-Disposition"))
			continue
		}
		switch ext(l[1]) {
		case ".svg":
			if !strings.HasPrefix(w.Body.String(), "<svg") || w.Header().Get("Content-Type") != "image/svg+xml" {
				t.Errorf("%s is no SVG", l[1])
			}
		case ".png":
			c, err := png.DecodeConfig(w.Body)
			if err != nil {
				t.Errorf("%s: %v", l[1], err)
			} else if strings.HasSuffix(l[1], "-1080p.png") && (c.Width != 1920 || c.Height != 1080) || strings.HasSuffix(l[1], "-4k.png") && (c.Width != 3840 || c.Height != 2160) {
				t.Errorf("%s is %d × %d", l[1], c.Width, c.Height)
			}
		}
	}
	if w := ask(t, s, "GET", at("studies", id, "report", "files", "nonesuch.svg"), nil); w.Code != http.StatusNotFound {
		t.Errorf("a file that is not offered: status %d", w.Code)
	}
}

// The page is shown as it is asked for: language, length, sections.
func TestReportAsAsked(t *testing.T) {
	nb := newNotebook(t)
	id := importExample(t, nb)
	s := newServer(t, nb)
	page := at("studies", id, "report", "page")
	for query, want := range map[string][2]string{
		"":                              {`<html lang="en-GB">`, "id=\"nonesuch\""},
		"?language=de":                  {`<html lang="de">`, "Totals"},
		"?length=short":                 {`id="totals"`, `id="opened"`},
		"?length=chosen&section=method": {`id="method"`, `id="totals"`},
	} {
		w := ask(t, s, "GET", page+query, nil)
		if body := w.Body.String(); w.Code != 200 || !strings.Contains(body, want[0]) || strings.Contains(body, want[1]) {
			t.Errorf("%s: status %d", query, w.Code)
		}
	}
	for _, query := range []string{"?language=xx", "?length=middling", "?length=chosen&section=summary"} {
		if w := ask(t, s, "GET", page+query, nil); w.Code != http.StatusBadRequest {
			t.Errorf("%s: status %d", query, w.Code)
		}
	}
	body := ask(t, s, "GET", at("studies", id, "report")+"?language=de&length=short&dark=yes", nil).Body.String()
	for _, want := range []string{"report/page?dark=yes&amp;language=de&amp;length=short", `<option value="de" selected="selected">`, "totals-4k.png?dark=yes&amp;language=de"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	w := ask(t, s, "GET", at("studies", id, "report", "files", "card.svg")+"?dark=yes&language=de", nil)
	if w.Code != 200 || !strings.Contains(w.Body.String(), "nachgewiesen") {
		t.Errorf("the card: status %d", w.Code)
	}
}

// The author's sentences are kept in the plan once their references lead
// somewhere, and stand on the page.
func TestReportWords(t *testing.T) {
	nb := newNotebook(t)
	id := importExample(t, nb)
	s := newServer(t, nb)
	form := ask(t, s, "GET", at("studies", id, "report"), nil).Body.String()
	based := regexp.MustCompile(`name="based" value="(\d+)"`).FindStringSubmatch(form)
	if based == nil {
		t.Fatal("the form names no revision")
	}
	send := func(words string) *httptest.ResponseRecorder {
		return ask(t, s, "POST", at("studies", id, "report", "words"), url.Values{"based": {based[1]}, "words": {words}})
	}
	if w := send("It draws {total Otter asleep}."); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "no state with a total is called") || !strings.Contains(w.Body.String(), "It draws {total Otter asleep}.") {
		t.Errorf("a reference that leads nowhere: status %d", w.Code)
	}
	if w := send("Copying it draws {total Otter four-busy}.\r\n\r\nNo more."); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %.400s", w.Code, w.Body.String())
	}
	page := ask(t, s, "GET", at("studies", id, "report", "page"), nil).Body.String()
	if !strings.Contains(page, `<p class="first">Copying it draws <a href="#Otter-four-busy">`) || !strings.Contains(page, "<p>No more.</p>") {
		t.Error("the page does not say it in the author's words")
	}
	// Somebody who had the page open before is told, and loses nothing.
	if w := send("Other words."); w.Code != http.StatusUnprocessableEntity && w.Code != http.StatusConflict || !strings.Contains(w.Body.String(), "Other words.") || !strings.Contains(w.Body.String(), "changed meanwhile") {
		t.Errorf("a second author: status %d", w.Code)
	}
}
