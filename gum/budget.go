package gum

import (
	"cmp"
	"math"
	"slices"
)

// A Share is what one input, or one group of them, contributes to the
// uncertainty of a result.
type Share struct {
	Name        string
	Tags        []Tag
	Sensitivity float64 // partial derivative; zero for a group of inputs
	InputU      float64 // standard uncertainty of the input; zero for a group
	// U is the contribution |c|·u of an input. For a group it is the square
	// root of the absolute value of its part of the variance.
	U float64
	// Fraction is the part of the result's variance, and the fractions of a
	// budget sum to one. Correlation may make a part negative. Fractions are
	// zero when the result has no uncertainty.
	Fraction float64
	DOF      float64 // degrees of freedom, of a group by Welch–Satterthwaite
}

// Budget returns the contribution of each input that v depends on, largest
// fraction first and otherwise in the order of recording. A member of a joint
// group gets c·Σⱼcⱼ·cov of the variance, so that covariances are shared
// equally between the two inputs concerned.
func (g *Graph) Budget(v Value) ([]Share, error) {
	shares, _, err := g.budget(v)
	if err != nil {
		return nil, err
	}
	sortShares(shares)
	return shares, nil
}

// BudgetBy adds the contributions to v up by the value of the tag with the
// given key, largest fraction first. An input's first tag with that key
// counts; inputs without one are in the share named "".
func (g *Graph) BudgetBy(v Value, key string) ([]Share, error) {
	inputs, variance, err := g.budget(v)
	if err != nil {
		return nil, err
	}
	var out []Share
	var below []float64 // Σ part²/dof of each group of tags
	at := map[string]int{}
	for _, s := range inputs {
		name := tagValue(s.Tags, key)
		k, ok := at[name]
		if !ok {
			k = len(out)
			at[name] = k
			out, below = append(out, Share{Name: name}), append(below, 0)
		}
		out[k].Fraction += s.Fraction
		below[k] += s.Fraction * s.Fraction / s.DOF
	}
	for k := range out {
		out[k].U = math.Sqrt(math.Abs(out[k].Fraction) * variance)
		out[k].DOF = effective(out[k].Fraction, below[k])
	}
	sortShares(out)
	return out, nil
}

// budget returns the shares in the order of recording, and the variance.
func (g *Graph) budget(v Value) ([]Share, float64, error) {
	g.own(v)
	g.mu.Lock()
	defer g.mu.Unlock()
	d, err := g.evaluate(v)
	if err != nil {
		return nil, 0, err
	}
	var variance float64
	out := make([]Share, len(d.ordinals))
	g.components(d, func(from, to int, part float64) {
		variance += part
		for k := from; k < to; k++ {
			in := &g.inputs[d.ordinals[k]]
			out[k] = Share{Name: in.Name, Tags: in.Tags, Sensitivity: d.c[k], InputU: in.u,
				U: math.Abs(d.c[k]) * in.u, Fraction: part, DOF: in.dof}
			if in.group >= 0 {
				out[k].Fraction = d.c[k] * g.groups[in.group].row(d.ordinals[k], d.ordinals[from:to], d.c[from:to])
			}
		}
	})
	for k := range out {
		if variance > 0 {
			out[k].Fraction /= variance
		} else {
			out[k].Fraction = 0
		}
	}
	return out, variance, nil
}

func sortShares(s []Share) {
	slices.SortStableFunc(s, func(a, b Share) int { return cmp.Compare(b.Fraction, a.Fraction) })
}

func tagValue(tags []Tag, key string) string {
	for _, t := range tags {
		if t.Key == key {
			return t.Value
		}
	}
	return ""
}
