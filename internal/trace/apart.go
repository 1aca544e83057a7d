package trace

import "math"

// RunApart tells how much faster the clock of a runs than that of b, as a part of it, with its standard uncertainty:
// the two are aligned anew over the first and over the second half of what they have in common. ok is false
// where a half holds no event that aligns it.
func (al Alignment) RunApart(a, b *Series) (rate, u float64, ok bool) {
	b = b.Shift(al.Offset)
	from, to := max(a.T[0], b.T[0]), min(a.T[len(a.T)-1], b.T[len(b.T)-1])
	if !(from < to) {
		return 0, 0, false
	}
	mid := from + (to-from)/2
	step := max(a.Step(), b.Step())
	// Halves are aligned near what the whole gave: a clock that runs a thousandth wrong still falls inside.
	reach := max(20*step, 10*al.U, (to-from)/1000)
	var off [2]Alignment
	for k, w := range [2][2]float64{{from, mid}, {mid, to}} {
		x, err := a.Window(w[0], w[1])
		if err != nil {
			return 0, 0, false
		}
		y, err := b.Window(w[0]-reach, w[1]+reach)
		if err != nil {
			return 0, 0, false
		}
		if off[k], err = ByCorrelation(x, y, CorrelateOptions{MaxLag: reach}); err != nil {
			return 0, 0, false
		}
	}
	half := (to - from) / 2
	return (off[1].Offset - off[0].Offset) / half, math.Hypot(off[0].U, off[1].U) / half, true
}
