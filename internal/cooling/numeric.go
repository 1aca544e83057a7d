package cooling

import (
	"math"
	"slices"
	"sync"

	"railtally/gum"
	"railtally/internal/tally"
)

// custom records a function whose gradient is taken by central differences.
// Steps of 1e-4 of the argument leave errors of about 1e-8 of smooth functions
// that are good to twelve digits. A gradient costs many evaluations and is asked
// for by everything that rests on the value, so the latest one is kept.
func custom(name string, f func([]float64) float64, vs ...gum.Value) gum.Value {
	var mu sync.Mutex
	var at, slopes []float64
	return gum.Custom(name, f, func(x, dst []float64) {
		mu.Lock()
		defer mu.Unlock()
		if !slices.Equal(x, at) {
			at, slopes = slices.Clone(x), differences(f, x)
		}
		copy(dst, slopes)
	}, vs...)
}

// differences is the gradient of f at x.
func differences(f func([]float64) float64, x []float64) []float64 {
	at, out := slices.Clone(x), make([]float64, len(x))
	for i, v := range x {
		h := 1e-4 * math.Max(math.Abs(v), 1e-2)
		at[i] = v + h
		up := f(at)
		at[i] = v - h
		out[i] = (up - f(at)) / (2 * h)
		at[i] = v
	}
	return out
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
