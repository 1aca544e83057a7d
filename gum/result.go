package gum

import (
	"fmt"
	"math"
)

// A Result is the outcome of the law of propagation of uncertainty for one
// value.
type Result struct {
	Estimate float64
	U        float64 // combined standard uncertainty (JCGM 100 5.1, 5.2)
	DOF      float64 // effective degrees of freedom (G.2b), often +Inf
	// Warnings tell what the figures leave out or had to assume.
	Warnings []string
}

// Result evaluates v by the law of propagation of uncertainty.
//
// The variance is Σ cᵢcⱼ·cov(xᵢ,xⱼ) with sensitivities c at the estimates
// (JCGM 100 eq. 13). The effective degrees of freedom follow
// Welch–Satterthwaite (eq. G.2b) over independent components, where a group of
// [Graph.Joint] counts as one component. They are not truncated.
//
// The error is the graph's fault, or names the node where the estimate or a
// sensitivity is not finite.
func (g *Graph) Result(v Value) (Result, error) {
	g.own(v)
	g.mu.Lock()
	defer g.mu.Unlock()
	d, err := g.evaluate(v)
	if err != nil {
		return Result{}, err
	}
	r := Result{Estimate: g.est[v.i]}
	var variance, below float64
	g.components(d, func(from, to int, part float64) {
		variance += part
		dof := g.inputs[d.ordinals[from]].dof
		below += part * part / dof // zero for infinite dof
		if k := g.inputs[d.ordinals[from]].group; k >= 0 && g.groups[k].note != "" {
			r.Warnings = append(r.Warnings, g.groups[k].note)
		}
	})
	r.U = math.Sqrt(variance)
	r.DOF = effective(variance, below)
	r.Warnings = append(r.Warnings, g.flatWarnings(d, r.U)...)
	return r, nil
}

// effective is the Welch–Satterthwaite formula for a variance and the sum of
// its squared components over their degrees of freedom.
func effective(variance, below float64) float64 {
	if variance == 0 || below == 0 {
		return math.Inf(1)
	}
	return variance * (variance / below)
}

// evaluate returns the gradient of v, or why there is none. The caller holds g.mu.
func (g *Graph) evaluate(v Value) (*gradient, error) {
	if g.fault != nil {
		return nil, g.fault
	}
	d := g.gradient(v.i)
	return d, d.err
}

// components calls f for each independent component of d: entries from..to of
// its lists and their part of the variance. A joint group is one component.
func (g *Graph) components(d *gradient, f func(from, to int, part float64)) {
	for from := 0; from < len(d.ordinals); {
		in := &g.inputs[d.ordinals[from]]
		to := from + 1
		if in.group < 0 {
			cu := d.c[from] * in.u
			f(from, to, cu*cu)
			from = to
			continue
		}
		for to < len(d.ordinals) && g.inputs[d.ordinals[to]].group == in.group {
			to++
		}
		part := 0.0
		for k := from; k < to; k++ {
			part += d.c[k] * g.groups[in.group].row(d.ordinals[k], d.ordinals[from:to], d.c[from:to])
		}
		f(from, to, max(0, part)) // rounding must not make a variance negative
		from = to
	}
}

// row returns Σⱼ cov(xᵢ,xⱼ)·cⱼ over the members that ordinals lists.
func (j *jointGroup) row(i int32, ordinals []int32, c []float64) float64 {
	s := 0.0
	cov := j.cov[int(i-j.first)*j.n:]
	for k, o := range ordinals {
		s += cov[o-j.first] * c[k]
	}
	return s
}

// flatWarnings tells where a zero sensitivity hides a contribution that would
// add half a percent or more to the standard uncertainty u.
func (g *Graph) flatWarnings(d *gradient, u float64) []string {
	const tenth = 0.1
	var out []string
	for _, f := range d.flat {
		missed := math.Abs(f.adjoint) * g.secondOrder(f)
		if missed > tenth*u || u == 0 && g.uncertainty(f.arg) > 0 {
			out = append(out, fmt.Sprintf("%s is flat in %s at the estimates; the first-order law leaves out about %.2g; compare with Monte Carlo",
				g.describe(f.node), g.describe(f.arg), missed))
		}
	}
	return out
}

// secondOrder estimates the standard uncertainty that node f.node gets from
// its curvature: u(a)·u(b) for a product with a zero factor (times √2 for a
// square), ½|f″|·√2·u² for a function of one operand, the mean absolute value
// itself for |x| at zero, taken as u.
func (g *Graph) secondOrder(f flatSpot) float64 {
	n := &g.nodes[f.node]
	u := g.uncertainty(f.arg)
	switch n.op {
	case opMul:
		if n.a == n.b {
			return math.Sqrt2 * u * u
		}
		return g.uncertainty(n.a) * g.uncertainty(n.b)
	case opDiv:
		b := g.est[n.b]
		return g.uncertainty(n.a) * g.uncertainty(n.b) / (b * b)
	case opAbs:
		return u
	case opInterp:
		args := g.arguments(n)
		return u * math.Hypot(g.uncertainty(args[2]), g.uncertainty(args[4])) / math.Abs(g.est[args[3]]-g.est[args[1]])
	case opPow:
		if f.arg == n.b { // flat in the exponent where the base is one
			return g.uncertainty(n.a) * u
		}
		return math.Abs(unaryCurvature(opPowConst, g.est[n.a], g.est[n.b], 0)) * u * u / math.Sqrt2
	}
	return math.Abs(unaryCurvature(n.op, g.est[n.a], n.x, g.est[f.node])) * u * u / math.Sqrt2
}

// uncertainty returns the first-order standard uncertainty of node i, or zero
// where there is none.
func (g *Graph) uncertainty(i int32) float64 {
	d := g.gradient(i)
	variance := 0.0
	if d.err == nil {
		g.components(d, func(_, _ int, part float64) { variance += part })
	}
	return math.Sqrt(variance)
}

// K returns the coverage factor for probability p: the quantile t_p(DOF) of
// Student's distribution (JCGM 100 G.3), exact for degrees of freedom that are
// not whole numbers. It is NaN unless 0 < p < 1.
func (r Result) K(p float64) float64 { return coverageFactor(p, r.DOF) }

// KTruncated is K with the degrees of freedom cut down to a whole number, as
// the Guide does (G.4.1). Less than one is left as it is.
func (r Result) KTruncated(p float64) float64 {
	return coverageFactor(p, max(math.Floor(r.DOF), min(r.DOF, 1)))
}

// Expanded returns the expanded uncertainty K(p)·U.
func (r Result) Expanded(p float64) float64 { return r.K(p) * r.U }

// Interval returns the coverage interval Estimate ± Expanded(p).
func (r Result) Interval(p float64) (lo, hi float64) {
	e := r.Expanded(p)
	return r.Estimate - e, r.Estimate + e
}

// coverageFactor returns t_p(dof), two-sided.
func coverageFactor(p, dof float64) float64 {
	if !(p > 0 && p < 1) || !(dof > 0) {
		return math.NaN()
	}
	upper := 0.5 + p/2
	return tQuantile(upper, dof)
}

// DOFFromReliability returns the degrees of freedom ½·(Δu/u)⁻² of a standard
// uncertainty that is itself known to the given relative uncertainty
// (JCGM 100 eq. G.3): 0.25 gives 8.
func DOFFromReliability(relative float64) float64 { return 0.5 / (relative * relative) }
