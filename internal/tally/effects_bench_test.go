package tally

import (
	"fmt"
	"strconv"
	"testing"
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
