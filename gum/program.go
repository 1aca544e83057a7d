package gum

import "math"

// lane is how many trials pass through a program at a time. A few buffers of
// this length and the tables of the ziggurats stay in a first-level cache.
const lane = 1024

// code is the kind of an instruction.
type code uint8

const (
	codeConst  code = iota // d = off
	codeAffine             // d ⟵ off + c·a
	codeDraw               // d ⟵ off + c·draw of the sampler's shape
	codeChi                // d = √(ν/χ²), with ν in c
	codeDiv                // d = d/a
	codeFunc               // d = op(a), or power a^b
	codeInterp             // d = interpolation of args
	codeCustom             // d = custom function of args
)

// instr is one pass over the trials of a lane. Buffers are numbered.
type instr struct {
	code   code
	fold   fold
	op     op
	shape  shape
	d, a   int32
	b      int32 // second operand of a power
	stream uint64
	off, c float64
	param  float64
	zig    *ziggurat
	args   []int32
	custom *customOp
}

// program computes trials of the outputs and of nothing else.
type program struct {
	code    []instr
	buffers int
	outs    []int32 // buffer of each output
	normal  *ziggurat
	notes   []string
}

// machine runs a program. Every worker has its own.
type machine struct {
	*program
	seed    uint64
	buf     [][]float64
	scratch []float64
	x       []float64
}

func newMachine(p *program, seed uint64) *machine {
	m := &machine{program: p, seed: seed, scratch: make([]float64, lane)}
	block := make([]float64, p.buffers*lane)
	for k := range p.buffers {
		m.buf = append(m.buf, block[k*lane:(k+1)*lane:(k+1)*lane])
	}
	widest := 0
	for k := range p.code {
		widest = max(widest, len(p.code[k].args))
	}
	m.x = make([]float64, widest)
	return m
}

// run computes the n trials of one lane. They depend on the seed, the number
// of the lane and the ordinals of the inputs only.
func (m *machine) run(number uint64, n int) {
	for k := range m.code {
		in := &m.code[k]
		d := m.buf[in.d][:n]
		switch in.code {
		case codeConst:
			for i := range d {
				d[i] = in.off
			}
		case codeAffine:
			affine(in.fold, d, m.buf[in.a], in.off, in.c)
		case codeDraw:
			m.draw(in, d, number)
		case codeChi:
			g := newRNG(m.seed, in.stream, number)
			inverseChi(in.c, d, m.normal, &g)
		case codeDiv:
			quotient(d, m.buf[in.a])
		case codeFunc:
			a := m.buf[in.a][:n]
			if in.op == opPow {
				for i, b := range m.buf[in.b][:n] {
					d[i] = math.Pow(a[i], b)
				}
			} else {
				function(in.op, d, a, in.c)
			}
		default:
			m.call(in, d)
		}
	}
}

// draw folds one lane of an input into d.
func (m *machine) draw(in *instr, d []float64, number uint64) {
	g := newRNG(m.seed, in.stream, number)
	switch in.shape {
	case shapeUniform:
		uniform(in.fold, d, in.off, in.c, &g)
	case shapeZiggurat:
		in.zig.draw(in.fold, d, in.off, in.c, &g)
	default:
		bounded(in.shape, in.param, m.scratch[:len(d)], &g)
		affine(in.fold, d, m.scratch, in.off, in.c)
	}
}

// call evaluates an operation on a list of operands trial by trial.
func (m *machine) call(in *instr, d []float64) {
	x := m.x[:len(in.args)]
	for i := range d {
		for k, a := range in.args {
			x[k] = m.buf[a][i]
		}
		if in.code == codeInterp {
			d[i] = evalInterp(x[0], x[1], x[2], x[3], x[4])
		} else {
			d[i] = in.custom.f(x)
		}
	}
}
