package example_test

import (
	"math"
	"runtime"
	"slices"
	"sort"
	"sync"
	"testing"

	"railtally/internal/example"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

func run(b *example.Bench) (*tally.Tally, error) {
	s, _, err := studyfile.Read("example.yaml", b.Text)
	if err != nil {
		return nil, err
	}
	return tally.Run(s, tally.Options{})
}

// stated is one interval the tally states, with the truth it is about.
type stated struct {
	name  string
	f     tally.Figure
	truth float64
}

func (s stated) covers() bool { return math.Abs(s.f.Estimate-s.truth) <= s.f.Expanded }

func totals(bench *example.Bench, t *tally.Tally) (out []stated) {
	for _, b := range t.Boards {
		for _, s := range b.States {
			out = append(out, stated{s.On().String(), s.Total, bench.True(b.Name, s.State.Name, "")})
		}
	}
	return out
}

func differences(bench *example.Bench, t *tally.Tally) (out []stated) {
	for _, d := range t.Differences {
		out = append(out, stated{
			d.First.On().String() + " − " + d.Second.On().String(), d.Difference,
			bench.True(d.First.Board.Name, d.First.State.Name, "") - bench.True(d.Second.Board.Name, d.Second.State.Name, ""),
		})
	}
	return out
}

func rails(bench *example.Bench, t *tally.Tally) (out []stated) {
	for _, b := range t.Boards {
		for _, s := range b.States {
			for _, r := range s.Rails {
				out = append(out, stated{s.On().String() + " " + r.Name, r.Power, bench.True(b.Name, s.State.Name, r.Name)})
			}
		}
	}
	return out
}

// The worked example itself: every total, difference and rail it states
// contains the truth, and its differences show all three verdicts.
func TestWorkedExampleCoversTheTruth(t *testing.T) {
	bench := example.New(example.Seed)
	ta, err := run(bench)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range slices.Concat(totals(bench, ta), differences(bench, ta), rails(bench, ta)) {
		if !s.covers() {
			t.Errorf("%s: %.4f ± %.4f W does not contain the true %.4f W", s.name, s.f.Estimate, s.f.Expanded, s.truth)
		}
	}
	want := map[string]tally.Verdict{
		"Otter four-busy − Marten four-busy":   tally.Resolved,
		"Otter one-busy-fast − Otter one-busy": tally.Equal,
		"Otter bare − Marten bare":             tally.NotResolved,
	}
	for _, d := range ta.Differences {
		name := d.First.On().String() + " − " + d.Second.On().String()
		if v, ok := want[name]; ok {
			delete(want, name)
			if d.Verdict != v {
				t.Errorf("%s is %s, want %s (%.4f ± %.4f)", name, d.Verdict, v, d.Difference.Estimate, d.Difference.Expanded)
			}
		}
	}
	if len(want) > 0 {
		t.Errorf("not compared: %v", want)
	}
}

// Over a thousand benches, each with errors of its own, intervals stated at
// 95 % contain the truth 93 to 97 times in a hundred, each figure on its own.
func TestCoverageOverAThousandBenches(t *testing.T) {
	const benches = 1000
	type tallyOf struct{ in, out int }
	var mu sync.Mutex
	counts := map[string]*tallyOf{}
	var wg sync.WaitGroup
	next := make(chan uint64)
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for seed := range next {
				bench := example.New(seed)
				ta, err := run(bench)
				if err != nil {
					t.Errorf("seed %d: %v", seed, err)
					continue
				}
				mu.Lock()
				for kind, list := range map[string][]stated{"total": totals(bench, ta), "difference": differences(bench, ta)} {
					for _, x := range list {
						key := kind + " " + x.name
						if counts[key] == nil {
							counts[key] = &tallyOf{}
						}
						if x.covers() {
							counts[key].in++
						} else {
							counts[key].out++
						}
					}
				}
				mu.Unlock()
			}
		}()
	}
	for seed := range uint64(benches) {
		next <- seed + 1
	}
	close(next)
	wg.Wait()
	var keys []string
	for k := range counts {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		c := counts[k]
		rate := 100 * float64(c.in) / float64(c.in+c.out)
		t.Logf("%-50s %.1f %%", k, rate)
		if rate < 93 || rate > 97 {
			t.Errorf("the 95 %% interval of %s contains the truth in %.1f %% of benches, want 93 to 97 %%", k, rate)
		}
	}
}
