package rehearse_test

import (
	"math"
	"net/http/httptest"
	"path/filepath"
	"testing"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/example"
	"railtally/internal/notebook"
	"railtally/internal/rehearse"
	"railtally/internal/simbench"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
	"railtally/internal/web"
)

// A whole sitting from the simulated bench: every reading taken from a live meter
// over SCPI, kept in the notebook, tallied; every total and every rail that the
// tally states contains the truth. It does on this bench; on one in twenty a figure
// must not, at 95 %, and bench/sitting counts over many how often that is so.
func TestSittingFromTheSimulatedBench(t *testing.T) {
	b, err := simbench.New(simbench.Config{Seed: 1, Clock: simbench.Virtual()})
	if err != nil {
		t.Fatal(err)
	}
	places, stop, err := b.Serve(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	dir := t.TempDir()
	nb, err := notebook.Open(t.Context(), filepath.Join(dir, "bench.db"), notebook.Options{})
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
	meters := &acquire.Settings{}
	if err := meters.Put(acquire.Meter{Name: "desk meter", Address: places[0].Address, Setup: []string{"SAMP:COUN 20"}, Spacing: 0.02,
		Prepare: `BENC:STAT "{state}",480;LEAD "{what}","{of}";WAIT 30`}); err != nil {
		t.Fatal(err)
	}
	if err := meters.Save(acquire.SettingsPath(nb.Path())); err != nil {
		t.Fatal(err)
	}
	s, err := web.New(web.Config{Notebook: nb, LeastTake: time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(s)
	defer server.Close()
	began := time.Date(2026, 6, 13, 14, 0, 0, 0, time.UTC)
	taken := 0
	r := rehearse.Rehearsal{Base: server.URL, Study: p.StudyID, Board: "Otter", Room: "23.4 ± 0.5", Meter: "desk meter", TakeFor: "1",
		Clock: func() time.Time { return began.Add(b.Now()) }, Took: func(string, string) { taken++ }}
	if _, err := r.Sitting(t.Context()); err != nil {
		t.Fatal(err)
	}
	got, err := nb.Study(t.Context(), p.StudyID)
	if err != nil {
		t.Fatal(err)
	}
	ta, err := tally.Run(got, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	stated := 0
	covers := func(name string, f tally.Figure, truth float64) {
		stated++
		if math.Abs(f.Estimate-truth) > f.Expanded {
			t.Errorf("%s: %.4f ± %.4f W does not contain the true %.4f W", name, f.Estimate, f.Expanded, truth)
		}
	}
	for _, board := range ta.Boards {
		for _, st := range board.States {
			covers(st.State.Name, st.Total, b.True(st.State.Name, ""))
			for _, rail := range st.Rails {
				covers(st.State.Name+" "+rail.Name, rail.Power, b.True(st.State.Name, rail.Name))
			}
		}
	}
	// Six states of a total and six rails; four zeros of three sensors, and five
	// rails' current and voltage in each state.
	if stated != 6*7 || taken != 4*3+6*5*2 {
		t.Errorf("%d figures from %d readings", stated, taken)
	}
}
