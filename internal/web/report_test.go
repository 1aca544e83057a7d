package web

import (
	"bytes"
	"image/png"
	"net/http"
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
	if len(links) != 1+3*(6+6) {
		t.Errorf("%d files are offered", len(links))
	}
	for _, l := range links {
		if strings.Contains(l[1], "-2-") && ext(l[1]) == ".png" {
			continue // drawn as the first board's, and slow to paint
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
			} else if strings.HasSuffix(l[1], "-frame.png") && (c.Width != 1920 || c.Height != 1080) {
				t.Errorf("%s is %d × %d", l[1], c.Width, c.Height)
			}
		}
	}
	if w := ask(t, s, "GET", at("studies", id, "report", "files", "nonesuch.svg"), nil); w.Code != http.StatusNotFound {
		t.Errorf("a file that is not offered: status %d", w.Code)
	}
}
