package tally

import (
	"context"

	"railtally/gum"
)

// Simulation is the Monte Carlo evaluation of a tally's totals and
// differences, beside the linear one (JCGM 101).
type Simulation struct {
	Trials   int
	Seed     uint64
	Digits   int // significant digits of U to which the two are compared
	Warnings []string
	Figures  []SimulatedFigure
}

// SimulatedFigure compares both evaluations of one figure.
type SimulatedFigure struct {
	Name       string
	Linear     Figure
	Simulated  gum.MCOutput
	Validation gum.Validation
}

// Agrees tells whether the linear result of every figure is good to the
// simulation's digits.
func (s *Simulation) Agrees() bool {
	for _, f := range s.Figures {
		if !f.Validation.Valid {
			return false
		}
	}
	return true
}

// Simulate evaluates all totals and differences by simulation and compares
// them with the linear figures to two significant digits of u (JCGM 101
// clause 8). opt.Level is set to the tally's.
func (t *Tally) Simulate(ctx context.Context, opt gum.MCOptions) (*Simulation, error) {
	const digits = 2
	opt.Level = t.Level
	sim := &Simulation{Digits: digits}
	var outs []gum.Value
	add := func(name string, f Figure) {
		sim.Figures = append(sim.Figures, SimulatedFigure{Name: name, Linear: f})
		outs = append(outs, f.Value)
	}
	for _, b := range t.Boards {
		for _, s := range b.States {
			if s.Complete {
				add(s.On().String(), s.Total)
			}
		}
	}
	for _, d := range t.Differences {
		add(d.First.On().String()+" − "+d.Second.On().String(), d.Difference)
	}
	if len(outs) == 0 {
		return sim, nil
	}
	res, err := t.Graph.MonteCarlo(ctx, opt, outs...)
	if err != nil {
		return nil, err
	}
	sim.Trials, sim.Seed, sim.Warnings = res.Trials, res.Seed, res.Warnings
	for i := range sim.Figures {
		f := &sim.Figures[i]
		f.Simulated = res.Outputs[i]
		linear := gum.Result{Estimate: f.Linear.Estimate, U: f.Linear.U, DOF: f.Linear.DOF}
		f.Validation = gum.Compare(linear, f.Simulated, t.Level, digits)
	}
	return sim, nil
}
