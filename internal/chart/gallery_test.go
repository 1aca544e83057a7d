package chart

import (
	"bytes"
	"image/png"
	"regexp"
	"strings"
	"testing"
	"time"

	"railtally/internal/cooling"
	"railtally/internal/phrase"
)

// Every chart that is offered has a name of its own fit for a file, draws in
// German with room for its labels, and says study and date.
func TestGallery(t *testing.T) {
	de, err := phrase.Find("de")
	if err != nil {
		t.Fatal(err)
	}
	x := varied(t)
	for _, s := range x.Study.Sittings {
		s.On = time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)
	}
	c, err := cooling.Run(x, cooling.Options{})
	if err != nil {
		t.Fatal(err)
	}
	list, err := Gallery(x, c, de)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, g := range list {
		if seen[g.Name] || !regexp.MustCompile(`^[\pL\d-]+$`).MatchString(g.Name) || g.Title == "" {
			t.Errorf("%q, %q", g.Name, g.Title)
		}
		seen[g.Name] = true
		for _, o := range []Options{{Width: 360}, {Width: 3840, Height: 2160, Dark: true}} {
			d, err := g.Draw(o)
			if err != nil {
				t.Fatalf("%s: %v", g.Name, err)
			}
			checkLabels(t, d)
			said := ""
			for _, l := range d.labels() {
				said += l.text + " " + l.tail + " "
			}
			for _, want := range []string{"Gemessen am", "95\u00a0%"} {
				if flat := strings.Join(strings.FieldsFunc(said, func(r rune) bool { return r == ' ' }), " "); !strings.Contains(flat, want) {
					t.Errorf("%s does not say %q: %.300s", g.Name, want, said)
				}
			}
			if m := regexp.MustCompile(`\d\.\d`).FindString(strings.ReplaceAll(said, x.Study.Question, "")); m != "" {
				t.Errorf("%s: an English number %q in %s", g.Name, m, said)
			}
		}
	}
	for _, want := range []string{"totals", "differences", "effects", "card", "lanes-otter", "rails-otter", "matrix-otter"} {
		if !seen[want] {
			t.Errorf("no %s among %v", want, seen)
		}
	}
}

// A card is as large as it is asked for, to the pixel.
func TestCardSizes(t *testing.T) {
	for _, c := range []struct {
		o    Options
		w, h int
	}{{Options{Width: 1920, Height: 1080}, 1920, 1080}, {Options{Width: 1280}, 1280, 720}} {
		d, err := Card(evening(t), c.o)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := d.WritePNG(&b, 1); err != nil {
			t.Fatal(err)
		}
		if got, err := png.DecodeConfig(&b); err != nil || got.Width != c.w || got.Height != c.h {
			t.Errorf("%+v, %v, want %d by %d", got, err, c.w, c.h)
		}
	}
}
