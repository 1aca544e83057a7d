package plan

import (
	"context"
	"slices"
	"strings"
	"testing"

	"railtally/internal/study"
	"railtally/internal/studyfile"
)

// chosenWork is a study whose work somebody chose.
const chosenWork = `study: in which order?
instruments:
  clamp: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A, spec: ±(1.5 % + 10 mA)}
  meter: {kind: meter, ranges: {500 mV: {digit: 0.1 mV}, 5 V: {digit: 1 mV}, 1 A: {digit: 1 mA}}}
boards:
  Heron:
    rails:
      core: {nominal: 1 V ±3 %, tap: clamp}
      aux: {nominal: 3.3 V ±5 %, tap: clamp}
    inputs:
      supply: {nominal: 5 V, tap: series meter meter 1 A}
states: {idle: {}, slow: {}, fast: {}, hot: {}}
aims:
  - {difference: Heron hot against Heron idle, to: 20 mW}
expected: {Heron: {core: 2 A, aux: 40 mA, supply: 0.5 A}}
work: {states per zero: 2, first again: yes, passes: 1, repeats: 3}
order:
  Heron: {states: [fast, idle, hot], pinned: [fast]}
both ways: {Heron: [aux]}
`

func readStudy(t *testing.T, text string) *study.Study {
	t.Helper()
	s, _, err := studyfile.Read("study.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The stops that the bench follows are the sitting that is planned and printed.
func TestStopsAreTheWork(t *testing.T) {
	s := readStudy(t, chosenWork)
	p, err := Make(context.Background(), s, Options{Seed: SeedOf(s), NoAdvice: true})
	if err != nil {
		t.Fatal(err)
	}
	stops := Stops(s, "Heron", "evening")
	var work []Task
	for _, w := range p.Work {
		if strings.HasPrefix(w.Phase, "sitting") && w.Text != "" && (w.State != "" || len(w.Zeros) > 0) {
			work = append(work, w)
		}
	}
	if len(stops) != len(work) {
		t.Fatalf("%d stops, %d tasks", len(stops), len(work))
	}
	for i, w := range work {
		if x := stops[i]; !strings.HasSuffix(x.Text, w.Text) || x.State != w.State || !slices.Equal(x.Rails, w.Rails) || len(x.Zeros) != len(w.Zeros) {
			t.Errorf("stop %d is %+v, the task %+v", i+1, x, w)
		}
	}
	var states []string
	for _, x := range stops {
		if slices.Contains(x.Rails, "core") {
			states = append(states, x.State)
		}
	}
	// The chosen order; slow has no place in it and comes behind; the first once more.
	if want := []string{"fast", "idle", "hot", "slow", "fast"}; !slices.Equal(states, want) {
		t.Errorf("core is read in %v, want %v", states, want)
	}
	last := stops[len(stops)-1]
	if !last.Again || last.State != "fast" {
		t.Errorf("the last stop is %+v", last)
	}
	for _, x := range stops {
		if both := slices.Contains(x.Rails, "aux"); both != (len(x.Both) == 1) {
			t.Errorf("%+v: aux is to be read both ways", x)
		}
	}
}

// Before anything is opened only the inputs are read, in the first and the fullest
// state.
func TestStopsBeforeOpening(t *testing.T) {
	s := readStudy(t, strings.Replace(chosenWork, "core: 2 A,", "core: {hot: 3 A, otherwise: 2 A},", 1))
	stops := Stops(s, "Heron", BeforeOpening)
	if len(stops) != 2 || stops[0].State != "idle" || stops[1].State != "hot" || !slices.Equal(stops[0].Rails, []string{"supply"}) {
		t.Errorf("%+v", stops)
	}
}

// Ordered anew, pinned states keep their places and all states are there; a
// chosen order is kept by every seed.
func TestOrderAnewKeepsPinned(t *testing.T) {
	s := readStudy(t, chosenWork)
	seen := map[string]bool{}
	for seed := range uint64(12) {
		turns := OrderAnew(s, "Heron", seed)
		var names []string
		for _, x := range turns {
			names = append(names, x.State)
		}
		seen[strings.Join(names, " ")] = true
		if turns[0].State != "fast" || !turns[0].Pinned || len(turns) != 4 {
			t.Errorf("seed %d: %v", seed, names)
		}
		if i, j := slices.Index(names, "hot"), slices.Index(names, "idle"); i-j > 1 || j-i > 1 {
			t.Errorf("seed %d: the compared states are apart in %v", seed, names)
		}
		p, err := Make(context.Background(), s, Options{Seed: seed, NoAdvice: true})
		if err != nil {
			t.Fatal(err)
		}
		if want := []string{"fast", "idle", "hot", "slow"}; !slices.Equal(p.Boards[0].Order, want) {
			t.Errorf("seed %d: %v", seed, p.Boards[0].Order)
		}
	}
	if len(seen) < 2 {
		t.Error("all seeds give one order")
	}
}
