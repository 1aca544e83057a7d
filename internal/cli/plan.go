package cli

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"railtally/internal/plan"
	"railtally/internal/study"
	"railtally/internal/tally"
	"railtally/internal/web"
)

// planFlags are what changes how work is planned and shown.
type planFlags struct {
	json, byState, asListed, noAdvice, openings bool
	sheet, like, notebook                       string
	seed                                        uint64
	repeats, statesPerZero, passes, sittings    int
	said                                        func(flag string) bool
}

func newPlan() *cobra.Command {
	var f planFlags
	d := plan.DefaultScheme()
	c := &cobra.Command{
		Use:   "plan STUDY",
		Short: "before anything is desoldered: what openings do, what to expect, in which order",
		Long: `plan tells, before anything is desoldered, whether the measurement will answer
the question: the uncertainty that each aim is expected to come out with, what
limits it, and what would help, in order of gain per effort. It checks what
opening each rail does to it, compares what is on the shelf, and lays out the
order of work.

STUDY is a study's text file, or the name of a study in the notebook; it needs
no readings. What its rails will carry is
taken from 'expected:', from a study with readings (--like), or from the study's
own readings. Trials that were made already are judged.

It exits with 3 when an aim is missed or a trial does not hold.`,
		Example: `  railtally plan otter.yaml
  railtally plan otter.yaml --sheet bench.html --seed 7
  railtally plan new-board.yaml --like otter.yaml
  railtally plan otter.yaml --repeats 10 --states-per-zero 1 --json`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			f.said = cmd.Flags().Changed
			return runPlan(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], f)
		},
	}
	notebookFlag(c, &f.notebook)
	fl := c.Flags()
	fl.BoolVar(&f.json, "json", false, "print one JSON document, in SI units and unrounded")
	fl.BoolVar(&f.openings, "openings", false, "show everything that was looked at in each opening, also what is sound")
	fl.StringVar(&f.sheet, "sheet", "", "write the bench sheet, to be printed, to this file (HTML)")
	fl.StringVar(&f.like, "like", "", "a study with readings: expect what its rails carried")
	fl.Uint64Var(&f.seed, "seed", 1, "seed of the order of work; the same seed gives the same order. A chosen order is ordered anew, but for what is pinned")
	fl.IntVar(&f.repeats, "repeats", d.Repeats, "readings written down where the display does not stand still")
	fl.IntVar(&f.statesPerZero, "states-per-zero", d.StatesPerZero, "states between two zeros; 0: one zero at the start")
	fl.IntVar(&f.passes, "passes", d.Passes, "how often a sitting goes through its states, every second time backwards")
	fl.IntVar(&f.sittings, "sittings", d.Sittings, "days on which each board is measured")
	fl.BoolVar(&f.byState, "by-state", false, "read all rails in one state before the next, moving clamps each time")
	fl.BoolVar(&f.asListed, "as-listed", false, "keep the study's order of states")
	fl.BoolVar(&f.noAdvice, "no-advice", false, "do not search what would help")
	return c
}

func (f planFlags) check() error {
	for _, x := range []struct {
		flag        string
		n, from, to int
	}{{"--repeats", f.repeats, 1, 1000}, {"--states-per-zero", f.statesPerZero, 0, 1000}, {"--passes", f.passes, 1, 20}, {"--sittings", f.sittings, 1, 50}} {
		if x.n < x.from || x.n > x.to {
			return usage{fmt.Errorf("%s %d: %d to %d is accepted", x.flag, x.n, x.from, x.to)}
		}
	}
	return nil
}

// scheme is how the study says that the work is to be done, but for what a flag
// says.
func (f planFlags) scheme(of *study.Study) *plan.Scheme {
	s := plan.SchemeOf(of)
	for _, x := range []struct {
		flag string
		set  func()
	}{
		{"repeats", func() { s.Repeats = f.repeats }}, {"states-per-zero", func() { s.StatesPerZero = f.statesPerZero }},
		{"passes", func() { s.Passes = f.passes }}, {"sittings", func() { s.Sittings = f.sittings }},
		{"by-state", func() { s.ByState = f.byState }},
	} {
		if f.said(x.flag) {
			x.set()
		}
	}
	s.AsListed = f.asListed
	return &s
}

func runPlan(ctx context.Context, out, errOut io.Writer, name string, f planFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	from, err := source{name, f.notebook, errOut}.open(ctx)
	if err != nil {
		return err
	}
	s := from.Study
	known, proofs, err := alreadyRead(ctx, s, source{f.like, f.notebook, errOut})
	if err != nil {
		return err
	}
	bar := newProgress(errOut, "searching what would help")
	seed := plan.SeedOf(s)
	if f.said("seed") {
		seed = f.seed
	}
	p, err := plan.Make(ctx, s, plan.Options{Scheme: f.scheme(s), Seed: seed, Anew: f.said("seed"), Known: known, NoAdvice: f.noAdvice, Progress: bar.at})
	bar.end()
	if err != nil {
		return err
	}
	if f.sheet != "" {
		photos, err := photosOf(ctx, from, f.notebook)
		if err != nil {
			return err
		}
		if err := writeFile(f.sheet, func(w io.Writer) error {
			return plan.Sheet(w, p, plan.SheetOptions{Program: program(), Photos: photos})
		}); err != nil {
			return err
		}
	}
	if f.json {
		if err := writeJSON(out, p.Document(proofs)); err != nil {
			return err
		}
	} else {
		printPlan(out, p, f.openings)
		printProofs(out, proofs)
		if f.sheet != "" {
			heading(out, "Written")
			fmt.Fprintf(out, "  %s  the bench sheet, to be printed\n", f.sheet)
		}
	}
	return planUnmet(p, proofs)
}

// photosOf are the photographs of a study of the notebook, with their pins; a text
// file has none.
func photosOf(ctx context.Context, of *found, path string) ([]plan.Photo, error) {
	if of.Kept == 0 {
		return nil, nil
	}
	path, err := notebookPath(path)
	if err != nil {
		return nil, err
	}
	nb, err := openNotebook(ctx, path, true)
	if err != nil {
		return nil, err
	}
	defer nb.Close()
	photos, err := web.SheetPhotos(ctx, nb, of.Kept)
	return photos, hinted(err)
}

// alreadyRead tallies what the study and a study like it hold of readings, and
// judges the trials among the study's own.
func alreadyRead(ctx context.Context, s *study.Study, like source) (known []*tally.Tally, proofs []plan.Proof, err error) {
	if len(s.Sittings) > 0 {
		t, err := tally.Run(s, tally.Options{})
		if err != nil {
			return nil, nil, err
		}
		known = append(known, t)
		if proofs, err = plan.Prove(t); err != nil {
			return nil, nil, err
		}
	}
	if like.name != "" {
		t, err := like.tally(ctx, 0)
		if err != nil {
			return nil, nil, err
		}
		known = append(known, t)
	}
	return known, proofs, nil
}

// planUnmet is the error of a plan whose aims are missed or whose trials fail.
func planUnmet(p *plan.Plan, proofs []plan.Proof) error {
	missed, wrong, fail := 0, 0, 0
	for _, c := range p.Counsels {
		if !c.Reached() {
			missed++
		}
	}
	for _, b := range p.Boards {
		for _, r := range b.Rails {
			for _, o := range r.Openings {
				if o.Worst() == plan.Wrong {
					wrong++
				}
			}
		}
	}
	for _, q := range proofs {
		if !q.Holds {
			fail++
		}
	}
	switch {
	case wrong > 0:
		return unmet{fmt.Errorf("%s must not be made so", plural(wrong, "opening", "openings"))}
	case fail > 0:
		return unmet{fmt.Errorf("%s not hold", plural(fail, "trial does", "trials do"))}
	case missed > 0:
		return unmet{fmt.Errorf("%s missed as planned", plural(missed, "aim is", "aims are"))}
	}
	return nil
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
