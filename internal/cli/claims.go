package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"railtally/internal/phrase"
	"railtally/internal/tally"
)

func newClaims() *cobra.Command {
	var level float64
	var asJSON bool
	var kept string
	c := &cobra.Command{
		Use:   "claims STUDY",
		Short: "each claim of a study: holds, fails, undecided",
		Long: `claims judges what a study states under claims: a total, a difference, a ratio,
an effect, a share, a throughput, or a temperature, read or predicted for another
power or room, against a limit. For each it prints the probability that it is so, the figures it rests on, and a sentence
that can be published; for an undecided one, what would decide it.

The exit code is 3 when a claim fails. One that is undecided, or about something
that was not measured, does not count as failing.`,
		Example: `  railtally claims otter.yaml
  railtally claims otter.yaml --json | jq '.claims[] | {judgement, sentence}'`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := (tallyFlags{level: level, trials: 1000}).check(); err != nil {
				return err
			}
			t, err := source{args[0], kept, cmd.ErrOrStderr()}.tally(cmd.Context(), level)
			if err != nil {
				return err
			}
			return runClaims(cmd.OutOrStdout(), t, asJSON)
		},
	}
	notebookFlag(c, &kept)
	c.Flags().Float64Var(&level, "level", 0, "coverage probability of the intervals (the study's, usually 0.95)")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document, in SI units and unrounded")
	return c
}

func runClaims(out io.Writer, t *tally.Tally, asJSON bool) error {
	if asJSON {
		if err := writeJSON(out, t.ClaimsDocument()); err != nil {
			return err
		}
	} else {
		printClaims(out, t)
	}
	if t.AnyFails() {
		return unmet{errors.New("a claim fails")}
	}
	return nil
}

// printClaims prints every claim with its proof.
func printClaims(w io.Writer, t *tally.Tally) {
	fmt.Fprint(w, wrap("", t.Study.Question, textWidth), "\n")
	if len(t.Claims) == 0 {
		fmt.Fprint(w, wrap("  ", "The study states no claims: write them under claims:, see docs/study-file.md.", textWidth))
		return
	}
	fmt.Fprint(w, wrap("  ", t.LevelText().String()+".", textWidth))
	for _, c := range t.Claims {
		heading(w, "%d  %s", c.Number, c.Judgement)
		fmt.Fprint(w, wrap("  ", c.Sentence().String(), textWidth))
		if c.Known {
			fmt.Fprint(w, wrap("  decided    ", c.RuleText().String(), textWidth))
			fmt.Fprint(w, wrap("  rests on   ", strings.Join(phrase.Strings(c.Rests), "; "), textWidth))
		}
		for _, s := range c.Cautions {
			fmt.Fprint(w, wrap("  mind       ", s.String(), textWidth))
		}
		for i, s := range c.Advice {
			lead := "             "
			if i == 0 {
				lead = "  to decide  "
			}
			fmt.Fprint(w, wrap(lead, s.String(), textWidth))
		}
	}
}

// printClaimList prints one line for each claim.
func printClaimList(w io.Writer, t *tally.Tally) {
	if len(t.Claims) == 0 {
		return
	}
	heading(w, "Claims")
	for _, c := range t.Claims {
		figure := ""
		if c.Known {
			figure = fmt.Sprintf(" (%s)", c.FigureText())
		}
		fmt.Fprint(w, wrap(fmt.Sprintf("  %-9s  ", c.Judgement), c.Statement().String()+figure, textWidth))
	}
}
