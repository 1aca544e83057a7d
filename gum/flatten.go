package gum

// term is a coefficient times a node, part of a flattened sum.
type term struct {
	node int32
	c    float64
}

// linear adds c times node i to a flattened sum: a constant and terms. It
// looks through linear operations that are used once; top says to look through
// node i itself in any case.
func (c *compiler) linear(i int32, k float64, top bool, off *float64, terms []term) []term {
	g, n := c.g, &c.g.nodes[i]
	switch {
	case !n.varies:
		*off += float64(k * g.est[i])
		return terms
	case !top && !c.single(i):
		return append(terms, term{i, k})
	}
	switch n.op {
	case opInput:
		if s := g.inputs[n.a].Dist.sampler(); s.shape == shapeNone && g.inputs[n.a].group < 0 {
			*off += float64(k * s.off)
			return terms
		}
	case opAdd, opSub:
		terms = c.linear(n.a, k, false, off, terms)
		if n.op == opSub {
			k = -k
		}
		return c.linear(n.b, k, false, off, terms)
	case opAddConst:
		*off += float64(k * n.x)
		return c.linear(n.a, k, false, off, terms)
	case opScale:
		return c.linear(n.a, k*n.x, false, off, terms)
	case opNeg:
		return c.linear(n.a, -k, false, off, terms)
	case opSum, opWeighted:
		for j, a := range g.arguments(n) {
			w := n.x
			if n.op == opWeighted {
				w = g.coefs[int(n.c)+j]
			}
			terms = c.linear(a, k*w, false, off, terms)
		}
		return terms
	}
	return append(terms, term{i, k})
}

// drawn reports whether node i is an independent input that is used once, and
// can be folded into its user.
func (c *compiler) drawn(i int32) bool {
	n := &c.g.nodes[i]
	return n.op == opInput && c.single(i) && c.g.inputs[n.a].group < 0
}

// sum emits the linear node i.
func (c *compiler) sum(i int32) int32 {
	var off float64
	terms := c.linear(i, 1, true, &off, nil)
	if len(terms) == 0 {
		d := c.alloc()
		c.emit(instr{code: codeConst, d: d, off: off})
		return d
	}
	d, started := int32(-1), false
	for _, draws := range []bool{false, true} { // buffers first, one of them may be taken over
		for _, t := range terms {
			if c.drawn(t.node) != draws {
				continue
			}
			switch {
			case draws && !started:
				d = c.alloc()
				c.draw(foldSet, d, c.g.nodes[t.node].a, off, t.c)
			case draws:
				c.draw(foldAdd, d, c.g.nodes[t.node].a, off, t.c)
			case !started:
				d, off = c.start(t, off)
			default:
				b, owned := c.scaled(&t)
				c.emit(instr{code: codeAffine, fold: foldAdd, d: d, a: b, off: off, c: t.c})
				c.release(b, owned)
				off = 0
			}
			if draws {
				off = 0
			}
			started = true
		}
	}
	if off != 0 {
		c.emit(instr{code: codeAffine, d: d, a: d, off: off, c: 1})
	}
	return d
}

// start makes t the beginning of a sum, in a buffer that may be changed. It
// returns what is left of off.
func (c *compiler) start(t term, off float64) (int32, float64) {
	a, owned := c.scaled(&t)
	if owned && t.c == 1 {
		return a, off
	}
	d := a
	if !owned {
		d = c.alloc()
	}
	c.emit(instr{code: codeAffine, d: d, a: a, off: off, c: t.c})
	return d, 0
}

// scaled returns the buffer of t's node. A product used once takes the
// coefficient in, and leaves one.
func (c *compiler) scaled(t *term) (buf int32, owned bool) {
	n := &c.g.nodes[t.node]
	if (n.op == opMul || n.op == opDiv) && c.single(t.node) && c.at[t.node] < 0 {
		c.at[t.node] = c.product(t.node, t.c)
		t.c = 1
	}
	return c.get(t.node)
}

// factors flattens the product at node i: a constant, numerators and
// denominators, looking through products, quotients and scalings used once.
func (c *compiler) factors(i int32, top bool, k *float64, num, den []int32) (n2, d2 []int32) {
	n := &c.g.nodes[i]
	switch {
	case !n.varies:
		*k *= c.g.est[i]
		return num, den
	case !top && !c.single(i):
		return append(num, i), den
	}
	switch n.op {
	case opMul:
		num, den = c.factors(n.a, false, k, num, den)
		return c.factors(n.b, false, k, num, den)
	case opDiv:
		num, den = c.factors(n.a, false, k, num, den)
		if !c.g.nodes[n.b].varies {
			*k /= c.g.est[n.b]
			return num, den
		}
		return num, append(den, n.b)
	case opScale:
		*k *= n.x
		return c.factors(n.a, false, k, num, den)
	case opNeg:
		*k = -*k
		return c.factors(n.a, false, k, num, den)
	}
	return append(num, i), den
}

// product emits k times the product or quotient at node i.
func (c *compiler) product(i int32, k float64) int32 {
	num, den := c.factors(i, true, &k, nil, nil)
	d := int32(-1)
	var drawn []drawnFactor
	for _, f := range num {
		if t, ok := c.affineDraw(f); ok {
			drawn = append(drawn, t)
			continue
		}
		a, owned := c.get(f)
		switch {
		case d < 0 && owned:
			d = a
		case d < 0:
			d = c.alloc()
			c.emit(instr{code: codeAffine, d: d, a: a, c: k})
			k = 1
		default:
			c.emit(instr{code: codeAffine, fold: foldMul, d: d, a: a, c: k})
			c.release(a, owned)
			k = 1
		}
	}
	for _, t := range drawn {
		f := foldMul
		if d < 0 {
			d, f = c.alloc(), foldSet
		}
		c.draw(f, d, t.ordinal, k*t.off, k*t.c)
		k = 1
	}
	if d < 0 { // nothing but denominators
		d = c.alloc()
		c.emit(instr{code: codeConst, d: d, off: k})
		k = 1
	}
	if k != 1 {
		c.emit(instr{code: codeAffine, d: d, a: d, c: k})
	}
	for _, f := range den {
		a, owned := c.get(f)
		c.emit(instr{code: codeDiv, d: d, a: a})
		c.release(a, owned)
	}
	return d
}

// drawnFactor is off + c times an input.
type drawnFactor struct {
	ordinal int32
	off, c  float64
}

// affineDraw reports whether node i, used once, is an affine function of a
// single input that is used once, such as 1 + g.
func (c *compiler) affineDraw(i int32) (drawnFactor, bool) {
	if !c.single(i) {
		return drawnFactor{}, false
	}
	var off float64
	terms := c.linear(i, 1, false, &off, nil)
	if len(terms) != 1 || !c.drawn(terms[0].node) {
		return drawnFactor{}, false
	}
	ordinal := c.g.nodes[terms[0].node].a
	if c.g.inputs[ordinal].Dist.sampler().shape == shapeNone {
		return drawnFactor{}, false
	}
	return drawnFactor{ordinal, off, terms[0].c}, true
}
