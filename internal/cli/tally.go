package cli

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"railtally/gum"
	"railtally/internal/plan"
	"railtally/internal/tally"
)

// tallyFlags are what changes how a study is tallied and shown.
type tallyFlags struct {
	level      float64
	levelGiven bool
	json       bool
	notebook   string
	rails      bool
	monteCarlo bool
	trials     int
	seed       uint64
}

func newTally() *cobra.Command {
	var f tallyFlags
	c := &cobra.Command{
		Use:   "tally STUDY",
		Short: "rail and chip power, differences, what limits them",
		Long: `tally computes the power of each rail and of the chip in every state of a
study, the differences between states and boards with their verdicts, and what
limits their uncertainty. STUDY is a study's text file, or the name of a study in
the notebook.

Findings at the end name readings that look wrong and what to do about them;
they never stop the computation.`,
		Example: `  railtally tally otter.yaml
  railtally tally otter.yaml --rails
  railtally tally otter.yaml --json | jq '.boards[].states[] | {name, total_w}'
  railtally tally otter.yaml --monte-carlo --seed 7`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			f.levelGiven = cmd.Flags().Changed("level")
			return runTally(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], f)
		},
	}
	notebookFlag(c, &f.notebook)
	fl := c.Flags()
	fl.Float64Var(&f.level, "level", 0, "coverage probability of the intervals (the study's, usually 0.95)")
	fl.BoolVar(&f.json, "json", false, "print one JSON document, in SI units and unrounded")
	fl.BoolVar(&f.rails, "rails", false, "show the rails of every state, not only of the fullest")
	fl.BoolVar(&f.monteCarlo, "monte-carlo", false, "check totals and differences by simulation (JCGM 101)")
	fl.IntVar(&f.trials, "trials", 1_000_000, "number of simulated trials")
	fl.Uint64Var(&f.seed, "seed", 1, "seed of the simulation; the same seed gives the same figures")
	return c
}

func (f tallyFlags) check() error {
	if f.levelGiven && !(f.level > 0 && f.level < 1) {
		return usage{fmt.Errorf("--level %g: a probability between 0 and 1 is accepted, such as 0.95", f.level)}
	}
	if f.trials < 1000 || f.trials > 100_000_000 {
		return usage{fmt.Errorf("--trials %d: 1000 to 100000000 is accepted", f.trials)}
	}
	return nil
}

func runTally(ctx context.Context, out, errOut io.Writer, name string, f tallyFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	t, err := source{name, f.notebook, errOut}.tally(ctx, f.level)
	if err != nil {
		return err
	}
	var sim *tally.Simulation
	if f.monteCarlo {
		if sim, err = simulate(ctx, errOut, t, f); err != nil {
			return err
		}
	}
	if f.json {
		doc, err := t.Document(sim)
		if err != nil {
			return err
		}
		return writeJSON(out, doc)
	}
	if err := printTally(out, t, f.rails); err != nil {
		return err
	}
	if sim != nil {
		printSimulation(out, sim)
	}
	proofs, err := plan.Prove(t)
	if err != nil {
		return err
	}
	printProofs(out, proofs)
	return nil
}

func simulate(ctx context.Context, errOut io.Writer, t *tally.Tally, f tallyFlags) (*tally.Simulation, error) {
	p := newProgress(errOut, "simulating")
	defer p.end()
	return t.Simulate(ctx, gum.MCOptions{Trials: f.trials, Seed: f.seed, Progress: p.at})
}
