package notebook

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/trace/packed"
)

// benchSamples is the size of trace that views are timed on.
const benchSamples = 50_000_000

// BenchmarkTraceView times views 1500 pixels wide of a trace of 50 million samples, from all of it down
// to a few, at places that change; it reports the slowest as well. The channel "decimals" is as a meter
// writes it, "binary" has no decimals and costs the most.
func BenchmarkTraceView(b *testing.B) {
	ctx := context.Background()
	nb := opened(b)
	p := must[*Plan](b)(nb.NewStudy(ctx, otter(b), Origin{}))
	w := must[*TraceWriter](b)(nb.BeginTrace(ctx, TraceHead{Study: p.StudyID, Source: FromMeters}, "long", Origin{}))
	must[int](b)(w.AddClock(ctx, []Channel{{Name: "decimals", Unit: quantity.Volt}, {Name: "binary", Unit: quantity.Ampere}}))
	rng := rand.New(rand.NewPCG(1, 2))
	t, v, x := make([]float64, packed.ChunkSize), make([]float64, packed.ChunkSize), make([]float64, packed.ChunkSize)
	for k := 0; k < benchSamples; k += len(t) {
		for i := range t {
			t[i] = float64(k+i) / 1000
			v[i] = math.Round(1e5+200*rng.NormFloat64()) / 1e5
			x[i] = rng.NormFloat64()
		}
		n := min(len(t), benchSamples-k)
		if err := w.Append(ctx, 0, t[:n], v[:n], x[:n]); err != nil {
			b.Fatal(err)
		}
	}
	if err := w.Close(ctx, TraceEnd{}); err != nil {
		b.Fatal(err)
	}
	const end = benchSamples / 1000.0
	for ch, name := range []string{"decimals", "binary"} {
		for _, samples := range []int{benchSamples, 20e6, 7e6, 2e6, 6e5, 3.9e5, 1e5, 1e4, 100} {
			b.Run(fmt.Sprintf("%s/%d", name, samples), func(b *testing.B) {
				span, slowest := float64(samples)/1000, time.Duration(0)
				for b.Loop() {
					from := (end - span) * rng.Float64()
					start := time.Now()
					if _, err := nb.TraceView(ctx, w.Trace(), ch, from, from+span, 1500); err != nil {
						b.Fatal(err)
					}
					slowest = max(slowest, time.Since(start))
				}
				b.ReportMetric(float64(slowest.Microseconds())/1000, "ms-slowest")
			})
		}
	}
	b.Run("statistics of any window", func(b *testing.B) {
		for b.Loop() {
			from := end / 2 * rng.Float64()
			if _, err := nb.TraceStats(ctx, w.Trace(), 0, from, from+end/2); err != nil {
				b.Fatal(err)
			}
		}
	})
}
