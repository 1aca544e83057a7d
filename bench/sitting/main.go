// Sitting counts how often the intervals of a tally contain the truth when whole
// sittings are recorded live: for each seed a simulated bench with errors of its
// own, a notebook of its own, every reading taken from a meter over SCPI through
// the Bench page, and a tally of what was kept.
//
//	go run ./bench/sitting -seeds 100
//
// Intervals stated at 95 % should contain the truth in about 95 of 100; with few
// seeds chance alone moves that by several (the range it prints is where chance
// alone leaves it, 95 times in a hundred).
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"math"
	"net/http/httptest"
	"os"
	"path/filepath"
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

func main() {
	seeds := flag.Uint64("seeds", 100, "how many benches")
	first := flag.Uint64("first", 1, "seed of the first")
	board := flag.String("board", "Otter", "board on the bench")
	takeFor := flag.String("for", "", "seconds to average each reading; empty: until that no longer helps")
	flag.Parse()
	counts := map[string]*count{}
	began := time.Now()
	for seed := *first; seed < *first+*seeds; seed++ {
		if err := one(context.Background(), seed, *board, *takeFor, counts); err != nil {
			log.Fatalf("seed %d: %v", seed, err)
		}
		fmt.Fprintf(os.Stderr, "\r%d of %d benches", seed-*first+1, *seeds)
	}
	fmt.Fprintln(os.Stderr)
	for _, what := range []string{"totals", "rails", "differences of states"} {
		c := counts[what]
		fmt.Printf("%-22s %d of %d contain the truth, %.1f %%\n", what, c.in, c.of, 100*float64(c.in)/float64(c.of))
	}
	// Figures of one bench share its errors, so they are no independent trials:
	// the range is that of one figure counted over the benches.
	fmt.Printf("one figure over %d benches: 95 %% ± %.1f %% by chance\n", *seeds, 196*math.Sqrt(0.95*0.05/float64(*seeds)))
	fmt.Printf("%.1f s a bench\n", time.Since(began).Seconds()/float64(*seeds))
}

type count struct{ in, of int }

// one takes one sitting and counts what its tally states.
func one(ctx context.Context, seed uint64, board, takeFor string, counts map[string]*count) error {
	b, err := simbench.New(simbench.Config{Seed: seed, Board: board, Clock: simbench.Virtual()})
	if err != nil {
		return err
	}
	places, stop, err := b.Serve(ctx, 0)
	if err != nil {
		return err
	}
	defer stop()
	dir, err := os.MkdirTemp("", "sitting-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	nb, err := notebook.Open(ctx, filepath.Join(dir, "bench.db"), notebook.Options{})
	if err != nil {
		return err
	}
	defer nb.Close()
	x, _, err := studyfile.Read("plan", example.Plan())
	if err != nil {
		return err
	}
	p, err := nb.Import(ctx, x, notebook.Origin{})
	if err != nil {
		return err
	}
	meters := &acquire.Settings{Meters: []acquire.Meter{{Name: "desk meter", Address: places[0].Address, Setup: []string{"SAMP:COUN 20"}, Spacing: 0.02,
		Prepare: `BENC:STAT "{state}",480;LEAD "{what}","{of}";WAIT 30`}}}
	if err := meters.Save(acquire.SettingsPath(nb.Path())); err != nil {
		return err
	}
	pages, err := web.New(web.Config{Notebook: nb, LeastTake: time.Millisecond})
	if err != nil {
		return err
	}
	server := httptest.NewServer(pages)
	defer server.Close()
	began := time.Date(2026, 6, 13, 14, 0, 0, 0, time.UTC)
	r := rehearse.Rehearsal{Base: server.URL, Study: p.StudyID, Board: board, Room: "23.4 ± 0.5", Meter: "desk meter", TakeFor: takeFor,
		Clock: func() time.Time { return began.Add(b.Now()) }}
	if _, err := r.Sitting(ctx); err != nil {
		return err
	}
	got, err := nb.Study(ctx, p.StudyID)
	if err != nil {
		return err
	}
	t, err := tally.Run(got, tally.Options{})
	if err != nil {
		return err
	}
	state := func(what string, f tally.Figure, truth float64) {
		if counts[what] == nil {
			counts[what] = &count{}
		}
		counts[what].of++
		if math.Abs(f.Estimate-truth) <= f.Expanded {
			counts[what].in++
		}
	}
	for _, of := range t.Boards {
		for _, st := range of.States {
			state("totals", st.Total, b.True(st.State.Name, ""))
			for _, rail := range st.Rails {
				state("rails", rail.Power, b.True(st.State.Name, rail.Name))
			}
		}
	}
	for _, d := range t.Differences {
		state("differences of states", d.Difference, b.True(d.First.State.Name, "")-b.True(d.Second.State.Name, ""))
	}
	return nil
}
