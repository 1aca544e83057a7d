package gum

import (
	"fmt"
	"strings"
)

// describe writes node i as an expression, for messages. Operands deeper than
// two levels are cut short.
func (g *Graph) describe(i int32) string { return g.expression(i, 2) }

func (g *Graph) expression(i int32, depth int) string {
	n := &g.nodes[i]
	switch n.op {
	case opConst:
		return fmt.Sprintf("%g", g.est[i])
	case opInput:
		if name := g.inputs[n.a].Name; name != "" {
			return fmt.Sprintf("%q", name)
		}
		return fmt.Sprintf("input %d", n.a)
	}
	if depth == 0 {
		return "…"
	}
	var buf [2]int32
	var parts []string
	for k, a := range g.operandsOf(i, &buf) {
		if k == 3 {
			parts = append(parts, "…")
			break
		}
		parts = append(parts, g.expression(a, depth-1))
	}
	name := n.op.String()
	switch n.op {
	case opCustom:
		name = g.custom[n.c].name
	case opAddConst, opScale, opPowConst:
		parts = append(parts, fmt.Sprintf("%g", n.x))
	}
	return name + "(" + strings.Join(parts, ", ") + ")"
}
