package cooling

import (
	"math"

	"railtally/gum"
	"railtally/internal/tally"
)

// custom records a function whose gradient is taken by central differences.
// Steps of 1e-4 of the argument leave errors of about 1e-8 of smooth functions
// that are good to twelve digits.
func custom(name string, f func([]float64) float64, vs ...gum.Value) gum.Value {
	return gum.Custom(name, f, func(x, dst []float64) {
		at := append([]float64(nil), x...)
		for i, v := range x {
			h := 1e-4 * math.Max(math.Abs(v), 1e-2)
			at[i] = v + h
			up := f(at)
			at[i] = v - h
			dst[i] = (up - f(at)) / (2 * h)
			at[i] = v
		}
	}, vs...)
}

// figure evaluates a value of the graph at a level.
func figure(g *gum.Graph, v gum.Value, level float64) (tally.Figure, error) {
	r, err := g.Result(v)
	if err != nil {
		return tally.Figure{}, err
	}
	k := r.K(level)
	return tally.Figure{Value: v, Estimate: r.Estimate, U: r.U, DOF: r.DOF, K: k, Expanded: k * r.U, Warnings: r.Warnings}, nil
}
