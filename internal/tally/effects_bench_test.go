package tally

import (
	"fmt"
	"strconv"
	"testing"

	"railtally/internal/study"
)

// BenchmarkEffects estimates twenty factors of two levels from five hundred
// states of one board, with the full covariance matrix of their totals.
func BenchmarkEffects(b *testing.B) {
	const states, factors = 500, 20
	levels := map[string][]string{}
	var order []string
	for k := range factors {
		name := fmt.Sprintf("f%02d", k)
		order = append(order, name)
		levels[name] = []string{"off", "on"}
	}
	var rows [][]string
	seed := uint64(1)
	for range states {
		seed = seed*6364136223846793005 + 1442695040888963407
		row := make([]string, factors)
		for k := range row {
			row[k] = levels[order[k]][seed>>(20+k)&1]
		}
		rows = append(rows, row)
	}
	ta := factored(b, levels, order, rows, func(l []string) float64 {
		v := 2.0
		for k, x := range l {
			if x == "on" {
				v += 0.01 * float64(k+1)
			}
		}
		return v
	})
	if n := len(ta.Boards[0].States); n != states {
		b.Fatal(strconv.Itoa(n) + " states: the random levels repeat")
	}
	b.ResetTimer()
	for range b.N {
		e, err := ta.effectsOf(ta.Boards[0])
		if err != nil || len(e.Terms) != factors {
			b.Fatal(e, err)
		}
	}
}

// BenchmarkLargeFactored tallies a whole study of factors: two boards of two
// hundred states (4 × 5 × 10 levels) and six rails, two sittings each.
func BenchmarkLargeFactored(b *testing.B) {
	s := largeFactored(b)
	b.ResetTimer()
	for b.Loop() {
		if _, err := Run(s, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func largeFactored(tb testing.TB) *study.Study {
	b := newBench(tb, "±(1 % + 3 mA)")
	b.States = nil
	var rails []string
	for r := range 6 {
		rails = append(rails, fmt.Sprintf("r%d at 1 V", r))
	}
	for _, board := range []string{"one", "two"} {
		b.board(board, rails...)
	}
	numbered := func(n int) (out []string) {
		for k := range n {
			out = append(out, strconv.Itoa(k))
		}
		return out
	}
	b.Factors = []*study.Factor{{Name: "drives", Levels: numbered(4)}, {Name: "links", Levels: numbered(5)}, {Name: "load", Levels: numbered(10)}}
	steps := map[string][]string{}
	for i := range 200 {
		levels := []int{i / 50, i / 10 % 5, i % 10}
		st := &study.State{Name: fmt.Sprint("s", i)}
		for k, f := range b.Factors {
			st.Levels = append(st.Levels, study.Level{Factor: f.Name, Value: f.Levels[levels[k]]})
		}
		b.States = append(b.States, st)
		for r := range 6 {
			v := 0.5 + 0.1*float64(levels[0]) + 0.03*float64(levels[1]*r) + 0.01*float64(levels[2])
			steps[st.Name] = append(steps[st.Name], fmt.Sprintf("r%d: %.4f V, 1.000 V", r, v))
		}
	}
	for i := range 4 {
		b.sitting(fmt.Sprint("sitting ", i), []string{"one", "two"}[i%2], steps)
	}
	return b.Study
}
