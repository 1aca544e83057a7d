package tally

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"railtally/fit"
	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/study"
)

// Effects is what each factor adds on one board, estimated from all its states
// together: generalised least squares on the totals of every state in every
// sitting, with their full covariance matrix from the graph.
//
// The model is a sum: the board with every factor at its first level, plus one
// term for each further level of each factor, plus, for the interactions that
// the study names, one for each combination of further levels. Every estimate is a weighted sum
// of totals and stays in the graph, so that effects of two boards can be
// compared like any other figures.
type Effects struct {
	Board *study.Board

	// Problem says in words why nothing could be estimated; the rest is then
	// empty.
	Problem phrase.Phrase

	// Base is the board with every factor at the first level that it was
	// measured at, which Levels names. Plain tells that these are the study's
	// first levels, so that the base is the board being on and nothing more.
	Base   Effect
	Levels []study.Level
	Plain  bool
	Terms  []Effect // what each further level adds, then what levels add together
	// Together are the interactions that were estimated, Untold says in words
	// which of those asked for were not, and why.
	Together [][]string
	Untold   []phrase.Phrase
	// Share is the base's part of the fullest state's total: what being on
	// with nothing added costs.
	Share   Figure
	Fullest *State

	// Totals are what the effects were estimated from, in the order of each
	// effect's weights.
	Totals []EffectTotal
	// Observations and parameters; with as many of one as of the other
	// nothing is left over to test the sum with.
	Observations, Parameters int
	// Chi2, its probability P and the Birge ratio √(Chi2/(Observations −
	// Parameters)) tell how consistent the totals are with a sum of effects; NaN
	// where nothing is left over, or no total has an error of its own.
	Chi2, P, Birge float64
	Misfits        []Misfit // largest first
}

// Effect is what one level of a factor adds to the chip's power, or what levels
// of several factors add together beyond what each adds alone.
type Effect struct {
	Factor, Level, From string // From is the factor's first level; empty of an interaction
	// Together are the levels of an interaction; nil of the effect of one factor.
	Together []LevelChange
	// At are the levels, of factors that it acts together with, at which the
	// effect is what it is.
	At      []study.Level
	Power   Figure
	Weights []float64    // of each total, in W per W
	Rails   []RailEffect // which rails carry it, largest first
}

// EffectTotal is one total that effects were estimated from.
type EffectTotal struct {
	On      study.StateOn
	Sitting *study.Sitting
	Value   gum.Value // with the effect of its sitting
}

// RailEffect is the part of an effect that one rail carries.
type RailEffect struct {
	Rail  string
	Power Figure
}

// Misfit is how far one total lies from the sum of effects, in standard
// deviations of that distance.
type Misfit struct {
	On       study.StateOn
	Sitting  *study.Sitting
	Residual float64 // watts
	Score    float64
}

// lackOfFit is the probability below which the sum of effects is said not to
// describe the totals.
const lackOfFit = 0.05

// LacksFit tells whether the totals contradict a plain sum of effects.
func (e *Effects) LacksFit() bool { return e.P < lackOfFit }

// observation is one complete total with its design row.
type observation struct {
	state *State
	taken *Taken
	total gum.Value
}

// effects estimates what each factor adds on each board, and the steps.
func (t *Tally) effects() error {
	for _, b := range t.Boards {
		var err error
		if b.Effects, err = t.effectsOf(b); err != nil {
			return err
		}
		if b.Effects == nil {
			continue
		}
		if b.Steps, err = t.stepsOf(b); err != nil {
			return err
		}
	}
	return nil
}

// effectsOf estimates the effects of every factor on a board. It returns nil
// when the study has no factors or the board fewer than two complete states.
func (t *Tally) effectsOf(b *Board) (*Effects, error) {
	var obs []observation
	for _, s := range b.States {
		for _, tk := range s.Taken {
			if tk.Total.Valid() {
				obs = append(obs, observation{s, tk, t.Sittings.with(t.Graph, tk)})
			}
		}
	}
	states := map[*State]bool{}
	for _, o := range obs {
		states[o.state] = true
	}
	if len(t.Study.Factors) == 0 || len(states) < 2 {
		return nil, nil
	}
	d := newDesign(t.Study.Factors, t.Study.Interactions, obs)
	out := &Effects{Board: b.Board, Observations: len(obs), Parameters: len(d.terms) + 1, Fullest: Fullest(b),
		Chi2: math.NaN(), P: math.NaN(), Birge: math.NaN()}
	if out.Problem = d.confounded(); !out.Problem.IsZero() {
		return out, nil
	}
	out.Together, out.Untold = d.together, d.untold
	out.base(t.Study.Factors, obs)
	totals := make([]gum.Value, len(obs))
	for i, o := range obs {
		totals[i] = o.total
		out.Totals = append(out.Totals, EffectTotal{o.state.On(), o.taken.Sitting, o.total})
	}
	cov, err := t.Graph.CovMatrix(totals...)
	if err != nil {
		return nil, fmt.Errorf("%s: effects: %w", b.Name, err)
	}
	w, err := weights(d.matrix(), cov)
	if err != nil {
		return nil, fmt.Errorf("%s: effects: %w", b.Name, err)
	}
	if err := t.estimate(out, d, w, obs, totals); err != nil {
		return nil, fmt.Errorf("%s: effects: %w", b.Name, err)
	}
	return out, out.test(d, cov, obs)
}

// base notes which level of each factor the base stands for.
func (e *Effects) base(factors []*study.Factor, obs []observation) {
	e.Plain = true
	for _, f := range factors {
		for i, level := range f.Levels {
			if slices.ContainsFunc(obs, func(o observation) bool { return o.state.State.Level(f.Name) == level }) {
				e.Levels = append(e.Levels, study.Level{Factor: f.Name, Value: level})
				e.Plain = e.Plain && i == 0
				break
			}
		}
	}
}

// estimate turns weights into effects, in total and rail by rail.
func (t *Tally) estimate(out *Effects, d *design, w *mat.Dense, obs []observation, totals []gum.Value) error {
	for k := range len(d.terms) + 1 {
		row := mat.Row(nil, k, w)
		e := Effect{Weights: row}
		if k > 0 {
			tm := d.terms[k-1]
			e.At = d.heldAt(tm)
			if len(tm) == 1 {
				e.Factor, e.Level, e.From = tm[0].Factor, tm[0].Level, tm[0].From
			} else {
				e.Together = tm
			}
		}
		var err error
		if e.Power, err = t.Figure(gum.WeightedSum(row, totals)); err != nil {
			return err
		}
		if e.Rails, err = t.railEffects(row, obs); err != nil {
			return err
		}
		if k == 0 {
			out.Base = e
		} else {
			out.Terms = append(out.Terms, e)
		}
	}
	if out.Fullest == nil || out.Fullest.Total.Estimate <= 0 {
		return nil
	}
	var err error
	out.Share, err = t.Figure(out.Base.Power.Value.Div(out.Fullest.Total.Value))
	return err
}

// railEffects applies an effect's weights to each rail's power. A rail read in
// some of the totals only has none.
func (t *Tally) railEffects(row []float64, obs []observation) ([]RailEffect, error) {
	var out []RailEffect
	for _, r := range obs[0].state.Board.Rails {
		if r.Aside {
			continue
		}
		powers := make([]gum.Value, 0, len(obs))
		for _, o := range obs {
			for _, rt := range o.taken.Rails {
				if rt.Rail == r {
					powers = append(powers, rt.Power)
				}
			}
		}
		if len(powers) != len(obs) {
			continue
		}
		f, err := t.Figure(gum.WeightedSum(row, powers))
		if err != nil {
			return nil, err
		}
		out = append(out, RailEffect{r.Name, f})
	}
	sortByPower(out)
	return out, nil
}

// weights returns (XᵀΣ⁻¹X)⁻¹XᵀΣ⁻¹, a row for each parameter, by whitening with
// the Cholesky factor of Σ and QR (A. C. Aitken, 1935). Where Σ is not positive
// definite in floating point, every total being exact or one following from the
// others, all totals weigh the same: that too is unbiased.
func weights(x *mat.Dense, cov *mat.SymDense) (*mat.Dense, error) {
	n, p := x.Dims()
	var chol mat.Cholesky
	var l mat.TriDense
	white := mat.DenseCopyOf(x) // L⁻¹X
	whitened := chol.Factorize(cov) && chol.Cond() < 1e14
	if whitened {
		chol.LTo(&l)
		if err := white.Solve(&l, x); err != nil && !isCondition(err) {
			return nil, err
		}
	}
	identity := mat.NewDiagDense(n, nil)
	for i := range n {
		identity.SetDiag(i, 1)
	}
	var qr mat.QR
	qr.Factorize(white)
	w := mat.NewDense(p, n, nil) // (WᵀW)⁻¹Wᵀ of the whitened design W
	if err := qr.SolveTo(w, false, identity); err != nil && !isCondition(err) {
		return nil, err
	}
	if !whitened {
		return w, nil
	}
	var back mat.Dense // L⁻ᵀwᵀ = (wL⁻¹)ᵀ
	if err := back.Solve(l.T(), w.T()); err != nil && !isCondition(err) {
		return nil, err
	}
	return mat.DenseCopyOf(back.T()), nil
}

// isCondition tells a warning about conditioning, which newDesign has ruled out
// for the design itself, from an error.
func isCondition(err error) bool {
	var c mat.Condition
	return errors.As(err, &c)
}

// test compares the totals with the sum of effects.
func (e *Effects) test(d *design, cov *mat.SymDense, obs []observation) error {
	if e.Observations <= e.Parameters {
		return nil
	}
	y := make([]float64, len(obs))
	for i, o := range obs {
		y[i] = o.total.Estimate()
	}
	r, err := fit.Linear(d.matrix(), y, fit.Options{Covariance: cov, Basis: fit.Absolute})
	var ce *fit.CovarianceError
	if errors.As(err, &ce) {
		return nil // exact totals: nothing to test against
	}
	if err != nil {
		return err
	}
	e.Chi2, e.P, e.Birge = r.RSS, r.Chi2P, r.Birge
	for i, o := range obs {
		if s := r.Standardized[i]; !math.IsNaN(s) {
			e.Misfits = append(e.Misfits, Misfit{o.state.On(), o.taken.Sitting, r.Residuals[i], s})
		}
	}
	sortMisfits(e.Misfits)
	return nil
}
