package redact_test

import (
	"bytes"
	"strings"
	"testing"

	"railtally/internal/redact"
	"railtally/internal/study"
	"railtally/internal/studyfile"
)

func marked(t *testing.T) *study.Study {
	t.Helper()
	s, _, err := studyfile.Open("testdata/marked.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func text(t *testing.T, s *study.Study) string {
	t.Helper()
	var b bytes.Buffer
	if err := studyfile.Write(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestNothingIsLeft(t *testing.T) {
	s := marked(t)
	before := text(t, s)
	r, err := redact.Study(s, redact.Options{Kinds: []redact.Kind{redact.Names, redact.Serials, redact.Place}, Words: []string{"Exampletown"}})
	if err != nil {
		t.Fatal(err)
	}
	got := text(t, r.Study)
	for _, w := range []string{"exampletown", "ada ", "ada\n", "sample", "sons", "bo other", "other", "qx-77031", "5521"} {
		if strings.Contains(strings.ToLower(got), w) {
			t.Errorf("%q is still in\n%s", w, got)
		}
	}
	// What is no name stays, also where a name is part of a word; and aliases keep
	// two people apart.
	for _, w := range []string{"an adapter was borrowed", "invented hall clamp, serial withheld 1", "identity withheld 1", "tester 1", "tester 2", "laboratory 1", "clamp of tester 1", "Heron withheld"} {
		if !strings.Contains(got, w) {
			t.Errorf("%q is not in\n%s", w, got)
		}
	}
	if text(t, s) != before {
		t.Error("the study itself was changed")
	}
	told := strings.Join(r.Told, "\n")
	for _, w := range []string{"“Exampletown” stood in study › note", "study › boards › ", "“QX-77031” stood in study › boards › "} {
		if !strings.Contains(told, w) {
			t.Errorf("%q is not told in\n%s", w, told)
		}
	}
	if found := r.Find([]byte("a page of Ada Sample, at exampletown's hall")); len(found) < 2 {
		t.Errorf("found only %q", found)
	}
	if found := r.Find([]byte(got)); len(found) > 0 {
		t.Errorf("found %q in what was cleaned", found)
	}
	if got := r.Text("logs/Exampletown/2026.csv"); got != "logs/withheld/2026.csv" {
		t.Errorf("%q", got)
	}
}

func TestNotes(t *testing.T) {
	r, err := redact.Study(marked(t), redact.Options{Kinds: []redact.Kind{redact.Notes}})
	if err != nil {
		t.Fatal(err)
	}
	if got := text(t, r.Study); strings.Contains(got, "note:") || !strings.Contains(got, "by: Ada Sample") {
		t.Errorf("%s", got)
	}
	if r.Note("anything") != "" || r.Text("anything") != "anything" {
		t.Error("a note of a photograph stays, or a name goes")
	}
}

// With a secret of the author's the aliases of two studies are the same where
// the names are; without it, or with another, they say nothing.
func TestAliasKey(t *testing.T) {
	ident := func(key string) string {
		r, err := redact.Study(marked(t), redact.Options{Kinds: []redact.Kind{redact.Serials}, Key: []byte(key)})
		if err != nil {
			t.Fatal(err)
		}
		return r.Study.Instruments[0].Ident
	}
	if a, b := ident("a secret of sixteen"), ident("a secret of sixteen"); a != b || !strings.HasPrefix(a, "invented hall clamp, serial withheld ") || strings.HasSuffix(a, " 1") {
		t.Errorf("%q, %q", a, b)
	}
	if ident("a secret of sixteen") == ident("another one of sixteen") {
		t.Error("two secrets give one alias")
	}
}

func TestRefusals(t *testing.T) {
	for name, c := range map[string]struct {
		o    redact.Options
		want string
	}{
		"place without words":    {redact.Options{Kinds: []redact.Kind{redact.Place}}, "name the words"},
		"a word of one letter":   {redact.Options{Words: []string{"a"}}, "too short"},
		"two names become one":   {redact.Options{Words: []string{"idle", "busy"}}, "two names become one"},
		"a word that stands for": {redact.Options{Words: []string{"core", "io12"}}, ""},
	} {
		_, err := redact.Study(marked(t), c.o)
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

// A number counts only by itself: the serial number 1003 is not in 0.1003, and
// one of three figures is not looked for outside its field.
func TestNumbers(t *testing.T) {
	s := marked(t)
	s.Instruments[0].Ident, s.Instruments[1].Ident = "made-up, s/n 1003", "made-up, no. 151"
	r, err := redact.Study(s, redact.Options{Kinds: []redact.Kind{redact.Serials}})
	if err != nil {
		t.Fatal(err)
	}
	if a, b := r.Study.Instruments[0].Ident, r.Study.Instruments[1].Ident; a != "made-up, s/n withheld 1" || b != "made-up, no. withheld 2" {
		t.Errorf("%q, %q", a, b)
	}
	for in, want := range map[string]int{"0.1003": 0, "1003.5 mV": 0, "21003": 0, "(1003)": 1, "no 1003.": 1, "151": 0} {
		if found := r.Find([]byte(in)); len(found) != want {
			t.Errorf("%q: found %q", in, found)
		}
	}
}
