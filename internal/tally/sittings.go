package tally

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// SittingEffect is how far the same state, measured again in another sitting,
// comes out differently for reasons that the readings' own uncertainty does
// not explain: the board's temperature, its software, how the loops lay.
//
// It is estimated from states that were measured in several sittings, as the
// between-group component of a one-way analysis of variance with sittings as
// groups (JCGM 100 H.5): the mean square between sittings, less what the
// readings' uncertainty alone would make of it. What the sittings share (the
// clamp's gain) is no part of that; the graph knows.
type SittingEffect struct {
	// Assessed is false when no state was measured in two sittings. Then this
	// study knows nothing about the effect.
	Assessed bool
	// Carried is what the study takes over from earlier ones; nil: nothing. When
	// nothing is assessed or carried over, nothing is added for a sitting.
	Carried  *study.CarriedEffect
	SD       float64 // watts, one standard deviation; 0 when the readings explain all
	DOF      float64
	Repeated []RepeatedState
	// Boards are the boards' parts in the estimate.
	Boards []BoardSittings
	// Own is this study's part alone: a variance, below zero where the readings
	// explain more than there is, and its degrees of freedom. It is what another
	// study may take over.
	Own, OwnDOF float64 // W², 1

	inputs map[*study.Sitting]gum.Value
}

// BoardSittings is the one-way analysis of variance of one board: the states
// that were measured in each of some sittings, the mean of their totals in each,
// the mean square between those, and what of it the readings explain, in W².
type BoardSittings struct {
	Board         *study.Board
	States        []*State
	Sittings      []*study.Sitting
	Means         []float64 // watts, one for each sitting
	MS, Explained float64
	DOF           float64
}

// RepeatedState compares one state in two sittings of one board.
type RepeatedState struct {
	On            study.StateOn
	First, Second *study.Sitting
	Difference    Figure // second minus first, by the readings alone
	// En is |difference|/U(difference): above 1, the two sittings disagree by
	// more than their readings explain (ISO 13528 calls this the E_n score).
	En float64
}

// HowMuch says how the second sitting compares with the first: "48 ± 53 mW
// higher", "16 ± 47 mW lower".
func (r RepeatedState) HowMuch() phrase.Phrase {
	size := phrase.Number(quantity.FormatU(math.Abs(r.Difference.Estimate), r.Difference.Expanded, quantity.Watt))
	if r.Difference.Estimate < 0 {
		return phrase.New("%s lower", size)
	}
	return phrase.New("%s higher", size)
}

// assessSittings estimates the effect over all boards, pools it with what is
// carried over (variances weighted by their degrees of freedom), and records
// one input of that size for each sitting.
func (t *Tally) assessSittings() error {
	if x := t.opt.Sitting; x != nil {
		t.Sittings.SD, t.Sittings.DOF = x.SD, x.DOF
		if x.SD > 0 {
			t.recordSittings()
		}
		return nil
	}
	var sum, dof float64 // Σ dof·(MS − explained)
	for _, b := range t.Boards {
		states, sittings := repeated(b)
		if len(sittings) < 2 {
			continue
		}
		t.Sittings.Assessed = true
		x := BoardSittings{Board: b.Board, States: states, Sittings: sittings, DOF: float64(len(sittings) - 1)}
		if err := t.between(&x); err != nil {
			return err
		}
		t.Sittings.Boards = append(t.Sittings.Boards, x)
		sum, dof = sum+x.DOF*(x.MS-x.Explained), dof+x.DOF
	}
	if dof > 0 {
		t.Sittings.Own, t.Sittings.OwnDOF = sum/dof, dof
	}
	if c := t.Study.SittingEffect; c != nil {
		t.Sittings.Carried = c
		sum, dof = sum+c.DOF*c.SD.Value()*c.SD.Value(), dof+c.DOF
	}
	if dof == 0 {
		return nil
	}
	t.Sittings.DOF = dof
	t.Sittings.SD = math.Sqrt(math.Max(0, sum/dof))
	if t.Sittings.SD == 0 {
		return nil
	}
	t.recordSittings()
	return nil
}

// recordSittings gives each sitting an input of the estimated size. They are
// independent of one another, but their size comes out of one estimate, so
// they are one component as far as degrees of freedom go.
func (t *Tally) recordSittings() {
	n := len(t.Study.Sittings)
	in := make([]gum.Input, n)
	cov := mat.NewDiagDense(n, nil)
	for i, s := range t.Study.Sittings {
		in[i] = gum.Input{
			Name: s.Name + ": this sitting", Dist: gum.Normal{U: t.Sittings.SD},
			Tags: []gum.Tag{{Key: sensing.TagCause, Value: sensing.CauseSitting}, {Key: sensing.TagSitting, Value: s.Name}},
		}
		cov.SetDiag(i, t.Sittings.SD*t.Sittings.SD)
	}
	t.Sittings.inputs = make(map[*study.Sitting]gum.Value, n)
	for i, v := range t.Graph.Joint("sitting to sitting", in, cov, t.Sittings.DOF) {
		t.Sittings.inputs[t.Study.Sittings[i]] = v
	}
}

// repeated finds the largest set of a board's sittings in which some states
// were all measured completely, and those states. The analysis is kept to such
// a balanced block; a state measured in other sittings besides adds nothing.
func repeated(b *Board) (states []*State, sittings []*study.Sitting) {
	for _, s := range b.States {
		if c := complete(s); len(c) > len(sittings) {
			sittings = c
		}
	}
	if len(sittings) < 2 {
		return nil, nil
	}
	for _, s := range b.States {
		if all(sittings, func(sit *study.Sitting) bool { return s.in(sit) != nil }) {
			states = append(states, s)
		}
	}
	return states, sittings
}

func complete(s *State) []*study.Sitting {
	var out []*study.Sitting
	for _, tk := range s.Taken {
		if tk.Total.Valid() {
			out = append(out, tk.Sitting)
		}
	}
	return out
}

func all(sittings []*study.Sitting, ok func(*study.Sitting) bool) bool {
	for _, s := range sittings {
		if !ok(s) {
			return false
		}
	}
	return true
}

// in returns what was taken completely in a sitting, or nil.
func (s *State) in(sit *study.Sitting) *Taken {
	for _, tk := range s.Taken {
		if tk.Sitting == sit && tk.Total.Valid() {
			return tk
		}
	}
	return nil
}

// between works out the mean square between the sittings' mean totals, and the
// part of it that the readings explain: half the mean variance of a difference
// of two sittings, from the graph.
func (t *Tally) between(x *BoardSittings) error {
	n := len(x.Sittings)
	if err := t.foresee(x); err != nil {
		return err
	}
	means := make([]gum.Value, n)
	var grand float64
	for j, sit := range x.Sittings {
		var totals []gum.Value
		for _, s := range x.States {
			totals = append(totals, s.in(sit).Total)
		}
		means[j] = mean(totals)
		x.Means = append(x.Means, means[j].Estimate())
		grand += means[j].Estimate() / float64(n)
	}
	for _, m := range x.Means {
		x.MS += math.Pow(m-grand, 2) / float64(n-1)
	}
	pairs := 0.0
	for j := range means {
		for k := j + 1; k < n; k++ {
			r, err := t.Graph.Result(means[k].Sub(means[j]))
			if err != nil {
				return err
			}
			x.Explained += r.U * r.U / 2
			pairs++
			for _, s := range x.States {
				if err := t.repeat(s, x.Sittings[j], x.Sittings[k]); err != nil {
					return err
				}
			}
		}
	}
	x.Explained /= pairs
	return nil
}

// foresee has the graph work out the rails of a block first, and from them the
// totals. Every difference of two sittings then costs as much as its two totals
// have inputs; worked out first, each would go down to the readings anew.
func (t *Tally) foresee(x *BoardSittings) error {
	for _, s := range x.States {
		for _, sit := range x.Sittings {
			tk := s.in(sit)
			for _, rt := range tk.Rails {
				for _, v := range []gum.Value{rt.Voltage, rt.Current, rt.Power} {
					if _, err := t.Graph.Result(v); err != nil {
						return err
					}
				}
			}
			if _, err := t.Graph.Result(tk.Total); err != nil {
				return err
			}
		}
	}
	return nil
}

func (t *Tally) repeat(s *State, first, second *study.Sitting) error {
	d, err := t.Figure(s.in(second).Total.Sub(s.in(first).Total))
	if err != nil {
		return err
	}
	en := 0.0
	if d.Expanded > 0 {
		en = math.Abs(d.Estimate) / d.Expanded
	}
	t.Sittings.Repeated = append(t.Sittings.Repeated, RepeatedState{
		On: s.On(), First: first, Second: second, Difference: d, En: en,
	})
	return nil
}

// with adds the effect of its sitting to a state's total.
func (e SittingEffect) with(g *gum.Graph, tk *Taken) gum.Value {
	if b, ok := e.inputs[tk.Sitting]; ok {
		return tk.Total.Add(b)
	}
	return tk.Total
}
