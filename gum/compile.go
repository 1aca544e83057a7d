package gum

import (
	"fmt"
	"math"
	"slices"
)

// compiler turns the ancestors of some outputs into a program.
//
// It walks down from the outputs and emits each node where it is first needed,
// so that few buffers are live at a time, and hands a buffer on as soon as
// its node has been used for the last time. Sums and products are flattened
// over operands that nothing else uses, and an input drawn for a single use is
// folded into the sum or product it enters, without a buffer of its own.
type compiler struct {
	g     *Graph
	p     *program
	total []int32 // uses of each node
	left  []int32 // uses not yet emitted
	at    []int32 // buffer of each node, −1 while it has none
	free  []int32
}

// compile returns a program for outs. The caller holds g.mu.
func (g *Graph) compile(outs []Value) *program {
	n := len(g.nodes)
	c := &compiler{g: g, p: &program{}, total: make([]int32, n), at: make([]int32, n)}
	for i := range c.at {
		c.at[i] = -1
	}
	seen := map[int32]bool{}
	for _, v := range outs {
		c.total[v.i]++
		if !g.nodes[v.i].varies || seen[v.i] {
			continue
		}
		g.ancestors(v.i, nil)
		var buf [2]int32
		for _, i := range g.sweep.order {
			if !seen[i] {
				seen[i] = true
				c.note(i)
				for _, a := range g.operandsOf(i, &buf) {
					c.total[a]++
				}
			}
		}
	}
	for _, v := range outs { // an output stays readable to the end of the program
		c.total[v.i]++
	}
	c.left = slices.Clone(c.total)
	for _, v := range outs {
		b, _ := c.get(v.i)
		c.p.outs = append(c.p.outs, b)
	}
	return c.p
}

// note keeps what a reader of the trials should know about input i.
func (c *compiler) note(i int32) {
	n := &c.g.nodes[i]
	if n.op != opInput {
		return
	}
	in := &c.g.inputs[n.a]
	_, t := in.Dist.(StudentT)
	if (t || in.group >= 0) && in.u > 0 && in.dof <= 2 {
		c.p.notes = append(c.p.notes, fmt.Sprintf(
			"%s follows a t distribution with %g degrees of freedom, which has no standard deviation: u of the trials does not settle", c.g.describe(i), in.dof))
	}
}

func (c *compiler) emit(in instr) { c.p.code = append(c.p.code, in) }

// alloc returns a buffer that is not in use.
func (c *compiler) alloc() int32 {
	if k := len(c.free) - 1; k >= 0 {
		b := c.free[k]
		c.free = c.free[:k]
		return b
	}
	c.p.buffers++
	return int32(c.p.buffers - 1)
}

func (c *compiler) release(buf int32, owned bool) {
	if owned {
		c.free = append(c.free, buf)
	}
}

// get returns a buffer that holds node i, emitting it when it is new. owned
// says that this was its last use: the caller may change or release it.
func (c *compiler) get(i int32) (buf int32, owned bool) {
	if c.at[i] < 0 {
		c.at[i] = c.value(i)
	}
	c.left[i]--
	return c.at[i], c.left[i] == 0
}

// single reports whether node i has one use only, so that it may be merged
// into its user.
func (c *compiler) single(i int32) bool { return c.total[i] == 1 }

// value emits node i and returns its buffer.
func (c *compiler) value(i int32) int32 {
	n := &c.g.nodes[i]
	if !n.varies {
		d := c.alloc()
		c.emit(instr{code: codeConst, d: d, off: c.g.est[i]})
		return d
	}
	switch n.op {
	case opInput:
		if k := c.g.inputs[n.a].group; k >= 0 {
			c.joint(k)
			return c.at[i]
		}
		d := c.alloc()
		c.draw(foldSet, d, n.a, 0, 1)
		return d
	case opAdd, opSub, opAddConst, opScale, opNeg, opSum, opWeighted:
		return c.sum(i)
	case opMul, opDiv:
		return c.product(i, 1)
	}
	var list [2]int32
	in := instr{code: codeFunc, op: n.op, c: n.x, d: -1}
	if n.op == opInterp {
		in.code = codeInterp
	} else if n.op == opCustom {
		in.code, in.custom = codeCustom, &c.g.custom[n.c]
	}
	owned := make([]bool, 0, 2)
	operands := c.g.operandsOf(i, &list)
	for _, a := range operands { // all are emitted before any of them counts as used
		if c.at[a] < 0 {
			c.at[a] = c.value(a)
		}
	}
	for _, a := range operands {
		b, o := c.get(a)
		in.args, owned = append(in.args, b), append(owned, o)
	}
	for k, o := range owned { // overwrite an operand whose last use this is
		if o && in.d < 0 {
			in.d = in.args[k]
		} else {
			c.release(in.args[k], o)
		}
	}
	if in.d < 0 {
		in.d = c.alloc()
	}
	in.a = in.args[0]
	if len(in.args) > 1 {
		in.b = in.args[1]
	}
	c.emit(in)
	return in.d
}

// draw emits the folding of add + mul·input into buffer d.
func (c *compiler) draw(f fold, d, ordinal int32, add, mul float64) {
	s := c.g.inputs[ordinal].Dist.sampler()
	in := instr{code: codeDraw, fold: f, shape: s.shape, d: d, stream: uint64(ordinal),
		off: add + float64(mul*s.off), c: mul * s.scale, param: s.param}
	switch s.shape {
	case shapeNone:
		in.code = codeConst
		if f != foldSet {
			panic("gum: a constant is folded while compiling")
		}
	case shapeZiggurat:
		in.zig = c.ziggurat(s.param)
	}
	c.emit(in)
}

// ziggurat returns the tables for t with nu degrees of freedom. The graph keeps
// them, because they take a few milliseconds to make.
func (c *compiler) ziggurat(nu float64) *ziggurat {
	z, ok := c.g.zigs[nu]
	if !ok {
		z = newZiggurat(nu)
		c.g.zigs[nu] = z
	}
	return z
}

// joint emits a whole group of correlated inputs: standard normal draws,
// multiplied by the root of the covariance matrix from the last row up, which
// can be done in place.
func (c *compiler) joint(k int32) {
	j := &c.g.groups[k]
	last := 0
	for r := range j.n {
		if c.total[c.g.inputs[int(j.first)+r].node] > 0 {
			last = r
		}
	}
	normal := c.ziggurat(math.Inf(1))
	bufs := make([]int32, last+1)
	for r := range bufs {
		bufs[r] = c.alloc()
		c.emit(instr{code: codeDraw, shape: shapeZiggurat, d: bufs[r], stream: uint64(int(j.first) + r), c: 1, zig: normal})
	}
	heavy := int32(-1)
	if !math.IsInf(j.dof, 1) {
		heavy = c.alloc()
		c.p.normal = normal
		c.emit(instr{code: codeChi, d: heavy, stream: groupStream + uint64(k), c: j.dof})
	}
	for r := last; r >= 0; r-- {
		i := c.g.inputs[int(j.first)+r].node
		if c.total[i] == 0 {
			c.release(bufs[r], true) // nothing emitted below writes to it before the rows above have read it
			continue
		}
		d := bufs[r]
		c.emit(instr{code: codeAffine, d: d, a: d, c: j.root[r*j.n+r]})
		for s := range r {
			if w := j.root[r*j.n+s]; w != 0 {
				c.emit(instr{code: codeAffine, fold: foldAdd, d: d, a: bufs[s], c: w})
			}
		}
		if heavy >= 0 {
			c.emit(instr{code: codeAffine, fold: foldMul, d: d, a: heavy, c: 1})
		}
		c.emit(instr{code: codeAffine, d: d, a: d, off: c.g.est[i], c: 1})
		c.at[i] = d
	}
	if heavy >= 0 {
		c.release(heavy, true)
	}
}

// groupStream keeps the streams of joint groups apart from those of inputs.
const groupStream = 1 << 40
