package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/spf13/cobra"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

func newSittingEffect() *cobra.Command {
	var kept, into string
	c := &cobra.Command{
		Use:   "sitting-effect STUDY...",
		Short: "what another sitting makes, as earlier studies found it, to be taken over",
		Long: `sitting-effect pools what studies found of the effect of a sitting: how far another
day at the bench moves the chip's power beyond what the readings explain. Each
study counts with what its own repeats show, its variance weighted by its degrees
of freedom; what a study took over from others itself is left out, so that
nothing counts twice.

It prints the line for the study file that is to take it over, or with --into
writes it into a study of the notebook. Nothing is ever taken over by itself: take
it only from studies of like boards with the same instruments.`,
		Example: `  railtally sitting-effect march.yaml april.yaml
  railtally sitting-effect march.yaml --into "bridge chip"`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runSittingEffect(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args, kept, into)
		},
	}
	notebookFlag(c, &kept)
	c.Flags().StringVar(&into, "into", "", "a study of the notebook that is to take it over")
	return c
}

func runSittingEffect(ctx context.Context, out, errOut io.Writer, names []string, kept, into string) error {
	var from []tally.Source
	var ids []int64
	seen := map[string]bool{}
	tb := newTable("study", ">effect of a sitting", ">degrees of freedom")
	for _, name := range names {
		if seen[name] {
			return usage{fmt.Errorf("%s is named twice, and would count twice", name)}
		}
		seen[name] = true
		f, err := source{name, kept, errOut}.open(ctx)
		if err != nil {
			return err
		}
		t, err := tally.Run(f.Study, tally.Options{})
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		title := "“" + t.Study.Question + "”"
		if f.Kept != 0 {
			title += fmt.Sprintf(" (study %d)", f.Kept)
			ids = append(ids, f.Kept)
		}
		e := t.Sittings
		if e.OwnDOF == 0 {
			tb.add(title, "not assessed", "")
			continue
		}
		tb.add(title, quantity.Format(math.Sqrt(math.Max(0, e.Own)), quantity.Watt, 2), fmt.Sprintf("%g", e.OwnDOF))
		from = append(from, tally.Source{Name: title, Tally: t})
	}
	tb.print(out)
	c := tally.CarryOver(from)
	if c == nil {
		return errors.New("none of these studies measured a state in two sittings, so there is nothing to take over")
	}
	if into == "" {
		fmt.Fprintf(out, "\nFor the study that takes it over:\nsitting effect: {sd: %s, degrees of freedom: %g, from: %s}\n", c.SD.String(), c.DOF, strconv.Quote(c.From))
		return nil
	}
	return takeOver(ctx, out, kept, into, c, ids)
}

// takeOver writes the effect into a study of the notebook.
func takeOver(ctx context.Context, out io.Writer, kept, into string, c *study.CarriedEffect, from []int64) error {
	nb, err := openNotebook(ctx, kept, true)
	if err != nil {
		return err
	}
	defer nb.Close()
	sum, err := nb.Find(ctx, into)
	if err != nil {
		return hinted(err)
	}
	for _, id := range from {
		if id == sum.ID {
			return usage{fmt.Errorf("%q cannot take over from itself: its own repeats count already", sum.Question)}
		}
	}
	p, err := nb.Plan(ctx, sum.ID)
	if err != nil {
		return hinted(err)
	}
	p.Study.SittingEffect = c
	if _, err := nb.SavePlan(ctx, sum.ID, p.ID, p.Study, notebook.Origin{}); err != nil {
		return hinted(err)
	}
	fmt.Fprintf(out, "\n%q takes over %s with %g degrees of freedom.\n", sum.Question, c.SD.String(), c.DOF)
	return nil
}
