package phrase

import (
	"cmp"
	"flag"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "add what is missing to the catalogues, and take out what is no longer said")

// Every language says every message, with the same arguments, and nothing that
// is no longer said.
func TestCatalogues(t *testing.T) {
	source := sayings(t)
	if len(source) < 300 {
		t.Fatalf("only %d messages were found in the source", len(source))
	}
	for _, tag := range Tags()[1:] {
		name := "catalogue/" + tag + ".po"
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		c, err := ReadPO(string(text))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if *update {
			writePO(t, name, string(text), c, source)
			continue
		}
		if _, err := c.Language(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		checkCatalogue(t, name, c, source)
	}
}

func checkCatalogue(t *testing.T, name string, c *Catalogue, source []said) {
	by := map[string]Entry{}
	for _, e := range c.Entries {
		by[e.Message] = e
	}
	for _, s := range source {
		e, ok := by[s.message]
		delete(by, s.message)
		if !ok || e.Said == "" || s.several != "" && e.SeveralSaid == "" {
			t.Errorf("%s: nothing is said for %q (%s)", name, s.message, s.where)
			continue
		}
		if e.Several != s.several {
			t.Errorf("%s:%d: the form for several is %q in the source", name, e.Line, s.several)
		}
		for _, pair := range [][2]string{{e.Message, e.Said}, {e.Several, e.SeveralSaid}} {
			if want, got := verbs(pair[0]), verbs(pair[1]); want != got {
				t.Errorf("%s:%d: %q takes %s, and %q %s", name, e.Line, pair[0], want, pair[1], got)
			}
		}
		if marks(e.Message) != marks(e.Said) {
			t.Errorf("%s:%d: %q has the marks %s, and %q %s", name, e.Line, e.Message, marks(e.Message), e.Said, marks(e.Said))
		}
	}
	for m, e := range by {
		t.Errorf("%s:%d: %q is said nowhere", name, e.Line, m)
	}
}

var verb = regexp.MustCompile(`%(?:\[(\d+)\])?([-+# 0]*[\d.]*)([a-zA-Z%])`)

// verbs lists which argument a message takes with which verb.
func verbs(message string) string {
	at := 0
	var out []string
	for _, m := range verb.FindAllStringSubmatch(message, -1) {
		if m[3] == "%" {
			continue
		}
		at++
		if m[1] != "" {
			at, _ = strconv.Atoi(m[1])
		}
		out = append(out, fmt.Sprintf("%d:%s%s", at, m[2], m[3]))
	}
	slices.Sort(out)
	return strings.Join(slices.Compact(out), " ")
}

// marks lists a message's letters of formulas and its links.
func marks(message string) string {
	m := regexp.MustCompile(`\*\pL\*|~\pL~|\]\(#[a-z-]+\)`).FindAllString(message, -1)
	slices.Sort(m)
	return strings.Join(slices.Compact(m), " ")
}

// writePO keeps the head and what is said for messages that still are, and
// sorts all by the message.
func writePO(t *testing.T, name, text string, c *Catalogue, source []said) {
	by := map[string]Entry{}
	for _, e := range c.Entries {
		by[e.Message] = e
	}
	head, _, _ := strings.Cut(text, "\n\n")
	b := strings.Builder{}
	b.WriteString(strings.TrimSpace(head) + "\n")
	slices.SortFunc(source, func(x, y said) int {
		return cmp.Or(cmp.Compare(strings.ToLower(x.message), strings.ToLower(y.message)), cmp.Compare(x.message, y.message))
	})
	for _, s := range source {
		e := by[s.message]
		b.WriteString("\n")
		fmt.Fprintf(&b, "msgid %s\n", quote(s.message))
		if s.several == "" {
			fmt.Fprintf(&b, "msgstr %s\n", quote(e.Said))
		} else {
			fmt.Fprintf(&b, "msgid_plural %s\nmsgstr[0] %s\nmsgstr[1] %s\n", quote(s.several), quote(e.Said), quote(e.SeveralSaid))
		}
	}
	if err := os.WriteFile(name, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

// quote is a string in double quotes, in letters that can be read.
func quote(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(s) + `"`
}
