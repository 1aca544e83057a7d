package gum

// The loops that trials pass through. Products are converted to float64 before
// they are added, which forbids a fused multiply-add: the same seed gives the
// same numbers on every processor.

// fold says what becomes of a kernel's result t in its destination d.
type fold uint8

const (
	foldSet fold = iota // d = t
	foldAdd             // d = d + t
	foldMul             // d = d·t
)

// affine folds off + c·a into d, which may be a.
func affine(f fold, d, a []float64, off, c float64) {
	a = a[:len(d)]
	switch {
	case f == foldSet:
		for i := range d {
			d[i] = off + float64(c*a[i])
		}
	case f == foldAdd && off == 0 && c == 1:
		for i := range d {
			d[i] += a[i]
		}
	case f == foldAdd:
		for i := range d {
			d[i] += off + float64(c*a[i])
		}
	case off == 0 && c == 1:
		for i := range d {
			d[i] *= a[i]
		}
	default:
		for i := range d {
			d[i] *= off + float64(c*a[i])
		}
	}
}

// uniform folds off + c·k into d, where k has 53 random bits. The state of the
// generator is a local copy, which stays in registers.
func uniform(f fold, d []float64, off, c float64, g *rng) {
	h, u := *g, uint64(0)
	switch f {
	case foldSet:
		for i := range d {
			u, h = h.step()
			d[i] = off + float64(c*float64(int64(u>>11)))
		}
	case foldAdd:
		for i := range d {
			u, h = h.step()
			d[i] += off + float64(c*float64(int64(u>>11)))
		}
	default:
		for i := range d {
			u, h = h.step()
			d[i] *= off + float64(c*float64(int64(u>>11)))
		}
	}
	*g = h
}

// draw folds off + c·x into d, where x follows the ziggurat's density. The
// three loops are the same but for their last line; each has its own so that
// nothing but the draw is inside.
func (z *ziggurat) draw(f fold, d []float64, off, c float64, g *rng) {
	h, u := *g, uint64(0)
	switch f {
	case foldSet:
		for i := range d {
			u, h = h.step()
			l := &z.layer[u&(layers-1)]
			x := float64(int64(u)>>11) * l.w
			if x*x >= l.sure {
				x, h = z.finish(u, h)
			}
			d[i] = off + float64(c*x)
		}
	case foldAdd:
		for i := range d {
			u, h = h.step()
			l := &z.layer[u&(layers-1)]
			x := float64(int64(u)>>11) * l.w
			if x*x >= l.sure {
				x, h = z.finish(u, h)
			}
			d[i] += off + float64(c*x)
		}
	default:
		for i := range d {
			u, h = h.step()
			l := &z.layer[u&(layers-1)]
			x := float64(int64(u)>>11) * l.w
			if x*x >= l.sure {
				x, h = z.finish(u, h)
			}
			d[i] *= off + float64(c*x)
		}
	}
	*g = h
}

// quotient divides d by a.
func quotient(d, a []float64) {
	a = a[:len(d)]
	for i := range d {
		d[i] /= a[i]
	}
}

// function sets d to o of a, which may be d itself.
func function(o op, d, a []float64, x float64) {
	a = a[:len(d)]
	if o == opPowConst && x == 2 {
		for i := range d {
			d[i] = a[i] * a[i]
		}
		return
	}
	for i := range d {
		d[i] = evalUnary(o, a[i], x)
	}
}
