package notebook

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// BenchmarkAppend measures an entry from asking to acknowledged, on the disk of
// the temporary folder, and reports the median in milliseconds.
func BenchmarkAppend(b *testing.B) {
	ctx := context.Background()
	nb := opened(b)
	_, sitting, step := atBench(b, nb)
	var took []time.Duration
	for i := 0; b.Loop(); i++ {
		begin := time.Now()
		if _, err := nb.Append(ctx, Draft{Sitting: sitting, Content: Content{Kind: Temperature, Step: step, Name: fmt.Sprint("t", i), Text: "20.5 °C",
			Unit: quantity.Celsius}}); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(begin))
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2].Seconds()*1e3, "median-ms")
	b.ReportMetric(took[len(took)*99/100].Seconds()*1e3, "p99-ms")
}

// tenThousand puts a study of 10,000 readings into a notebook: 1000 steps of five
// rails, current and voltage.
func tenThousand(b *testing.B, nb *Notebook) int64 {
	b.Helper()
	s := otter(b)
	x := s.Sittings[0]
	x.Steps = nil
	for i := range 1000 {
		st := &study.Step{State: s.States[i%len(s.States)].Name, At: x.On.Add(time.Duration(i) * time.Minute)}
		for _, rail := range []string{"link", "pll a", "io a", "aux", "ddr"} {
			r := &study.RailReading{Rail: rail}
			r.Current = []*study.TapReading{{Reading: read(b, fmt.Sprintf("%d.%d mV", 100+i%300, i%10))}}
			v := read(b, fmt.Sprintf("1.%03d V", i%500))
			r.Voltage = &v
			st.Rails = append(st.Rails, r)
		}
		x.Steps = append(x.Steps, st)
	}
	s.Sittings = s.Sittings[:1]
	p, err := nb.Import(context.Background(), s, Origin{})
	if err != nil {
		b.Fatal(err)
	}
	return p.StudyID
}

func read(b *testing.B, text string) study.Reading {
	e, err := quantity.Parse(text, quantity.Volt, "")
	if err != nil {
		b.Fatal(err)
	}
	return study.Reading{Entry: e}
}

// BenchmarkStudy assembles a study of 10,000 readings that was read before, as
// every page after the first finds it, with one entry added in between.
func BenchmarkStudy(b *testing.B) {
	ctx := context.Background()
	nb := opened(b)
	id := tenThousand(b, nb)
	r, err := nb.Record(ctx, id)
	if err != nil {
		b.Fatal(err)
	}
	if _, err := nb.w.Exec("PRAGMA synchronous = OFF"); err != nil { // the disk is measured in BenchmarkAppend
		b.Fatal(err)
	}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if _, err := nb.Append(ctx, Draft{Sitting: r.Entries[0].Sitting, Content: Content{Kind: Temperature, Step: r.Entries[0].First,
			Name: fmt.Sprint("t", i), Text: "20.5 °C", Unit: quantity.Celsius}}); err != nil {
			b.Fatal(err)
		}
		if _, err := nb.Study(ctx, id); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkStudyCold reads the same for the first time after a start.
func BenchmarkStudyCold(b *testing.B) {
	ctx := context.Background()
	nb := opened(b)
	id := tenThousand(b, nb)
	b.ReportAllocs()
	for b.Loop() {
		nb.logs = logs{}
		if _, err := nb.Study(ctx, id); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkImport takes in a study of 10,000 readings.
func BenchmarkImport(b *testing.B) {
	nb := opened(b)
	for b.Loop() {
		tenThousand(b, nb)
	}
}

// BenchmarkStudies lists 30 studies, one of 10,000 readings.
func BenchmarkStudies(b *testing.B) {
	ctx := context.Background()
	nb := opened(b)
	tenThousand(b, nb)
	for range 29 {
		if _, err := nb.Import(ctx, otter(b), Origin{}); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		if _, err := nb.Studies(ctx); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkBackup copies a notebook of 10,000 readings, with its check.
func BenchmarkBackup(b *testing.B) {
	ctx := context.Background()
	nb := opened(b)
	tenThousand(b, nb)
	dir := b.TempDir()
	for i := 0; b.Loop(); i++ {
		if err := nb.Backup(ctx, filepath.Join(dir, fmt.Sprint(i))); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOpen opens and closes a notebook that is up to date.
func BenchmarkOpen(b *testing.B) {
	ctx := context.Background()
	path := filepath.Join(b.TempDir(), "n.db")
	for b.Loop() {
		nb, err := Open(ctx, path, testOptions())
		if err != nil {
			b.Fatal(err)
		}
		if err := nb.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
