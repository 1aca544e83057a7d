package recording

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/notebook"
)

// KeepTake keeps the readings behind a taken mean as a complete trace of a study, under a name. began is what their
// times count from. A take that was kept before, by the key in o, is not kept twice: its trace is 0 then.
func KeepTake(ctx context.Context, nb *notebook.Notebook, study int64, m acquire.Meter, t *acquire.Taken, began time.Time, name string, o notebook.Origin) (int64, error) {
	settings, err := json.Marshal(map[string]any{"meters": []acquire.Meter{m}, "take": t.Place})
	if err != nil {
		return 0, err
	}
	h := notebook.TraceHead{Study: study, Source: notebook.FromMeters, Zero: began, Zone: true, Settings: string(settings)}
	w, err := nb.BeginTrace(ctx, h, name, o)
	if err != nil {
		return 0, err
	}
	fail := func(err error) (int64, error) {
		_ = w.Abandon(context.WithoutCancel(ctx), notebook.Origin{Why: "the take could not be kept"})
		return 0, err
	}
	if _, err := w.AddClock(ctx, []notebook.Channel{{Name: m.Name, Unit: m.Reads()}}); err != nil {
		return fail(err)
	}
	if err := w.Append(ctx, 0, t.T, t.V); err != nil {
		return fail(err)
	}
	notes := []string{
		"The readings behind one taken mean.",
		fmt.Sprintf("%s: times within ± %.2g ms.", m.Name, 1e3*t.Skew),
		"The take ended because " + string(t.Ended) + ".",
	}
	if err := w.Close(ctx, notebook.TraceEnd{Zero: began, Zone: true, Notes: notes}); err != nil {
		return fail(err)
	}
	return w.Trace(), nil
}
