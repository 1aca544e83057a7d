package gum

import (
	"math"
	"slices"
)

// sortTrials sorts x, which holds no NaN. Long slices go through a radix sort
// of their bits, byte by byte from the least significant, which is several
// times faster than comparing.
func sortTrials(x []float64) {
	if len(x) < 1000 {
		slices.Sort(x)
		return
	}
	keys, spare := make([]uint64, len(x)), make([]uint64, len(x))
	for i, v := range x {
		keys[i] = orderedBits(v)
	}
	for shift := 0; shift < 64; shift += 8 {
		var start [256]int
		for _, k := range keys {
			start[k>>shift&255]++
		}
		if start[keys[0]>>shift&255] == len(keys) {
			continue // all alike in this byte
		}
		sum := 0
		for b, n := range start {
			start[b], sum = sum, sum+n
		}
		for _, k := range keys {
			b := k >> shift & 255
			spare[start[b]] = k
			start[b]++
		}
		keys, spare = spare, keys
	}
	for i, k := range keys {
		x[i] = fromOrderedBits(k)
	}
}

// orderedBits maps numbers to integers in the same order: the sign bit is
// flipped, and all bits of a negative number.
func orderedBits(v float64) uint64 {
	b := math.Float64bits(v)
	return b ^ (uint64(int64(b)>>63) | 1<<63)
}

func fromOrderedBits(k uint64) float64 {
	return math.Float64frombits(k ^ (^uint64(int64(k)>>63) | 1<<63))
}
