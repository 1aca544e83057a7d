package plan

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/studyfile/studygen"
)

// Whatever the study and the scheme: each rail that has a tap is read in each
// state once in each pass, no clamp sits on two rails at once, zeros come first
// and as often as asked, and time only goes forward.
func TestVisits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := studygen.Studies().Draw(t, "study")
		b := s.Boards[0]
		sc := DefaultScheme()
		sc.StatesPerZero = rapid.IntRange(0, 3).Draw(t, "states per zero")
		sc.Passes = rapid.IntRange(1, 3).Draw(t, "passes")
		sc.ByState = rapid.Bool().Draw(t, "by state")
		sc.FirstAgain = rapid.Bool().Draw(t, "again")
		read := map[[2]string]int{}
		last := sc.Times.WarmUp
		on := map[string]string{} // rail that a clamp sits on
		for i, v := range visits(b, s.States, sc, nil) {
			if v.At <= last && v.Takes > 0 && i > 0 || v.At < last {
				t.Fatalf("visit %d ends at %v after %v", i, v.At, last)
			}
			last = v.At
			for _, r := range v.Mount {
				for _, tap := range r.Taps {
					if tap.Kind == study.TapClamp {
						on[tap.Instrument] = r.Name
					}
				}
			}
			for _, r := range v.Rails {
				if !v.Again {
					read[[2]string{r.Name, v.State}]++
				}
				for _, tap := range r.Taps {
					if tap.Kind == study.TapClamp && !sc.ByState && on[tap.Instrument] != r.Name && len(rounds(b)) > 1 {
						t.Fatalf("%s is read while %s sits on %q", r.Name, tap.Instrument, on[tap.Instrument])
					}
				}
			}
		}
		for _, r := range slices.Concat(b.Rails, b.Inputs) {
			for _, st := range s.States {
				want := sc.Passes
				if len(r.Taps) == 0 {
					want = 0
				}
				if got := read[[2]string{r.Name, st.Name}]; got != want {
					t.Fatalf("%s in %s is read %d times, want %d", r.Name, st.Name, got, want)
				}
			}
		}
	})
}

// Every second pass goes backwards, so that an even drift falls equally on all
// states: the sum of their places is the same for each.
func TestPassesBalanceDrift(t *testing.T) {
	s := one(t, "nominal: 1 V ±3 %, tap: clamp", "1 A").Study
	var states []*study.State
	for i := range 5 {
		states = append(states, &study.State{Name: fmt.Sprint("s", i)})
	}
	sc := DefaultScheme()
	sc.Passes, sc.FirstAgain = 2, false
	sum, n := map[string]int{}, 0
	for _, v := range visits(s.Boards[0], states, sc, nil) {
		if v.State != "" {
			n++
			sum[v.State] += n
		}
	}
	for _, st := range states {
		if sum[st.Name] != 11 {
			t.Errorf("%s stands at places that sum to %d, want 11", st.Name, sum[st.Name])
		}
	}
}

// The order changes few factors and keeps compared states together; a seed gives
// one order, and seeds give several.
func TestOrder(t *testing.T) {
	s := &study.Study{Factors: []*study.Factor{{Name: "a", Levels: []string{"0", "1"}}, {Name: "b", Levels: []string{"0", "1"}}, {Name: "c", Levels: []string{"0", "1"}}}}
	for i := range 8 {
		st := &study.State{Name: fmt.Sprintf("%03b", i)}
		for k, f := range s.Factors {
			st.Levels = append(st.Levels, study.Level{Factor: f.Name, Value: string(st.Name[k])})
		}
		s.States = append(s.States, st)
	}
	pairs := [][2]string{{"000", "001"}, {"110", "111"}}
	orders := map[string]bool{}
	for seed := range uint64(20) {
		names := func() (out []string) {
			for _, st := range orderStates(s.States, nil, pairs, rand.New(rand.NewPCG(seed, 0))) {
				out = append(out, st.Name)
			}
			return out
		}
		a, b := names(), names()
		if !slices.Equal(a, b) {
			t.Fatalf("seed %d gives %v and %v", seed, a, b)
		}
		changes := 0.0
		for i := 1; i < len(a); i++ {
			changes += handling(s.State(a[i]), s.State(a[i-1]))
		}
		// Seven changes are the least that lead through eight states of three factors;
		// a random order makes twelve.
		if changes > 9 {
			t.Errorf("seed %d: %v changes %g factors", seed, a, changes)
		}
		for _, p := range pairs {
			if d := slices.Index(a, p[0]) - slices.Index(a, p[1]); d < -2 || d > 2 {
				t.Errorf("seed %d: %v are %d apart in %v", seed, p, d, a)
			}
		}
		orders[fmt.Sprint(a)] = true
	}
	if len(orders) < 5 {
		t.Errorf("twenty seeds give %d orders", len(orders))
	}
}

// The same study, scheme and seed give the same plan to the last digit, whatever
// the cores do.
func TestPlanIsReproducible(t *testing.T) {
	s, _, err := studyfile.Read("heron.yaml", []byte(heron))
	if err != nil {
		t.Fatal(err)
	}
	var texts []string
	for range 3 {
		p, err := Make(context.Background(), s, Options{Seed: 5})
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(p.Document(nil))
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(text))
	}
	if texts[0] != texts[1] || texts[1] != texts[2] {
		t.Error("plans of one study differ")
	}
}
