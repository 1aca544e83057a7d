package bundle_test

import (
	"bytes"
	"encoding/json"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"

	"railtally/internal/bundle"
	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/redact"
)

// A trace of the notebook is packed as Parquet, every sample as it was taken, and
// the bundle still gives the same bytes; one that still grows does not go in.
func TestTraces(t *testing.T) {
	ctx := t.Context()
	nb, err := notebook.Open(ctx, filepath.Join(t.TempDir(), "bench.db"), notebook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer nb.Close()
	p, err := nb.Import(ctx, heron(t), notebook.Origin{Device: "test"})
	if err != nil {
		t.Fatal(err)
	}
	const n = 10_000
	at, volts, amps := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		at[i], volts[i], amps[i] = float64(i)*1e-3, 1+1e-3*math.Sin(float64(i)), float64(i%7)/10
	}
	volts[77] = math.NaN() // not read
	for _, complete := range []bool{true, false} {
		w, err := nb.BeginTrace(ctx, notebook.TraceHead{Study: p.StudyID, Source: notebook.FromLog, File: "Ada Sample.csv", Size: 1, Start: "ab",
			Zero: time.Date(2026, 5, 9, 10, 0, 0, 0, time.UTC)}, "core in Exampletown", notebook.Origin{Device: "test"})
		if err != nil {
			t.Fatal(err)
		}
		clock, err := w.AddClock(ctx, []notebook.Channel{{Name: "V at Exampletown", Unit: quantity.Volt}, {Name: "I", Unit: quantity.Ampere}})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Append(ctx, clock, at, volts, amps); err != nil {
			t.Fatal(err)
		}
		if !complete {
			if err := w.Commit(ctx); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if err := w.Close(ctx, notebook.TraceEnd{SHA256: strings.Repeat("0", 64)}); err != nil {
			t.Fatal(err)
		}
	}
	c, err := bundle.FromNotebook(ctx, nb, p.StudyID)
	if err != nil {
		t.Fatal(err)
	}
	c.Program = program
	if len(c.Traces) != 1 {
		t.Fatalf("%d traces", len(c.Traces))
	}
	archive := packed(t, c)
	if !bytes.Equal(archive, packed(t, c)) {
		t.Error("the same study gives two archives")
	}
	if v := verify(t, archive, program); !v.Holds {
		t.Errorf("%+v", v.Problems)
	}
	b := open(t, archive)
	text, err := b.Read("traces/01-core-in-exampletown.parquet")
	if err != nil {
		t.Fatalf("%v: %q", err, b.Names())
	}
	type sample struct {
		T float64 `parquet:"t_s"`
		V float64 `parquet:"c1_v"`
		I float64 `parquet:"c2_a"`
	}
	rows, err := parquet.Read[sample](bytes.NewReader(text), int64(len(text)))
	if err != nil || len(rows) != n {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for i, r := range rows {
		if r.T != at[i] || r.I != amps[i] || r.V != volts[i] && !(math.IsNaN(r.V) && i == 77) {
			t.Fatalf("sample %d: %+v", i, r)
		}
	}
	list, err := b.Read("traces.json")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct{ Traces []bundle.Trace }
	if err := json.Unmarshal(list, &doc); err != nil || len(doc.Traces) != 1 {
		t.Fatal(err)
	}
	if x := doc.Traces[0]; x.Columns[0].Name != "V at Exampletown" || x.Columns[1].Unit != "A" || x.About["zero"] != "2026-05-09T10:00:00" || x.About["file"] != "Ada Sample.csv" {
		t.Errorf("%+v", x)
	}

	without, _, err := c.Without(redact.Options{Words: []string{"Exampletown", "Ada Sample"}})
	if err != nil {
		t.Fatal(err)
	}
	shut := packed(t, without)
	for _, w := range []string{"exampletown", "ada sample"} {
		if found(t, shut, w) {
			t.Errorf("%s is still in the bundle", w)
		}
	}
	// A bundle is packed again with its traces as they are.
	again, err := open(t, archive).Contents()
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(packed(t, again), archive) {
		t.Error("packed again it is another archive")
	}
}
