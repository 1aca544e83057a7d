package notebook

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestDocument: the reference page names every table, column and kind, and its
// example can be run.
func TestDocument(t *testing.T) {
	t.Parallel()
	nb := opened(t)
	page := string(must[[]byte](t)(os.ReadFile(filepath.Join("..", "..", "docs", "notebook.md"))))
	for _, table := range must[[]string](t)(column(nb, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> 'goose_db_version'")) {
		if !strings.Contains(page, "**"+table+"**") {
			t.Errorf("the table %s is not on the page", table)
		}
		for _, c := range must[[]string](t)(column(nb, "SELECT name FROM pragma_table_info('"+table+"')")) {
			if !strings.Contains(page, "`"+c+"`") {
				t.Errorf("the column %s.%s is not on the page", table, c)
			}
		}
	}
	for _, k := range Kinds {
		if !strings.Contains(page, "| `"+string(k)+"` |") {
			t.Errorf("the kind %s is not on the page", k)
		}
	}
	ctx := context.Background()
	p := must[*Plan](t)(nb.Import(ctx, otter(t), Origin{}))
	example := regexp.MustCompile(`(?s)    SELECT.*?;\n`).FindString(page)
	ids := must[[]string](t)(column(nb, "SELECT id FROM ("+strings.TrimSuffix(example, ";\n")+")"))
	want := 0
	for _, e := range must[*Record](t)(nb.Record(ctx, p.StudyID)).Entries {
		if e.Kind == Current && e.Rail == "core" {
			want++
		}
	}
	if len(ids) != want || want == 0 {
		t.Errorf("the example finds %d rows, want %d", len(ids), want)
	}
}
