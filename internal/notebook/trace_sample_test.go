package notebook

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"railtally/internal/trace"
	"railtally/internal/trace/logfile"
)

// TestKeepSampleLogs takes every sample log of internal/trace/logfile into a notebook and compares what can be read from there with
// expected.json beside them: synthetic logs, whose statistics their generator computed and a second script read again.
// Units, counts, first and last values, extremes and means are those of SI; times end where they are said to; the
// same log twice is noticed.
func TestKeepSampleLogs(t *testing.T) {
	t.Parallel()
	const folder = "../trace/logfile/testdata"
	var want struct {
		Tol   float64 `json:"tolerance_rel"`
		Files []struct {
			File string
			SHA  string `json:"sha256"`
			Rows int64  `json:"data_rows"`
			Time struct {
				Duration *float64 `json:"duration_s"`
				Median   *float64 `json:"median_step_s"`
				Backward int64    `json:"backward_steps"`
			}
			Columns []struct {
				Name              string
				SI                string `json:"si_unit"`
				N, Valid, Missing int64
				Over              int64   `json:"overload_pos"`
				Under             int64   `json:"overload_neg"`
				First             float64 `json:"first_valid"`
				Last              float64 `json:"last_valid"`
				Min, Max, Mean    float64
			}
		}
	}
	text, err := os.ReadFile(filepath.Join(folder, "expected.json"))
	if err == nil {
		err = json.Unmarshal(text, &want)
	}
	if err != nil || len(want.Files) != 10 {
		t.Fatalf("%d files, %v", len(want.Files), err)
	}
	ctx := context.Background()
	nb := opened(t)
	p := must[*Plan](t)(nb.NewStudy(ctx, otter(t), Origin{}))
	for _, w := range want.Files {
		data, err := os.ReadFile(filepath.Join(folder, w.File))
		if err != nil {
			t.Fatal(err)
		}
		detect := func() Log {
			d, _, err := logfile.Detect(bytes.NewReader(data), logfile.Hints{})
			if err != nil {
				t.Fatal(err)
			}
			// What a person must say: the clamp's scale of one, the unit of another.
			switch w.File[:2] {
			case "07":
				d.Profile.Columns[2].Gain, d.Profile.Columns[2].As = 10, "A"
			case "10":
				for i := range d.Profile.Columns {
					d.Profile.Columns[i].Unit = "V"
				}
			}
			return Log{File: bytes.NewReader(data), Name: w.File, Profile: d.Profile}
		}
		kept, err := nb.KeepLog(ctx, p.StudyID, detect(), Origin{})
		if err != nil {
			t.Errorf("%s: %v", w.File, err)
			continue
		}
		x := kept.Trace
		if x.SHA256 != w.SHA || x.Size != int64(len(data)) || x.Outcome != Complete || kept.Summary.Rows != w.Rows || len(x.Channels) != len(w.Columns) {
			t.Errorf("%s: %+v, %d rows; want %d rows of %d channels", w.File, x, kept.Summary.Rows, w.Rows, len(w.Columns))
			continue
		}
		near := func(what string, got, want float64) {
			if !(math.Abs(got-want) <= 1e-9*math.Abs(want)) {
				t.Errorf("%s, %s: %.12g, want %.12g", w.File, what, got, want)
			}
		}
		for k, c := range w.Columns {
			if si := strings.TrimSuffix(strings.TrimPrefix(c.SI, "(user: "), ")"); x.Channels[k].Unit.Symbol() != si || !strings.HasPrefix(x.Channels[k].Name, c.Name) {
				t.Errorf("%s: channel %+v, want %s in %q", w.File, x.Channels[k], c.Name, si)
			}
			got := must[TraceStats](t)(nb.TraceStats(ctx, x.ID, k, -math.MaxFloat64, math.MaxFloat64))
			if got.N != c.Valid || got.Missing != c.Missing || got.Over != c.Over || got.Under != c.Under || x.Samples[k] != c.N {
				t.Errorf("%s, %s: %+v, want %+v", w.File, c.Name, got.Moments, c)
			}
			near(c.Name+" least", got.Min, c.Min)
			near(c.Name+" greatest", got.Max, c.Max)
			near(c.Name+" mean", got.Mean(), c.Mean)
			s := must[*Samples](t)(nb.TraceSamples(ctx, x.ID, []int{k}, -math.MaxFloat64, math.MaxFloat64, 0)).Series[0]
			m := trace.MomentsOf(s.V)
			if w.Time.Backward == 0 { // else the row that goes back is put in its place
				near(c.Name+" first", m.First, c.First)
				near(c.Name+" last", m.Last, c.Last)
			}
			near(c.Name+" mean of samples", m.Mean(), c.Mean)
			if w.Time.Duration != nil && k == 0 && w.Time.Backward == 0 && kept.Summary.Channels[k].Samples() == w.Rows {
				near("duration", s.Span(), *w.Time.Duration)
			}
		}
		var same *SameLog
		if _, err := nb.KeepLog(ctx, p.StudyID, detect(), Origin{}); !errors.As(err, &same) || same.Trace.ID != x.ID {
			t.Errorf("%s was kept twice: %v", w.File, err)
		}
	}
	sound(t, nb)
}
