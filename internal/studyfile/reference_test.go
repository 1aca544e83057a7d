package studyfile

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

const reference = "../../docs/study-file.md"

// row is one key in the reference.
type row struct {
	section, key string
	cells        []string
}

// rows returns the tables of the reference whose first column is the keys.
func rows(t *testing.T) []row {
	t.Helper()
	src, err := os.ReadFile(reference)
	if err != nil {
		t.Fatal(err)
	}
	var out []row
	section, inKeys := "", false
	for line := range strings.SplitSeq(string(src), "\n") {
		switch {
		case strings.HasPrefix(line, "### "):
			section, inKeys = strings.TrimPrefix(line, "### "), false
		case strings.HasPrefix(line, "| key |"):
			inKeys = true
		case !strings.HasPrefix(line, "|"):
			inKeys = false
		case inKeys && !strings.HasPrefix(line, "|---"):
			cells := strings.Split(strings.Trim(line, "|"), "|")
			for i := range cells {
				cells[i] = strings.TrimSpace(cells[i])
			}
			out = append(out, row{section, strings.Trim(cells[0], "`"), cells})
		}
	}
	return out
}

// TestReferenceIsWhole: every key that the reader knows is in the reference, and
// the other way round, in the same order of sections.
func TestReferenceIsWhole(t *testing.T) {
	var known, told []string
	for _, s := range sections() {
		for _, k := range s.keys {
			known = append(known, s.name+": "+k)
		}
	}
	for _, r := range rows(t) {
		told = append(told, r.section+": "+r.key)
	}
	for _, k := range known {
		if !slices.Contains(told, k) {
			t.Errorf("the reference lacks %q", k)
		}
	}
	for _, k := range told {
		if !slices.Contains(known, k) {
			t.Errorf("the reference has %q, which the reader does not know", k)
		}
	}
	if len(told) != len(known) {
		t.Errorf("%d keys told, %d known", len(told), len(known))
	}
}

// TestReferenceRows: each key has its five cells, and an example that is that
// key with a value.
func TestReferenceRows(t *testing.T) {
	for _, r := range rows(t) {
		if len(r.cells) != 5 || r.cells[1] == "" {
			t.Errorf("%s: %s has %d cells: %q", r.section, r.key, len(r.cells), r.cells)
			continue
		}
		example := strings.Trim(r.cells[4], "`")
		root, c := parse([]byte(example))
		if c != nil {
			t.Errorf("%s: %s: %+v", r.section, r.key, c)
			continue
		}
		if root.kind != mapping || len(root.entries) != 1 || root.entries[0].key != r.key || root.entries[0].value.kind == empty {
			t.Errorf("%s: the example of %s is %q", r.section, r.key, example)
		}
	}
}

var yamlBlock = regexp.MustCompile("(?ms)^```yaml\n(study:.*?)^```$")

// TestShownStudies: whole studies in the documentation can be read, and so can
// the example files beside it.
func TestShownStudies(t *testing.T) {
	pages, err := filepath.Glob("../../docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	shown := 0
	for _, page := range pages {
		src, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range yamlBlock.FindAllSubmatch(src, -1) {
			shown++
			if _, _, err := Read(page, m[1]); err != nil {
				t.Errorf("%s: %v", page, err)
			}
		}
	}
	if shown == 0 {
		t.Error("no page shows a study")
	}
}

// TestExampleUsesEverything: the example in testdata has every key of the form
// in every section, so that no key goes untested.
func TestExampleUsesEverything(t *testing.T) {
	src, err := os.ReadFile("testdata/example.yaml")
	if err != nil {
		t.Fatal(err)
	}
	used := make(map[string]bool)
	if _, _, err := read("example.yaml", src, func(section, key string) { used[section+": "+key] = true }); err != nil {
		t.Fatal(err)
	}
	for _, s := range sections() {
		for _, k := range s.keys {
			if !used[s.name+": "+k] {
				t.Errorf("the example does not use %q in a %s", k, s.name)
			}
		}
	}
}
