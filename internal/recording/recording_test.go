package recording_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/example"
	"railtally/internal/notebook"
	"railtally/internal/recording"
	"railtally/internal/simbench"
	"railtally/internal/studyfile"
)

// Every reading that the meters handed over is in the trace, in the order of time,
// although one of them drops the connection meanwhile.
func TestRecording(t *testing.T) {
	b, err := simbench.New(simbench.Config{Loggers: 2, Clock: simbench.Paced(20)})
	if err != nil {
		t.Fatal(err)
	}
	places, stop, err := b.Serve(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	nb, err := notebook.Open(t.Context(), filepath.Join(t.TempDir(), "bench.db"), notebook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer nb.Close()
	x, _, err := studyfile.Read("plan", example.Plan())
	if err != nil {
		t.Fatal(err)
	}
	p, err := nb.Import(t.Context(), x, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	meters := []acquire.Meter{
		{Name: "steady", Address: places[2].Address, Query: "DATA:REM? 50", Setup: []string{"SAMP:TIM 0.01", "INIT:CONT ON"}, Spacing: 0.0005},
		{Name: "flaky", Address: places[3].Address},
	}
	st, err := acquire.NewStation(meters, acquire.Options{Backoff: 2 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	r, err := recording.Begin(t.Context(), nb, p.StudyID, st, meters, "a record", notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	ctx, end := context.WithCancel(t.Context())
	go func() {
		defer end()
		for range 2000 {
			v, err := st.Now("flaky")
			if err != nil || v.Lost > 0 && v.Linked && v.Count > 100 {
				return
			}
			if v.Count > 20 && v.Lost == 0 {
				if b.Ail("logger 2", simbench.Disconnect, 1) != nil {
					return
				}
			}
			time.Sleep(2 * time.Millisecond)
		}
	}()
	counts, err := r.Run(ctx)
	if err != nil {
		t.Fatal(err)
	}
	_, handed := b.Lost("logger 1")
	tr, err := nb.Trace(t.Context(), r.Trace())
	if err != nil {
		t.Fatal(err)
	}
	// The last lot may have been handed over and not been waited for.
	if tr.Outcome != notebook.Complete || tr.Samples[0] != counts[0] || counts[0] < handed-50 || counts[0] == 0 || counts[1] <= 100 || len(tr.Notes) != 3 {
		t.Errorf("%+v, %v readings, %d handed over", tr, counts, handed)
	}
	got, err := nb.TraceSamples(t.Context(), r.Trace(), []int{0, 1}, 0, 1e6, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range got.Series {
		for i := 1; i < s.Len(); i++ {
			if s.T[i] < s.T[i-1] {
				t.Fatalf("%s: time decreases at %d", s.Name, i)
			}
		}
	}
}
