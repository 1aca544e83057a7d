package notebook

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/trace"
	"railtally/internal/trace/packed"
)

// logged is a made record of two channels: times in ms with a pause, five digits, some missing.
func logged(n int) (t []float64, v [][]float64) {
	rng := rand.New(rand.NewPCG(3, 4))
	t, v = make([]float64, n), [][]float64{make([]float64, n), make([]float64, n)}
	pause := 0.0
	for i := range n {
		if i == n/3 {
			pause = 50
		}
		t[i] = math.Round((float64(i)/1000+pause)*1000) / 1000
		v[0][i] = math.Round((0.9+0.01*math.Sin(float64(i)/3e4)+0.001*rng.NormFloat64())*1e5) / 1e5
		v[1][i] = rng.NormFloat64()
		switch {
		case i%1009 == 5:
			v[1][i] = math.NaN()
		case i%5003 == 7:
			v[1][i] = math.Inf(1)
		}
	}
	return t, v
}

func channels() []Channel {
	return []Channel{{Name: "core V", Unit: quantity.Volt}, {Name: "core A", Unit: quantity.Ampere}}
}

// beginTrace begins a live trace of two channels.
func beginTrace(t testing.TB, nb *Notebook, src Source) *TraceWriter {
	t.Helper()
	ctx := context.Background()
	p := must[*Plan](t)(nb.NewStudy(ctx, otter(t), Origin{}))
	w := must[*TraceWriter](t)(nb.BeginTrace(ctx, TraceHead{Study: p.StudyID, Source: src, File: "run.csv", Size: 123, Start: "ab", Zero: began()}, "first run", Origin{}))
	must[int](t)(w.AddClock(ctx, channels()))
	return w
}

// agrees compares what a trace in the notebook says with the samples given.
func agrees(t *testing.T, nb *Notebook, id int64, at []float64, v [][]float64) {
	t.Helper()
	ctx := context.Background()
	s := must[*trace.Series](t)(trace.NewSeries("x", quantity.Volt, at, v[0]))
	x := must[Trace](t)(nb.Trace(ctx, id))
	if x.Samples[0] != int64(len(at)) || len(x.Channels) != 2 || x.Channels[1] != channels()[1] {
		t.Fatalf("%+v", x)
	}
	span := at[len(at)-1]
	for _, win := range [][2]float64{{-1, span + 1}, {0, span}, {span * 0.31, span * 0.87}, {1.0005, 1.5}, {span / 2, span / 2}} {
		i, j := s.Index(win[0]), s.Index(math.Nextafter(win[1], math.Inf(1)))
		for ch := range v {
			got := must[TraceStats](t)(nb.TraceStats(ctx, id, ch, win[0], win[1]))
			want := trace.MomentsOf(v[ch][i:j])
			if got.N != want.N || got.Missing != want.Missing || got.Over != want.Over || got.Min != want.Min || got.Max != want.Max ||
				want.N > 0 && math.Abs(got.Mean()-want.Mean()) > 1e-15*math.Abs(want.Mean())+1e-18 ||
				want.N > 1 && math.Abs(got.SD()-want.SD()) > 1e-14*want.SD() {
				t.Errorf("channel %d, %v: got %+v, the samples say %+v", ch, win, got.Moments, want)
			}
			for _, width := range []int{1, 300} {
				viewAgrees(t, must[[]Pixel](t)(nb.TraceView(ctx, id, ch, win[0], win[1], width)), at[i:j], v[ch][i:j], width, win)
			}
		}
		if i == j {
			continue
		}
		all := must[*Samples](t)(nb.TraceSamples(ctx, id, []int{1, 0}, win[0], win[1], 0))
		if !slices.Equal(all.Series[1].V, v[0][i:j]) || !slices.Equal(all.Series[0].T, at[i:j]) || all.Averaged != 1 || !all.Series[0].Origin.Equal(began()) {
			t.Errorf("%v: other samples came back", win)
		}
	}
}

// viewAgrees: every sample of the window is in exactly one pixel, and each pixel's extremes are those of the
// samples between its times.
func viewAgrees(t *testing.T, got []Pixel, at, v []float64, width int, win [2]float64) {
	t.Helper()
	n := int64(0)
	for k, p := range got {
		n += p.N + p.Odd
		if k > 0 && p.From < got[k-1].From {
			t.Fatalf("%v: pixel %d goes back", win, k)
		}
		i, _ := slices.BinarySearch(at, p.From)
		j, _ := slices.BinarySearch(at, math.Nextafter(p.To, math.Inf(1)))
		m := trace.MomentsOf(v[i:j])
		if p.N != m.N || p.Odd != m.Missing+m.Over || m.N > 0 && (p.Min != m.Min || p.Max != m.Max || math.Abs(p.Mean-m.Mean()) > 1e-9) {
			t.Fatalf("%v, %d wide, pixel %d: %+v, the samples say %+v", win, width, k, p, m)
		}
	}
	if n != int64(len(at)) || len(got) > width {
		t.Errorf("%v: %d samples in %d pixels of %d, there are %d", win, n, len(got), width, len(at))
	}
}

// TestTraceGrows: a live record is whole at each commit, after its writer died, and at its end.
func TestTraceGrows(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	w := beginTrace(t, nb, FromMeters)
	at, v := logged(3*packed.ChunkSize + 12345)
	rng := rand.New(rand.NewPCG(5, 6))
	looks := []int{packed.ChunkSize / 2, packed.ChunkSize + 100, 2*packed.ChunkSize + 7}
	for i := 0; i < len(at); {
		j := min(i+1+rng.IntN(40000), len(at))
		if len(looks) > 0 && j >= looks[0] {
			j = looks[0]
		}
		if err := w.Append(ctx, 0, at[i:j], v[0][i:j], v[1][i:j]); err != nil {
			t.Fatal(err)
		}
		i = j
		if err := w.Commit(ctx); err != nil {
			t.Fatal(err)
		}
		if len(looks) > 0 && j == looks[0] {
			agrees(t, nb, w.Trace(), at[:j], [][]float64{v[0][:j], v[1][:j]})
			looks = looks[1:]
			w = must[*TraceWriter](t)(nb.ContinueTrace(ctx, w.Trace())) // as if the writer had died
		}
	}
	if err := w.Close(ctx, TraceEnd{Notes: []string{"two pauses"}}); err != nil {
		t.Fatal(err)
	}
	agrees(t, nb, w.Trace(), at, v)
	if n := must[[]string](t)(column(nb, "SELECT count(*) FROM tail")); n[0] != "0" {
		t.Errorf("%s rows of tails are left", n[0])
	}
	if err := w.Append(ctx, 0, at[:1], v[0][:1], v[1][:1]); CodeOf(err) != Invalid {
		t.Errorf("an ended trace took samples: %v", err)
	}
	if _, err := nb.ContinueTrace(ctx, w.Trace()); CodeOf(err) != Invalid {
		t.Errorf("an ended trace was continued: %v", err)
	}
	sound(t, nb)
}

// TestTraceResumes: an import that was cut off is finished by importing again, refused where the log
// changed, and removed where it is given up.
func TestTraceResumes(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	at, v := logged(3*packed.ChunkSize + 99)
	w := beginTrace(t, nb, FromLog)
	n := 2*packed.ChunkSize + 5000
	if err := w.Append(ctx, 0, at[:n], v[0][:n], v[1][:n]); err != nil {
		t.Fatal(err)
	}
	if err := errorsOf(w.flush(ctx), w.settle()); err != nil { // and then its process is killed
		t.Fatal(err)
	}
	again := must[*TraceWriter](t)(nb.ResumeLog(ctx, w.Trace()))
	if _, err := again.AddClock(ctx, []Channel{{Name: "other", Unit: quantity.Volt}}); CodeOf(err) != Invalid {
		t.Errorf("other channels were taken: %v", err)
	}
	again = must[*TraceWriter](t)(nb.ResumeLog(ctx, w.Trace()))
	must[int](t)(again.AddClock(ctx, channels()))
	other := slices.Clone(v[1])
	other[70]++
	if err := errorsOf(again.Append(ctx, 0, at, v[0], other), again.Close(ctx, TraceEnd{})); CodeOf(err) != Invalid || HintOf(err) == "" {
		t.Errorf("another log was taken: %v", err)
	}
	again = must[*TraceWriter](t)(nb.ResumeLog(ctx, w.Trace()))
	must[int](t)(again.AddClock(ctx, channels()))
	if err := again.Append(ctx, 0, at, v[0], v[1]); err != nil {
		t.Fatal(err)
	}
	if err := again.Close(ctx, TraceEnd{SHA256: "cafe"}); err != nil {
		t.Fatal(err)
	}
	agrees(t, nb, w.Trace(), at, v)
	if found := must[[]Trace](t)(nb.TracesOfLog(ctx, 123, "ab")); len(found) != 1 || found[0].SHA256 != "cafe" || found[0].Outcome != Complete {
		t.Errorf("%+v", found)
	}
	sound(t, nb)

	w = beginTrace(t, nb, FromLog)
	if err := w.Append(ctx, 0, at, v[0], v[1]); err != nil {
		t.Fatal(err)
	}
	if err := errorsOf(w.flush(ctx), w.settle()); err != nil {
		t.Fatal(err)
	}
	id := w.Trace()
	if err := w.Abandon(ctx, Origin{}); err != nil {
		t.Fatal(err)
	}
	if n := must[[]string](t)(column(nb, fmt.Sprint("SELECT count(*) FROM chunk c JOIN series s ON s.id = c.series WHERE s.trace = ", id))); n[0] != "0" {
		t.Errorf("%s chunks of a trace that was given up", n[0])
	}
	x := must[Trace](t)(nb.Trace(ctx, id))
	if x.Outcome != Abandoned || !x.Mapping.Withdrawn || len(must[[]Trace](t)(nb.Traces(ctx, x.Study))) != 0 {
		t.Errorf("%+v", x)
	}
	sound(t, nb)
}

func errorsOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// TestTraceUnordered: times that go back are sorted within a chunk and found beyond it; windows are exact
// all the same.
func TestTraceUnordered(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	at, v := logged(2 * packed.ChunkSize)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(at), func(i, j int) {
		at[i], at[j] = at[j], at[i]
		v[0][i], v[0][j] = v[0][j], v[0][i]
		v[1][i], v[1][j] = v[1][j], v[1][i]
	})
	w := beginTrace(t, nb, FromLog)
	if err := errorsOf(w.Append(ctx, 0, at, v[0], v[1]), w.Close(ctx, TraceEnd{})); err != nil {
		t.Fatal(err)
	}
	trace.SortByTime(at, v...)
	from, to := 10.0, 20.0
	s := must[*trace.Series](t)(trace.NewSeries("x", quantity.Volt, at, v[0]))
	want := must[*trace.Series](t)(s.Window(from, to+0.0005))
	got := must[*Samples](t)(nb.TraceSamples(ctx, w.Trace(), []int{0}, from, to, 0)).Series[0]
	if !slices.Equal(got.T, want.T) || !slices.Equal(got.V, want.V) {
		t.Error("other samples came back")
	}
	// Whatever the order, statistics of any window are those of its samples, and a view holds each of them once.
	rng := rand.New(rand.NewPCG(1, 2))
	for range 12 {
		a, b := at[rng.IntN(len(at))], at[rng.IntN(len(at))]
		a, b = min(a, b), max(a, b)
		i, j := s.Index(a), s.Index(math.Nextafter(b, math.Inf(1)))
		for ch := range v {
			got, want := must[TraceStats](t)(nb.TraceStats(ctx, w.Trace(), ch, a, b)), trace.MomentsOf(v[ch][i:j])
			if got.N != want.N || got.Missing != want.Missing || got.Over != want.Over || got.Min != want.Min || got.Max != want.Max ||
				math.Abs(got.Mean()-want.Mean()) > 1e-14*math.Abs(want.Mean())+1e-17 || want.N > 1 && math.Abs(got.SD()-want.SD()) > 1e-13*want.SD() {
				t.Errorf("%g to %g: %+v, the samples say %+v", a, b, got.Moments, want)
			}
		}
		n := int64(0)
		for _, p := range must[[]Pixel](t)(nb.TraceView(ctx, w.Trace(), 1, a, b, 200)) {
			n += p.N + p.Odd
		}
		if n != int64(j-i) {
			t.Errorf("%g to %g: %d samples are drawn, there are %d", a, b, n, j-i)
		}
	}
}

// TestTraceAveraged: where there are too many samples, means of neighbours stand for them.
func TestTraceAveraged(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	at, v := logged(packed.ChunkSize)
	w := beginTrace(t, nb, FromLog)
	if err := errorsOf(w.Append(ctx, 0, at, v[0], v[1]), w.Close(ctx, TraceEnd{})); err != nil {
		t.Fatal(err)
	}
	got := must[*Samples](t)(nb.TraceSamples(ctx, w.Trace(), []int{0}, 0, 1e9, 10000))
	if got.Averaged != 7 || got.Series[0].Len() != packed.ChunkSize/7 {
		t.Fatalf("%d averaged, %d samples", got.Averaged, got.Series[0].Len())
	}
	for _, i := range []int{0, 1, 9000} {
		m := trace.MomentsOf(v[0][7*i : 7*i+7])
		if math.Abs(got.Series[0].V[i]-m.Mean()) > 1e-14 {
			t.Errorf("mean %d is %g, want %g", i, got.Series[0].V[i], m.Mean())
		}
	}
}

func TestTraceMapping(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	w := beginTrace(t, nb, FromMeters)
	x := must[Trace](t)(nb.Trace(ctx, w.Trace()))
	for name, roles := range map[string][]ChannelRole{
		"a channel too many": {{Channel: 2, Is: Voltage, Rail: "core"}},
		"a channel twice":    {{Channel: 0, Is: Voltage, Rail: "core"}, {Channel: 0, Is: Voltage, Rail: "core"}},
		"no rail":            {{Channel: 0, Is: Current}},
		"no name":            {{Channel: 0, Is: Temperature}},
		"no such kind":       {{Channel: 0, Is: Step}},
	} {
		if _, err := nb.MapTrace(ctx, x.Mapping.ID, "n", "", roles, Origin{}); CodeOf(err) != Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	roles := []ChannelRole{{Channel: 0, Is: Voltage, Rail: "core"}, {Channel: 1, Is: Current, Rail: "core", Tap: "a"}}
	ack := must[Ack](t)(nb.MapTrace(ctx, x.Mapping.ID, "warm", "after an hour", roles, Origin{Who: "Kim"}))
	if _, err := nb.MapTrace(ctx, x.Mapping.ID, "n", "", nil, Origin{}); CodeOf(err) != Conflicting {
		t.Errorf("an old row was taken for the head: %v", err)
	}
	x = must[Trace](t)(nb.Trace(ctx, w.Trace()))
	if x.Mapping.ID != ack.ID || x.Mapping.Name != "warm" || !slices.Equal(x.Mapping.Roles, roles) {
		t.Errorf("%+v", x.Mapping)
	}
	must[Ack](t)(nb.Withdraw(ctx, AMapping, ack.ID, Origin{}))
	if all := must[[]Trace](t)(nb.Traces(ctx, x.Study)); len(all) != 0 {
		t.Errorf("a withdrawn trace counts: %+v", all)
	}
	sound(t, nb)
}

// TestTraceDamage: a changed byte in a chunk is told by the check and by whoever reads it.
func TestTraceDamage(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "notebook.db")
	nb := openedAt(t, path)
	at, v := logged(1000)
	w := beginTrace(t, nb, FromLog)
	if err := errorsOf(w.Append(ctx, 0, at, v[0], v[1]), w.Close(ctx, TraceEnd{})); err != nil {
		t.Fatal(err)
	}
	for _, s := range []string{"DROP TRIGGER chunk_never_changed",
		"UPDATE chunk SET data = zeroblob(length(data)) WHERE id = 2"} {
		if _, err := nb.w.Exec(s); err != nil {
			t.Fatal(err)
		}
	}
	if problems := must[[]Problem](t)(nb.Check(ctx)); len(problems) != 1 {
		t.Errorf("the check finds %v", problems)
	}
	if _, err := nb.TraceSamples(ctx, w.Trace(), []int{0}, 0, 1, 0); CodeOf(err) != Corrupt {
		t.Errorf("read: %v", err)
	}
}
