package cli

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"railtally/internal/across"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// compareFlags are what two studies do not say themselves.
type compareFlags struct {
	same                      []string
	first, second             string
	notebook, equal, together string
	level                     float64
	json                      bool
}

func newCompare() *cobra.Command {
	var f compareFlags
	c := &cobra.Command{
		Use:   "compare STUDY STUDY",
		Short: "a board measured then beside one measured now",
		Long: `compare puts two studies side by side: each state that both measured, the second
less the first, with its verdict. Each STUDY is a text file, somebody's bundle or a
study of the notebook.

An instrument that both were read with is one and the same when it is described
alike and its serial number or its calibration says so, or --same does; what its
errors have in common then drops out of the differences. Everything else counts as
two, and is told. Another day by itself moves the power too: what is known of that
goes into every difference.`,
		Example: `  railtally compare last-year.yaml today.yaml
  railtally compare theirs.zip mine.yaml --first theirs --second mine
  railtally compare last-year.yaml today.yaml --same "desk meter" --equal-within "50 mW"`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runCompare(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args, f)
		},
	}
	notebookFlag(c, &f.notebook)
	fl := c.Flags()
	fl.StringArrayVar(&f.same, "same", nil, "an instrument that is one in both studies; again for others")
	fl.StringVar(&f.first, "first", "", "what the first study is called (the time of its sittings)")
	fl.StringVar(&f.second, "second", "", "what the second study is called")
	fl.StringVar(&f.equal, "equal-within", "", `the power within which states count as equal, "50 mW" (the studies')`)
	fl.StringVar(&f.together, "together", "", "write both as one study to this file, to be tallied or packed")
	fl.Float64Var(&f.level, "level", 0, "coverage probability of the intervals (the first study's)")
	fl.BoolVar(&f.json, "json", false, "print one JSON document, in SI units and unrounded")
	return c
}

func runCompare(ctx context.Context, out, errOut io.Writer, names []string, f compareFlags) error {
	if f.level != 0 && !(f.level > 0 && f.level < 1) {
		return usage{fmt.Errorf("--level %g: a probability between 0 and 1 is accepted, such as 0.95", f.level)}
	}
	var studies [2]*study.Study
	for i, name := range names {
		from, err := source{name, f.notebook, errOut}.open(ctx)
		if err != nil {
			return err
		}
		studies[i] = from.Study
	}
	m, err := across.Merge(studies[0], studies[1], across.Options{Labels: [2]string{f.first, f.second}, Same: f.same})
	if err != nil {
		return fmt.Errorf("compare: %w", err)
	}
	if f.equal != "" {
		e, err := asked("equal-within", f.equal, quantity.Watt, "50 mW")
		if err != nil {
			return err
		}
		m.Study.EqualWithin = &e
	}
	t, err := tally.Run(m.Study, tally.Options{Level: f.level})
	if err != nil {
		return err
	}
	if f.together != "" {
		if err := writeFile(f.together, func(w io.Writer) error { return studyfile.Write(w, m.Study) }); err != nil {
			return err
		}
	}
	if f.json {
		doc, err := m.Document(t)
		if err != nil {
			return err
		}
		return writeJSON(out, doc)
	}
	printCompare(out, t, m, studies)
	return nil
}

func printCompare(w io.Writer, t *tally.Tally, m *across.Merged, studies [2]*study.Study) {
	for i, s := range studies {
		fmt.Fprint(w, wrap(fmt.Sprintf("%-14s  ", m.Labels[i]), s.Question, textWidth))
	}
	heading(w, "What changed, %s less %s", m.Labels[1], m.Labels[0])
	tb := newTable("state", "board", ">"+m.Labels[0], "board", ">"+m.Labels[1], ">difference", "verdict")
	for _, d := range t.Differences {
		then, now := d.Second, d.First
		tb.add(now.State.Name, then.Board.Name, figure(then.Total, quantity.Watt), now.Board.Name, figure(now.Total, quantity.Watt),
			figure(d.Difference, quantity.Watt), d.VerdictText().String())
	}
	tb.print(w)
	fmt.Fprint(w, wrap("  ", t.LevelText().String()+".", textWidth))
	fmt.Fprint(w, "\n")
	for _, d := range t.Differences {
		fmt.Fprint(w, wrap("  ", d.Sentence().String(), textWidth))
	}
	heading(w, "What must be minded")
	fmt.Fprint(w, wrap("  - ", m.SittingsText(t), textWidth))
	for _, n := range m.Notes {
		fmt.Fprint(w, wrap("  - ", capitalised(n)+".", textWidth))
	}
}
