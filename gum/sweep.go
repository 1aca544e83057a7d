package gum

import (
	"fmt"
	"slices"
)

// gradient is the sparse first-order picture of one result: the inputs it
// depends on, by ascending ordinal, and its sensitivity to each.
type gradient struct {
	ordinals []int32
	c        []float64
	flat     []flatSpot
	err      error
}

// flatSpot is a node whose slope by the operand arg is zero although it is not
// constant in it, so that the first-order law misses a contribution.
type flatSpot struct {
	node, arg int32
	adjoint   float64
}

// sweeper holds the working arrays of a reverse sweep. They are as long as the
// graph and are reused: a stamp says which entries belong to the sweep under way.
type sweeper struct {
	adjoint  []float64
	stamp    []uint32
	now      uint32
	order    []int32 // ancestors that vary, operands before the node
	stack    []frame
	x, slope []float64
	list     [2]int32
}

// frame is a node under way in the depth-first walk, and its next operand.
type frame struct {
	node int32
	next int
}

// gradient returns the gradient of node i, from the cache where it was asked
// for before. The caller holds g.mu.
func (g *Graph) gradient(i int32) *gradient {
	if n := len(g.nodes); len(g.cache) < n {
		g.cache = append(g.cache, make([]*gradient, n-len(g.cache))...)
	}
	if d := g.cache[i]; d != nil {
		return d
	}
	d := &gradient{err: g.domain(i)}
	if d.err == nil && g.nodes[i].varies {
		g.reverse(i, d)
	}
	g.cache[i] = d
	return d
}

// known returns the gradient of a node below root that was asked for before,
// so that the sweep need not go below it; nil where there is none to use.
func (g *Graph) known(i, root int32) *gradient {
	if d := g.cache[i]; i != root && d != nil && d.err == nil && g.nodes[i].op != opInput {
		return d
	}
	return nil
}

// domain returns an error that names the first node below i, in the order of
// recording, whose estimate is not finite.
func (g *Graph) domain(i int32) error {
	if y := g.est[i]; y-y == 0 {
		return nil
	}
	for {
		bad := int32(-1)
		for _, a := range g.operandsOf(i, &g.sweep.list) {
			if y := g.est[a]; y-y != 0 {
				bad = a
				break
			}
		}
		if bad < 0 {
			return fmt.Errorf("%s is %g", g.describe(i), g.est[i])
		}
		i = bad
	}
}

// reverse computes d by reverse accumulation over the ancestors of root only,
// and over those below a node whose gradient is known not at all: by the chain
// rule that gradient, times the node's adjoint, is all that they contribute. A
// difference of two totals costs two vectors, not two graphs.
func (g *Graph) reverse(root int32, d *gradient) {
	s := &g.sweep
	g.ancestors(root, g.known)
	for _, i := range s.order {
		s.adjoint[i] = 0
	}
	s.adjoint[root] = 1
	for k := len(s.order) - 1; k >= 0; k-- {
		i := s.order[k]
		if g.nodes[i].op == opInput {
			d.ordinals = append(d.ordinals, g.nodes[i].a)
			continue
		}
		if sub := g.known(i, root); sub != nil {
			if !g.chain(s.adjoint[i], sub, d) {
				d.err = fmt.Errorf("sensitivity of %s to what is below %s is not finite", g.describe(root), g.describe(i))
				return
			}
			continue
		}
		if err := g.distribute(i, d); err != nil {
			d.err = err
			return
		}
	}
	slices.Sort(d.ordinals)
	d.c = make([]float64, len(d.ordinals))
	for k, o := range d.ordinals {
		d.c[k] = s.adjoint[g.inputs[o].node]
	}
}

// chain adds a known gradient, times the adjoint of its node, and reports
// whether all of that is finite.
func (g *Graph) chain(adj float64, sub, d *gradient) bool {
	s := &g.sweep
	for k, o := range sub.ordinals {
		i := g.inputs[o].node
		if s.stamp[i] != s.now { // reached through known gradients only
			s.stamp[i] = s.now
			s.adjoint[i] = 0
			d.ordinals = append(d.ordinals, o)
		}
		t := adj * sub.c[k]
		if t-t != 0 {
			return false
		}
		s.adjoint[i] += t
	}
	if adj == 0 {
		return true // nothing below matters, flat or not
	}
	for _, f := range sub.flat {
		d.flat = append(d.flat, flatSpot{f.node, f.arg, adj * f.adjoint})
	}
	return true
}

// ancestors lists in order what root depends on, each node after its operands.
// Nodes that known has a gradient for stand for what is below them; a nil known
// goes down to the inputs.
func (g *Graph) ancestors(root int32, known func(i, root int32) *gradient) {
	s := &g.sweep
	if n := len(g.nodes); len(s.stamp) < n {
		s.stamp = append(s.stamp, make([]uint32, n-len(s.stamp))...)
		s.adjoint = append(s.adjoint, make([]float64, n-len(s.adjoint))...)
	}
	s.now++
	if s.now == 0 { // wrapped round: old stamps must not look new
		clear(s.stamp)
		s.now = 1
	}
	s.order = s.order[:0]
	s.stack = append(s.stack[:0], frame{node: root})
	s.stamp[root] = s.now
	for len(s.stack) > 0 {
		top := &s.stack[len(s.stack)-1]
		var args []int32
		if known == nil || known(top.node, root) == nil {
			args = g.operandsOf(top.node, &s.list)
		}
		for top.next < len(args) {
			a := args[top.next]
			if s.stamp[a] != s.now && g.nodes[a].varies {
				break
			}
			top.next++
		}
		if top.next < len(args) {
			a := args[top.next]
			top.next++
			s.stamp[a] = s.now
			s.stack = append(s.stack, frame{node: a})
			continue
		}
		s.order = append(s.order, top.node)
		s.stack = s.stack[:len(s.stack)-1]
	}
}

// operandsOf returns the operands of node i, using buf for the short lists.
func (g *Graph) operandsOf(i int32, buf *[2]int32) []int32 {
	n := &g.nodes[i]
	switch {
	case n.op == opConst || n.op == opInput:
		return nil
	case n.op.nary():
		return g.arguments(n)
	case n.op.binary():
		buf[0], buf[1] = n.a, n.b
		return buf[:2]
	}
	buf[0] = n.a
	return buf[:1]
}

// distribute adds the adjoint of node i, times its slopes, to its operands.
func (g *Graph) distribute(i int32, d *gradient) error {
	s, n := &g.sweep, &g.nodes[i]
	adj := s.adjoint[i]
	if adj == 0 {
		return nil
	}
	args := g.operandsOf(i, &s.list)
	slopes := g.slopes(i, args)
	for k, a := range args {
		if !g.nodes[a].varies {
			continue
		}
		t := adj * slopes[k]
		if t-t != 0 {
			return fmt.Errorf("sensitivity of %s to its operand %s = %g is not finite", g.describe(i), g.describe(a), g.est[a])
		}
		if slopes[k] == 0 && g.curved(n, a, args) {
			d.flat = append(d.flat, flatSpot{i, a, adj})
		}
		s.adjoint[a] += t
	}
	return nil
}

// slopes returns the partial derivatives of node i by args. The slice is
// reused by the next call.
func (g *Graph) slopes(i int32, args []int32) []float64 {
	s, n := &g.sweep, &g.nodes[i]
	if cap(s.slope) < len(args) || cap(s.slope) < 2 {
		s.slope, s.x = make([]float64, max(8, len(args))), make([]float64, max(8, len(args)))
	}
	dst := s.slope[:len(args)]
	switch {
	case n.op == opSum:
		for k := range dst {
			dst[k] = n.x
		}
	case n.op == opWeighted:
		copy(dst, g.coefs[n.c:])
	case n.op == opInterp:
		interpSlopes(g.operands(args, s.x[:len(args)]), dst)
	case n.op == opCustom:
		clear(dst)
		g.custom[n.c].grad(g.operands(args, s.x[:len(args)]), dst)
	case n.op.binary():
		dst[0], dst[1] = binarySlopes(n.op, g.est[n.a], g.est[n.b], g.est[i], g.nodes[n.b].varies)
	default:
		dst[0] = unarySlope(n.op, g.est[n.a], n.x, g.est[i])
	}
	return dst
}

// curved reports whether node n, flat in its operand a, still changes with it
// in second order.
func (g *Graph) curved(n *node, a int32, args []int32) bool {
	switch n.op {
	case opMul, opDiv: // flat in one factor where the other is zero
		return g.nodes[n.a].varies && g.nodes[n.b].varies
	case opPowConst:
		return n.x != 0
	case opPow, opSin, opCos, opAbs:
		return true
	case opInterp:
		return a == args[0] || a == args[1] || a == args[3]
	}
	return false
}
