package tally

import "railtally/gum"

// Figure is one result as it is stated: an estimate with its interval. Value
// leads back to everything it was computed from.
type Figure struct {
	Value    gum.Value
	Estimate float64
	U        float64 // standard uncertainty
	DOF      float64 // effective degrees of freedom; +Inf allowed
	K        float64 // coverage factor at the tally's level
	Expanded float64 // K·U, the half-width of the interval
	Warnings []string
}

// Lo is the lower end of the coverage interval.
func (f Figure) Lo() float64 { return f.Estimate - f.Expanded }

// Hi is the upper end of the coverage interval.
func (f Figure) Hi() float64 { return f.Estimate + f.Expanded }

// Figure evaluates a value of the graph at the tally's level.
func (t *Tally) Figure(v gum.Value) (Figure, error) {
	r, err := t.Graph.Result(v)
	if err != nil {
		return Figure{}, err
	}
	k := r.K(t.Level)
	return Figure{
		Value: v, Estimate: r.Estimate, U: r.U, DOF: r.DOF,
		K: k, Expanded: k * r.U, Warnings: r.Warnings,
	}, nil
}
