// Package recording keeps what live meters read as a trace of the notebook: one
// channel for each meter, each with times of its own. A goroutine writes once a
// second, so that a slow disk holds up no meter, and what was written stays when
// the program dies.
package recording

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sync"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/notebook"
)

// Every is how often what was read is brought to the disk.
const Every = time.Second

// Recording is a trace that grows. Begin makes one.
type Recording struct {
	w       *notebook.TraceWriter
	station *acquire.Station
	meters  []acquire.Meter
	leaves  []func()

	mu   sync.Mutex
	come []acquire.Batch // by meter: copies, joined
	kept []int64         // by meter: on the disk
}

// Begin begins a trace of a study from meters of a station, under a name. Nothing
// is written before Run.
func Begin(ctx context.Context, nb *notebook.Notebook, study int64, station *acquire.Station, meters []acquire.Meter, name string, o notebook.Origin) (*Recording, error) {
	settings, err := json.Marshal(map[string]any{"meters": meters})
	if err != nil {
		return nil, err
	}
	w, err := nb.BeginTrace(ctx, notebook.TraceHead{Study: study, Source: notebook.FromMeters, Zero: station.Began(), Zone: true, Settings: string(settings)}, name, o)
	if err != nil {
		return nil, err
	}
	r := &Recording{w: w, station: station, meters: meters, come: make([]acquire.Batch, len(meters)), kept: make([]int64, len(meters))}
	for i := range meters {
		m := &meters[i]
		if _, err := w.AddClock(ctx, []notebook.Channel{{Name: m.Name, Unit: m.Reads()}}); err != nil {
			return nil, err
		}
		leave, err := station.Listen(m.Name, func(b acquire.Batch) {
			r.mu.Lock()
			defer r.mu.Unlock()
			r.come[i].T, r.come[i].V = append(r.come[i].T, b.T...), append(r.come[i].V, b.V...)
		})
		if err != nil {
			r.leave()
			return nil, err
		}
		r.leaves = append(r.leaves, leave)
	}
	return r, nil
}

func (r *Recording) leave() {
	for _, l := range r.leaves {
		l()
	}
	r.leaves = nil
}

// Counts returns how many readings of each meter have come, and how many of them are on the disk.
func (r *Recording) Counts() (come, kept []int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	kept = slices.Clone(r.kept)
	come = slices.Clone(r.kept)
	for i := range come {
		come[i] += int64(len(r.come[i].T))
	}
	return come, kept
}

// Meters lists the meters.
func (r *Recording) Meters() []acquire.Meter { return r.meters }

// Trace is the number of the trace.
func (r *Recording) Trace() int64 { return r.w.Trace() }

// Run records until ctx ends, then completes the trace and returns how many
// readings of each meter it holds. On an error what was written before is on the
// disk, in a trace that is not complete.
func (r *Recording) Run(ctx context.Context) (counts []int64, err error) {
	defer r.leave()
	counts = make([]int64, len(r.meters))
	// What was read before the end is kept, also when the end is an interrupt.
	keep := context.WithoutCancel(ctx)
	tick := time.NewTicker(Every)
	defer tick.Stop()
	for done := false; !done; {
		select {
		case <-ctx.Done():
			done = true
		case <-tick.C:
		}
		if done {
			r.leave()
		}
		if err := r.drain(keep, counts); err != nil {
			return counts, err
		}
	}
	return counts, r.w.Close(keep, notebook.TraceEnd{Zero: r.station.Began(), Zone: true, Notes: r.notes()})
}

// drain writes what has come since it last did.
func (r *Recording) drain(ctx context.Context, counts []int64) error {
	r.mu.Lock()
	come := r.come
	r.come = make([]acquire.Batch, len(r.meters))
	r.mu.Unlock()
	for i, b := range come {
		if len(b.T) == 0 {
			continue
		}
		if err := r.w.Append(ctx, i, b.T, b.V); err != nil {
			return err
		}
		counts[i] += int64(len(b.T))
	}
	if err := r.w.Commit(ctx); err != nil {
		return err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	copy(r.kept, counts)
	return nil
}

// notes says what a reader of the trace should know.
func (r *Recording) notes() []string {
	out := []string{"Times are the middle between question and answer, on the clock of the computer that asked."}
	for _, m := range r.meters {
		v, err := r.station.Now(m.Name)
		if err != nil {
			continue
		}
		text := fmt.Sprintf("%s: times within ± %.2g ms", m.Name, 1e3*v.Skew)
		if v.Lost > 0 {
			text += fmt.Sprintf(", link lost %d times", v.Lost)
		}
		if v.Overs > 0 {
			text += fmt.Sprintf(", %d readings beyond the range", v.Overs)
		}
		out = append(out, text+".")
	}
	return out
}
