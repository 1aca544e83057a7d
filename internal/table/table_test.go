package table_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"
	"pgregory.net/rapid"

	"railtally/internal/example"
	"railtally/internal/studyfile"
	"railtally/internal/table"
	"railtally/internal/tally"
)

var update = flag.Bool("update", false, "write the golden files anew")

// worked is the worked example, tallied.
func worked(t *testing.T) *tally.Tally {
	t.Helper()
	s, _, err := studyfile.Read("otter.yaml", example.New(example.Seed).Text)
	if err != nil {
		t.Fatal(err)
	}
	x, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func of(t *testing.T, x *tally.Tally, name string) *table.Table {
	t.Helper()
	tb, err := table.Of(x, name)
	if err != nil {
		t.Fatal(err)
	}
	return tb
}

// Each table of a small study as people see it.
func TestMarkdown(t *testing.T) {
	s, _, err := studyfile.Open("testdata/heron.yaml")
	if err != nil {
		t.Fatal(err)
	}
	x, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range table.Names() {
		var got bytes.Buffer
		if err := of(t, x, name).Markdown(&got); err != nil {
			t.Fatal(err)
		}
		golden := filepath.Join("testdata", name+".md")
		if *update {
			if err := os.WriteFile(golden, got.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got.Bytes(), want) {
			t.Errorf("%s: the table is not that of %s; run with -update and read the difference", name, golden)
		}
	}
}

// Every form of a table says the same: what a program reads from CSV, JSON and
// Parquet are the same values, unrounded.
func TestFormsAgree(t *testing.T) {
	x := worked(t)
	for _, name := range table.Names() {
		t.Run(name, func(t *testing.T) {
			tb := of(t, x, name)
			fields := tb.Fields()
			seen := map[string]bool{}
			for _, f := range fields {
				if seen[f.Key] {
					t.Errorf("two fields are called %s", f.Key)
				}
				seen[f.Key] = true
			}
			if len(tb.Rows) == 0 {
				t.Fatal("the worked example has no rows here")
			}
			byCSV, byComma := readCSV(t, tb, table.CSVOptions{}), readCSV(t, tb, table.CSVOptions{DecimalComma: true})
			byJSON, byParquet := readJSON(t, tb, x), readParquet(t, tb)
			for r := range tb.Rows {
				for i, v := range tb.Values(r) {
					f := fields[i]
					for form, got := range map[string]string{"CSV": byCSV[r][i], "CSV with commas": byComma[r][i], "JSON": byJSON[r][f.Key], "Parquet": byParquet[r][f.Key]} {
						if want := plain(v); got != want {
							t.Errorf("row %d, %s: %s gives %q, want %q", r+1, f.Key, form, got, want)
						}
					}
				}
			}
		})
	}
}

// plain is a value as text that is the same for every form.
func plain(v any) string {
	switch x := v.(type) {
	case nil:
		return ""
	case float64:
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	return fmt.Sprint(v)
}

func readCSV(t *testing.T, tb *table.Table, o table.CSVOptions) [][]string {
	t.Helper()
	var b bytes.Buffer
	if err := tb.CSV(&b, o); err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(&b)
	if o.DecimalComma {
		r.Comma = ';'
	}
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	fields := tb.Fields()
	for i, f := range fields {
		if lines[0][i] != f.Key {
			t.Fatalf("the head says %q, want %q", lines[0][i], f.Key)
		}
	}
	for _, l := range lines[1:] {
		for i, f := range fields {
			switch f.Kind {
			case table.Yes:
				l[i] = map[string]string{"yes": "true", "no": "false", "": ""}[l[i]]
			case table.Number:
				if o.DecimalComma {
					if strings.Contains(l[i], ".") {
						t.Fatalf("%q has a decimal point", l[i])
					}
					l[i] = strings.Replace(l[i], ",", ".", 1)
				}
			case table.Text:
				l[i] = table.Plain(l[i])
			}
		}
	}
	return lines[1:]
}

func readJSON(t *testing.T, tb *table.Table, of *tally.Tally) []map[string]string {
	t.Helper()
	var b bytes.Buffer
	if err := tb.JSON(&b, of); err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Format string
		Rows   []map[string]any
	}
	dec := json.NewDecoder(&b)
	dec.UseNumber()
	if err := dec.Decode(&doc); err != nil {
		t.Fatal(err)
	}
	if doc.Format != table.Format {
		t.Errorf("format %q", doc.Format)
	}
	out := make([]map[string]string, len(doc.Rows))
	for i, row := range doc.Rows {
		out[i] = map[string]string{}
		for k, v := range row {
			if n, ok := v.(json.Number); ok {
				f, err := n.Float64()
				if err != nil {
					t.Fatal(err)
				}
				v = f
			}
			out[i][k] = plain(v)
		}
	}
	return out
}

func readParquet(t *testing.T, tb *table.Table) []map[string]string {
	t.Helper()
	var b, again bytes.Buffer
	for _, w := range []*bytes.Buffer{&b, &again} {
		if err := tb.Parquet(w, map[string]string{"study": "x", "made": "here"}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("the same table gives two Parquet files")
	}
	f, err := parquet.OpenFile(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	columns := f.Schema().Columns()
	r := parquet.NewReader(f)
	defer r.Close()
	rows := make([]parquet.Row, 16)
	for {
		n, err := r.ReadRows(rows)
		for _, row := range rows[:n] {
			m := map[string]string{}
			for _, v := range row {
				key := columns[v.Column()][0]
				switch {
				case v.IsNull():
				case v.Kind() == parquet.Double:
					m[key] = plain(v.Double())
				default:
					m[key] = v.String()
				}
			}
			out = append(out, m)
		}
		if err != nil || n == 0 {
			return out
		}
	}
}

// No text that a spreadsheet reads from a CSV file is a formula, and none is
// lost by that. Formulas begin with one of these (OWASP, CSV Injection).
func TestHarmless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringOf(rapid.SampledFrom([]rune("=+-@'\t\r\n ＝＋－＠a0ü\u00a0"))).Draw(t, "text")
		safe := table.Harmless(s)
		if bare := strings.TrimLeft(safe, " \u00a0"); bare != "" && strings.ContainsAny(bare[:1], "=+-@\t\r\n") {
			t.Fatalf("%q is written %q", s, safe)
		}
		if got := table.Plain(safe); got != s {
			t.Fatalf("%q is written %q and read back %q", s, safe, got)
		}
	})
	for in, want := range map[string]string{"=1+1": "'=1+1", "-0.8 mV": "'-0.8 mV", "@x": "'@x", "'=x": "''=x", "core": "core", "'tis": "'tis", "": "", " =2": "' =2"} {
		if got := table.Harmless(in); got != want {
			t.Errorf("%q is written %q, want %q", in, got, want)
		}
	}
}

// Nothing in a text becomes a mark of Markdown, or another cell.
func TestMarkdownText(t *testing.T) {
	tb := &table.Table{Name: "x", Columns: []table.Column{{Key: "a", Title: "a|b"}}, Rows: [][]table.Cell{{{Text: "x | *y*\n<b>z</b> \\"}}}}
	var b bytes.Buffer
	if err := tb.Markdown(&b); err != nil {
		t.Fatal(err)
	}
	want := "| a\\|b                               |\n| ---------------------------------- |\n| x \\| \\*y\\* \\<b\\>z\\</b\\> \\\\          |\n"
	if squeeze(b.String()) != squeeze(want) {
		t.Errorf("got\n%s", b.String())
	}
	tb.Rows = nil
	b.Reset()
	tb.Title = "Nothing here"
	if err := tb.Markdown(&b); err != nil || !strings.HasPrefix(b.String(), "Nothing to show") {
		t.Errorf("%q %v", b.String(), err)
	}
}

func squeeze(s string) string {
	return strings.NewReplacer(" ", "", "-", "").Replace(s)
}

func TestKeep(t *testing.T) {
	x := worked(t)
	tb := of(t, x, "rails")
	if err := tb.Keep("board", "Otter"); err != nil {
		t.Fatal(err)
	}
	if err := tb.Keep("state", "bare"); err != nil {
		t.Fatal(err)
	}
	if n := len(x.Study.Board("Otter").Rails); len(tb.Rows) != n {
		t.Errorf("%d rows, want the board's %d rails", len(tb.Rows), n)
	}
	if err := tb.Keep("state", "nonesuch"); err == nil || !strings.Contains(err.Error(), "it has bare") {
		t.Errorf("%v", err)
	}
	if err := of(t, x, "claims").Keep("board", "Otter"); err == nil || !strings.Contains(err.Error(), "no column board") {
		t.Errorf("%v", err)
	}
	if _, err := table.Of(x, "chairs"); err == nil || !strings.Contains(err.Error(), "totals") {
		t.Errorf("%v", err)
	}
}

// Every reading has a place of its own, and is the record's own quantity.
func TestReadingsHaveTheirPlaces(t *testing.T) {
	x := worked(t)
	seen := map[string]bool{}
	for _, r := range table.Readings(x.Study) {
		if seen[r.Place()] {
			t.Errorf("two readings are at %q", r.Place())
		}
		seen[r.Place()] = true
		if len(r.Entry.Values) == 0 {
			t.Errorf("%s is empty", r.Place())
		}
	}
	names := map[string]bool{}
	for _, f := range table.Figures(x) {
		if names[f.Name] {
			t.Errorf("two figures are called %q", f.Name)
		}
		names[f.Name] = true
	}
}
