package tally

import (
	"math"
	"slices"
)

// holm adjusts the probabilities of several tests made together, so that the
// risk of even one false claim among them is as low as for one alone
// (S. Holm, 1979): sorted, the k-th smallest of n times n−k+1, never less than
// the one before it, never more than 1.
func holm(ps []float64) []float64 {
	order := make([]int, len(ps))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case ps[a] < ps[b]:
			return -1
		case ps[a] > ps[b]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(ps))
	last := 0.0
	for k, i := range order {
		last = math.Max(last, math.Min(1, float64(len(ps)-k)*ps[i]))
		out[i] = last
	}
	return out
}

// together gives each difference its probability among all that are shown.
func together(ds []*Difference) {
	ps := make([]float64, len(ds))
	for i, d := range ds {
		ps[i] = d.P
	}
	for i, p := range holm(ps) {
		ds[i].FamilyP = p
	}
}

// ResolvedTogether tells whether the difference is still resolved when all the
// differences shown are judged together at the level.
func (d *Difference) ResolvedTogether(level float64) bool {
	return d.Verdict == Resolved && d.FamilyP < 1-level
}
