// Package tally computes what a study found: the power of each rail and of the
// chip in each state, the differences between states and boards, what limits
// their uncertainty, and what a careful colleague would question.
//
// Everything is one graph of uncertain quantities. A rail's power is V·I; the
// chip's is the sum over rails; a state measured several times is the mean; a
// difference is one result minus another. What two figures share they share
// because the same inputs lead to both, so a difference of two states of one
// sitting loses the clamp's gain without anybody saying so.
//
// A figure is computed once, here. Commands, charts and pages show it.
package tally

import (
	"fmt"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// Tally is everything that was computed from one study.
type Tally struct {
	Study *study.Study
	Level float64 // coverage probability of every interval
	Graph *gum.Graph

	Boards      []*Board
	Differences []*Difference
	Sittings    SittingEffect
	Upstream    []*Upstream // what was read upstream of the rails
	Changes     []*UpstreamChange
	Claims      []*ClaimResult // in the study's order
	Findings    []sensing.Finding

	bench *sensing.Bench
	opt   Options
}

// Sitting is the effect of a sitting as it is known: one standard deviation, in
// watts, with its degrees of freedom. A deviation of 0 stands for none.
type Sitting struct{ SD, DOF float64 }

// Board holds the results of one board.
type Board struct {
	*study.Board
	States []*State // in the study's order; only those that were measured
	// Effects is what each factor adds; nil where the study has no factors or
	// the board fewer than two complete states.
	Effects *Effects
	// Steps lead from the barest state to the fullest, one factor at a time.
	Steps []Step
}

// Options change how a study is tallied.
type Options struct {
	// Level overrides the study's coverage probability when it is not 0.
	Level float64
	// Temperature works out what a claim about a temperature is about; it takes
	// more than this package knows (package cooling). Nil, or an answer of nil:
	// what was read in a state counts as read, and nothing is predicted.
	Temperature func(*Tally, *study.Claim) (*TemperatureClaim, error)
	// Sitting stands in for what the study's repeats show of the effect of a
	// sitting, where readings are made up and so repeat too well; nil: they show.
	Sitting *Sitting
}

// TemperatureClaim is the figure of a claim about a temperature, or why there is
// none; and what goes with it, as in ClaimResult.
type TemperatureClaim struct {
	Figure          Figure
	Why             phrase.Phrase
	Rests, Cautions []phrase.Phrase
	Advice          []phrase.Phrase          // where there is no figure
	Remedies        map[string]phrase.Phrase // what lessens a cause of uncertainty, by its name
}

// Run tallies a study that study.Check found sound. An error means that a
// figure could not be computed at all; what is merely doubtful is a finding.
func Run(s *study.Study, opt Options) (*Tally, error) {
	t := &Tally{Study: s, Level: s.Level, Graph: gum.New(), opt: opt}
	if opt.Level != 0 {
		t.Level = opt.Level
	}
	if !(t.Level > 0 && t.Level < 1) {
		return nil, fmt.Errorf("coverage probability %g: between 0 and 1 is accepted, 0.95 is usual", t.Level)
	}
	t.Graph.Grow(roughly(s))
	bench := sensing.New(t.Graph, s)
	t.bench = bench
	for _, b := range s.Boards {
		board, err := t.measure(bench, b)
		if err != nil {
			return nil, err
		}
		t.Boards = append(t.Boards, board)
	}
	if err := t.assessSittings(); err != nil {
		return nil, err
	}
	for _, b := range t.Boards {
		for _, st := range b.States {
			if err := t.combine(st); err != nil {
				return nil, err
			}
		}
	}
	for _, step := range []func() error{t.compare, t.effects, t.upstream, t.judgeClaims} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return t, t.question(bench.Findings())
}

// roughly is how many nodes and inputs the readings of a study take: a score
// of nodes and a handful of inputs for each.
func roughly(s *study.Study) (nodes, inputs int) {
	readings := 0
	for _, sit := range s.Sittings {
		for _, st := range sit.Steps {
			for _, r := range st.Rails {
				readings += 1 + len(r.Current)
			}
		}
	}
	return 20 * readings, 4 * readings
}

// Board returns the results of a board, or nil.
func (t *Tally) Board(name string) *Board {
	for _, b := range t.Boards {
		if b.Name == name {
			return b
		}
	}
	return nil
}

// State returns the results of a state on a board, or nil when it was not
// measured there.
func (t *Tally) State(on study.StateOn) *State {
	b := t.Board(on.Board)
	if b == nil {
		return nil
	}
	for _, s := range b.States {
		if s.State.Name == on.State {
			return s
		}
	}
	return nil
}
