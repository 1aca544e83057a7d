package report

import (
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"railtally/internal/phrase"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// units are what stands beside numbers in every language.
var unitWords = []string{"mW", "µW", "nW", "kW", "mA", "µA", "mV", "µV", "mm", "ppm", "MB", "GB", "kB", "Gbit", "AWG", "min", "Hz", "kHz", "mΩ"}

// authors lists the words that a study's author wrote: every plain string of
// the record. Kinds and feeds are words of the program, and have types.
func authors(x any) map[string]bool {
	out := map[string]bool{}
	seen := map[any]bool{}
	var walk func(v reflect.Value)
	walk = func(v reflect.Value) {
		switch v.Kind() {
		case reflect.Pointer:
			if v.IsNil() || seen[v.Interface()] {
				return
			}
			seen[v.Interface()] = true
			walk(v.Elem())
		case reflect.Struct:
			for i := range v.NumField() {
				if v.Type().Field(i).IsExported() {
					walk(v.Field(i))
				}
			}
		case reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i))
			}
		case reflect.String:
			if v.Type() == reflect.TypeFor[string]() {
				for _, w := range asciiWords.FindAllString(v.String(), -1) {
					out[w] = true
				}
			}
		}
	}
	walk(reflect.ValueOf(x))
	return out
}

var (
	asciiWords = regexp.MustCompile(`[A-Za-z]{2,}`)
	kept       = regexp.MustCompile(`%(?:\[\d+\])?[-+# 0]*[\d.]*[a-zA-Z%]|\*\pL\*|~\pL~|\]\(#[a-z-]+\)|[A-Za-z]+`)
)

// strange is a language in which no word of the catalogue is left: its letters
// are Cyrillic, its arguments and marks are kept.
func strange() *phrase.Language {
	return phrase.Made("x-strange", func(message string) string {
		return kept.ReplaceAllStringFunc(message, func(m string) string {
			if m[0] >= 'A' && m[0] <= 'z' && m[0] != '\\' && m[0] != ']' {
				return strings.Repeat("ж", len(m))
			}
			return m
		})
	})
}

// Nothing on the page is said beside the catalogue: in a language that leaves
// no word of it, only names and units are left.
func TestEveryTextIsInTheCatalogue(t *testing.T) {
	for _, x := range []*tally.Tally{run(t, readStudy(t, "otter.yaml")), run(t, readStudy(t, "every.yaml")), run(t, &study.Study{Level: study.DefaultLevel})} {
		theirs := authors(x.Study)
		opt := made
		opt.Language = strange()
		root := parsePage(t, render(t, x, opt))
		if got := root.named("html")[0].attr["lang"]; got != "x-strange" {
			t.Errorf("the page is in %q", got)
		}
		check := func(where, text string) {
			for _, w := range asciiWords.FindAllString(text, -1) {
				if !theirs[w] && !slices.Contains(unitWords, w) && w != "railtally" {
					t.Errorf("%s says %q in %q", where, w, clip(text, w))
				}
			}
		}
		for _, e := range root.named("body")[0].find(func(*element) bool { return true }) {
			for _, s := range *e.all {
				if s, ok := s.(string); ok && e.name != "style" {
					check("<"+e.name+">", s)
				}
			}
			for _, name := range []string{"aria-label", "alt", "title"} {
				check(e.name+" "+name, e.attr[name])
			}
		}
	}
}

// clip shows what stands around a word.
func clip(text, word string) string {
	i := strings.Index(text, word)
	return text[max(0, i-40):min(len(text), i+len(word)+40)]
}

// A German page sets German numbers and dates, and says what the tally found.
func TestGerman(t *testing.T) {
	de, err := phrase.Find("de")
	if err != nil {
		t.Fatal(err)
	}
	x := run(t, readStudy(t, "otter.yaml"))
	opt := made
	opt.Language = de
	page := render(t, x, opt)
	root := parsePage(t, page)
	checkAnchors(t, root)
	checkTables(t, root)
	if got := root.named("html")[0].attr["lang"]; got != "de" {
		t.Errorf("the page is in %q", got)
	}
	answer := root.id(t, "answer").text()
	for _, s := range x.Answer() {
		if want := (tongue{de}).tell(s); !strings.Contains(answer, want) {
			t.Errorf("the answer lacks %q", want)
		}
	}
	// What stands in braces is an example of the study file, whose figures have points.
	text := regexp.MustCompile(`\{[^{}]*\}`).ReplaceAllString(root.named("body")[0].text(), "")
	for _, want := range []string{"nachgewiesen", "16.\u00a0März\u00a02026", "95\u202f%"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, n := range regexp.MustCompile(`[0-9]+\.[0-9]+`).FindAllString(text, -1) {
		if !slices.ContainsFunc([]string{x.Study.Question, x.Study.Note}, func(s string) bool { return strings.Contains(s, n) }) {
			t.Errorf("an English number: %q in %q", n, clip(text, n))
		}
	}
}
