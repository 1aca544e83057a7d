package gum

import (
	"fmt"
	"math"
	"slices"
	"sync"
)

// A Graph records a measurement model as it is computed. Make one with [New].
// Nodes are only ever appended, so an index is also a topological order.
type Graph struct {
	nodes  []node
	est    []float64 // estimate of each node
	args   []int32   // arguments of nodes with many
	coefs  []float64 // coefficients of weighted sums
	custom []customOp
	inputs []inputRecord
	groups []jointGroup
	fault  error

	mu    sync.Mutex // guards what follows, the state of evaluation
	sweep sweeper
	cache []*gradient // by node; nil where not asked for yet
	zigs  map[float64]*ziggurat
}

// node is one recorded operation on the nodes a and b, or on b arguments that
// start at args[a]. Constants are kept in x, a second offset in c.
type node struct {
	op      op
	varies  bool // depends on an input
	a, b, c int32
	x       float64
}

// inputRecord is an Input as it is kept, with its standard uncertainty and
// degrees of freedom worked out.
type inputRecord struct {
	Input
	u, dof float64
	node   int32
	group  int32 // index into Graph.groups, -1 for an independent input
}

// A Tag is a word about an input, such as {"cause", "gain"}, by which
// [Graph.BudgetBy] adds contributions up.
type Tag struct{ Key, Value string }

// An Input is an uncertain quantity that enters the model.
type Input struct {
	Name string
	Dist Distribution
	// DOF is the degrees of freedom of Dist's standard deviation. Zero means
	// infinitely many. It must be zero for a StudentT, which has its own.
	DOF float64
	// Tags are kept by reference; inputs may share one slice.
	Tags []Tag
}

// New returns an empty graph.
func New() *Graph { return &Graph{zigs: map[float64]*ziggurat{}} }

// Grow makes room for about so many more nodes and inputs, so that recording a
// large model does not move it about. It changes nothing else.
func (g *Graph) Grow(nodes, inputs int) {
	g.nodes = slices.Grow(g.nodes, max(nodes, 0))
	g.est = slices.Grow(g.est, max(nodes, 0))
	g.inputs = slices.Grow(g.inputs, max(inputs, 0))
}

// Err returns the first fault met while recording, or nil.
func (g *Graph) Err() error { return g.fault }

// fail keeps the first fault.
func (g *Graph) fail(format string, a ...any) {
	if g.fault == nil {
		g.fault = fmt.Errorf(format, a...)
	}
}

// Input adds an independent input and returns its value. An invalid input is
// the graph's fault, and its estimate is NaN.
func (g *Graph) Input(in Input) Value {
	u, dof, err := in.check()
	if err != nil {
		g.fail("input %q: %w", in.Name, err)
		return g.push(node{op: opConst}, math.NaN())
	}
	return g.addInput(in, in.Dist.Expectation(), u, dof, -1)
}

// check validates in and returns its standard uncertainty and degrees of freedom.
func (in Input) check() (u, dof float64, err error) {
	if in.Dist == nil {
		return 0, 0, fmt.Errorf("no distribution")
	}
	if err := in.Dist.check(); err != nil {
		return 0, 0, err
	}
	dof, err = checkDOF(in.DOF)
	if err != nil {
		return 0, 0, err
	}
	if t, ok := in.Dist.(StudentT); ok {
		if in.DOF != 0 && in.DOF != t.DOF {
			return 0, 0, fmt.Errorf("%g degrees of freedom stated beside the %g of its t distribution", in.DOF, t.DOF)
		}
		dof = t.DOF
	}
	return in.Dist.StdDev(), dof, nil
}

// checkDOF turns stated degrees of freedom into used ones: 0 is infinite.
func checkDOF(dof float64) (float64, error) {
	switch {
	case dof == 0:
		return math.Inf(1), nil
	case dof > 0: // +Inf as well
		return dof, nil
	}
	return 0, fmt.Errorf("degrees of freedom %g are not positive", dof)
}

func (g *Graph) addInput(in Input, mean, u, dof float64, group int32) Value {
	ordinal := int32(len(g.inputs))
	v := g.push(node{op: opInput, varies: true, a: ordinal}, mean)
	g.inputs = append(g.inputs, inputRecord{Input: in, u: u, dof: dof, node: v.i, group: group})
	return v
}

// Const adds an exactly known number.
func (g *Graph) Const(x float64) Value {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		g.fail("constant %g is not finite", x)
	}
	return g.push(node{op: opConst}, x)
}

// Len returns the number of nodes recorded.
func (g *Graph) Len() int { return len(g.nodes) }

func (g *Graph) push(n node, est float64) Value {
	g.nodes = append(g.nodes, n)
	g.est = append(g.est, est)
	return Value{g, int32(len(g.nodes) - 1)}
}

// arguments returns the operands of a node that has a list of them.
func (g *Graph) arguments(n *node) []int32 { return g.args[n.a : n.a+n.b] }
