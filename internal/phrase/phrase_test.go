package phrase

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
)

func german(t *testing.T) *Language {
	t.Helper()
	l, err := Find("de")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestSay(t *testing.T) {
	l := german(t)
	on := time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		of      Phrase
		en, de_ string
	}{
		{New("Measured in %s.", []string{"March", "May", "June"}), "Measured in March, May and June.", "Gemessen in March, May und June."},
		{New("Set on %s.", on), "Set on 4\u00a0March\u00a02026.", "Gesetzt am 4.\u00a0März\u00a02026."},
		{New("equal within %s", Number("0.15 W")), "equal within 0.15 W", "gleich innerhalb 0,15 W"},
		{New("below %s", Number("v1.x 2.50")), "below v1.x 2.50", "unter v1.x 2,50"},
		{New("%s, %.0f %% of the variance", Word("zero drift"), 12.5), "zero drift, 12 % of the variance", "Nulldrift, 12 % der Varianz"},
		{New("about %.0f times as many repeats", 3.0).Capital(), "About 3 times as many repeats", "Etwa 3-mal so viele Wiederholungen"},
		{New("The totals are not a plain sum of effects (p = %.2g): the effect is not the same in all states.", 0.0123),
			"The totals are not a plain sum of effects (p = 0.012): the effect is not the same in all states.",
			"Die Gesamtwerte sind keine einfache Summe von Wirkungen (p = 0,012): die Wirkung ist nicht in allen Zuständen gleich."},
		{Count(1, "one reading", "%s readings"), "one reading", "eine Ablesung"},
		{Count(0, "one reading", "%s readings"), "no readings", "null Ablesungen"},
		{Count(12, "one reading", "%s readings"), "twelve readings", "zwölf Ablesungen"},
		{Count(13, "one reading", "%s readings"), "13 readings", "13 Ablesungen"},
		{Name("board 1.8"), "board 1.8", "board 1.8"},
		{Word("a word of the author"), "a word of the author", "a word of the author"},
		{Phrase{}, "", ""},
	} {
		if got := c.of.String(); got != c.en {
			t.Errorf("%q, want %q", got, c.en)
		}
		if got := l.Say(c.of); got != c.de_ {
			t.Errorf("%q, want %q", got, c.de_)
		}
	}
}

func TestDays(t *testing.T) {
	day := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }
	for _, c := range []struct {
		first, last time.Time
		en, de_     string
	}{
		{day(2026, 3, 14), day(2026, 3, 15), "14 to 15_March_2026", "14. bis 15._März_2026"},
		{day(2026, 3, 14), day(2026, 5, 1), "14_March to 1_May_2026", "14._März bis 1._Mai_2026"},
		{day(2025, 12, 31), day(2026, 1, 1), "31_December_2025 to 1_January_2026", "31._Dezember_2025 bis 1._Januar_2026"},
	} {
		for l, want := range map[*Language]string{English(): c.en, german(t): c.de_} {
			if got := strings.ReplaceAll(l.Days(c.first, c.last), NoBreak, "_"); got != want {
				t.Errorf("%q, want %q", got, want)
			}
		}
	}
}

// Documents for programs stay English, whoever reads them.
func TestDocumentsAreEnglish(t *testing.T) {
	b, err := json.Marshal(struct{ Text Phrase }{New("below %s", Number("0.5 W"))})
	if err != nil || string(b) != `{"Text":"below 0.5 W"}` {
		t.Errorf("%s, %v", b, err)
	}
	var back struct{ Text Phrase }
	if err := json.Unmarshal(b, &back); err != nil || back.Text.String() != "below 0.5 W" {
		t.Errorf("%v, %v", back, err)
	}
}

func TestFind(t *testing.T) {
	for tag, want := range map[string]string{"": "en-GB", "en": "en-GB", "en-US": "en-GB", "de": "de", "de_AT": "de", "DE-CH": "de"} {
		l, err := Find(tag)
		if err != nil || l.Tag() != want {
			t.Errorf("%q: %v, want %s", tag, err, want)
		}
	}
	for _, tag := range []string{"xx", "../de", "d"} {
		if _, err := Find(tag); err == nil || !strings.Contains(err.Error(), "en or de") {
			t.Errorf("%q: %v", tag, err)
		}
	}
}

func TestReadPO(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"msgid \"a\"\nmsgstr \"b", "line 2"},
		{"msgid \"a\"\nmsgstr \"b\"\n\nmsgid \"a\"\nmsgstr \"c\"", "line 4"},
		{"msgstr \"b\"", "msgid is accepted first"},
		{"msgctxt \"b\"", "line 1"},
		{"\"b\"", "line 1"},
		{"msgid", "line 1"},
		{"msgid \"a\"\nmsgstr \"b\"\nmsgstr \"b\"", "twice"},
		{"msgid \"a\"\nmsgstr[2] \"b\"", "msgstr[0]"},
		{"msgid 'a'", "double quotes"},
	} {
		if _, err := ReadPO(c.text); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.text, err, c.want)
		}
	}
	c, err := ReadPO("# a comment\nmsgid \"\"\nmsgstr \"\"\n\"Language: de\\n\"\n\nmsgid \"one\"\nmsgid_plural \"\"\n\"%s of \"\n\"them\"\nmsgstr[0] \"eins\"\nmsgstr[1] \"%s davon\"\n")
	if err != nil || c.Head["Language"] != "de" || len(c.Entries) != 1 || c.Entries[0] != (Entry{"one", "%s of them", "eins", "%s davon", 6}) {
		t.Errorf("%+v, %v", c, err)
	}
	if _, err := c.Language(); err == nil {
		t.Error("a head without the decimal sign is taken")
	}
}

func FuzzReadPO(f *testing.F) {
	f.Add("msgid \"a\"\nmsgstr \"b\"\n")
	f.Add("msgid \"\"\nmsgstr \"\"\n\"Language: de\\n\"")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := ReadPO(text)
		if err != nil {
			return
		}
		for _, e := range c.Entries {
			if e.Message == "" || e.Line < 1 {
				t.Errorf("%+v", e)
			}
		}
	})
}
