package gum

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Cov returns the covariance of two results (JCGM 100 F.1.2.3, H.9): the sum
// over shared inputs of the product of sensitivities times variance, and over
// joint groups with their covariance matrix.
func (g *Graph) Cov(a, b Value) (float64, error) {
	m, err := g.CovMatrix(a, b)
	if err != nil {
		return 0, err
	}
	return m.At(0, 1), nil
}

// Corr returns the correlation coefficient of two results. It is an error when
// one of them has no uncertainty.
func (g *Graph) Corr(a, b Value) (float64, error) {
	m, err := g.CorrMatrix(a, b)
	if err != nil {
		return 0, err
	}
	return m.At(0, 1), nil
}

// CovMatrix returns the covariance matrix of vs.
func (g *Graph) CovMatrix(vs ...Value) (*mat.SymDense, error) {
	if len(vs) == 0 {
		return nil, fmt.Errorf("covariance matrix of no values")
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	ds := make([]*gradient, len(vs))
	for k, v := range vs {
		g.own(v)
		d, err := g.evaluate(v)
		if err != nil {
			return nil, err
		}
		ds[k] = d
	}
	m := mat.NewSymDense(len(vs), nil)
	for i := range ds {
		for j := i; j < len(ds); j++ {
			m.SetSym(i, j, g.covariance(ds[i], ds[j]))
		}
	}
	return m, nil
}

// CorrMatrix returns the correlation matrix of vs. It is an error when one of
// them has no uncertainty.
func (g *Graph) CorrMatrix(vs ...Value) (*mat.SymDense, error) {
	m, err := g.CovMatrix(vs...)
	if err != nil {
		return nil, err
	}
	u := make([]float64, len(vs))
	for k := range u {
		if u[k] = math.Sqrt(m.At(k, k)); u[k] == 0 {
			return nil, fmt.Errorf("correlation of value %d, which has no uncertainty", k)
		}
	}
	for i := range u {
		m.SetSym(i, i, 1)
		for j := i + 1; j < len(u); j++ {
			r := m.At(i, j) / u[i] / u[j]
			m.SetSym(i, j, min(1, max(-1, r))) // beyond by rounding only
		}
	}
	return m, nil
}

// covariance is the sparse product of two gradients with the covariance of the
// inputs, by a walk along both ascending lists at once.
func (g *Graph) covariance(a, b *gradient) float64 {
	s := 0.0
	for i, j := 0, 0; i < len(a.ordinals) && j < len(b.ordinals); {
		x, y := &g.inputs[a.ordinals[i]], &g.inputs[b.ordinals[j]]
		switch {
		case x == y && x.group < 0:
			s += (a.c[i] * x.u) * (b.c[j] * x.u)
			i, j = i+1, j+1
		case x.group >= 0 && x.group == y.group:
			i2, j2 := g.groupEnd(a, i), g.groupEnd(b, j)
			for k := i; k < i2; k++ {
				s += a.c[k] * g.groups[x.group].row(a.ordinals[k], b.ordinals[j:j2], b.c[j:j2])
			}
			i, j = i2, j2
		case a.ordinals[i] < b.ordinals[j]:
			i++
		default:
			j++
		}
	}
	return s
}

// groupEnd returns the end of the run of entries from k on that belong to the
// joint group of entry k.
func (g *Graph) groupEnd(d *gradient, k int) int {
	group := g.inputs[d.ordinals[k]].group
	for k < len(d.ordinals) && g.inputs[d.ordinals[k]].group == group {
		k++
	}
	return k
}

// Sensitivity returns the partial derivative of result by input at the
// estimates. It is zero where result does not depend on input, and NaN where
// it has no finite gradient. It panics when input is not an input or constant
// of the graph.
func (g *Graph) Sensitivity(result, input Value) float64 {
	g.own(result)
	g.own(input)
	n := &g.nodes[input.i]
	if n.op == opConst {
		return 0
	}
	if n.op != opInput {
		panic("gum: sensitivity to " + g.describe(input.i) + ", which is not an input")
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	d, err := g.evaluate(result)
	if err != nil {
		return math.NaN()
	}
	return d.by(n.a)
}

// by returns the sensitivity to the input with the given ordinal.
func (d *gradient) by(ordinal int32) float64 {
	lo, hi := 0, len(d.ordinals)
	for lo < hi {
		if m := (lo + hi) / 2; d.ordinals[m] < ordinal {
			lo = m + 1
		} else {
			hi = m
		}
	}
	if lo < len(d.ordinals) && d.ordinals[lo] == ordinal {
		return d.c[lo]
	}
	return 0
}
