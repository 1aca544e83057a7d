package cli

import (
	"context"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/acquire"
	"railtally/internal/quantity"
)

// takeFlags say how a reading is taken.
type takeFlags struct {
	length time.Duration
	most   time.Duration
	skip   int
	what   string
	of     string
	state  string
	unit   string
}

func newMetersTake(f *metersFlags) *cobra.Command {
	var t takeFlags
	c := &cobra.Command{
		Use:   "take METER",
		Short: "average a meter's readings into one, with its uncertainty",
		Long: `take averages until that no longer helps: until the uncertainty of the mean is
small beside the meter's last digit, or has stopped falling, or the time is up.
With --for it averages for exactly so long.

The uncertainty allows for readings that repeat each other, as those of every
real meter do. It is that of the scatter alone: what the meter's own error adds
is worked out where its accuracy line is known, in the tally.`,
		Example: `  railtally meters take "desk meter"
  railtally meters take "desk meter" --for 30s
  railtally meters take 127.0.0.1:5025 --unit A`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			meters, err := f.named(args)
			if err != nil {
				return err
			}
			u, err := unitFlag(t.unit, meters)
			if err != nil {
				return err
			}
			return runTake(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), meters, u, t, f.json)
		},
	}
	fl := c.Flags()
	fl.DurationVar(&t.length, "for", 0, "average for exactly so long")
	fl.DurationVar(&t.most, "most", 0, "end after so long in any case (20s)")
	fl.IntVar(&t.skip, "skip", 0, "answers to let pass first")
	fl.StringVar(&t.what, "what", "", "what is read, for settings that prepare the meter: current, voltage, zero, temperature")
	fl.StringVar(&t.of, "of", "", "of which rail, instrument or point")
	fl.StringVar(&t.state, "state", "", "in which state")
	unitFlagOn(c, &t.unit)
	return c
}

func runTake(ctx context.Context, out, errOut io.Writer, meters []acquire.Meter, u quantity.Unit, f takeFlags, asJSON bool) error {
	st, err := stationOf(meters)
	if err != nil {
		return err
	}
	defer st.Close()
	p := newProgress(errOut, "averaging")
	defer p.end()
	o := acquire.TakeOptions{For: f.length, Most: f.most, Skip: f.skip, Place: acquire.Place{What: f.what, Of: f.of, State: f.state}}
	o.Progress = func(t acquire.Taking) {
		most := f.most
		if most <= 0 {
			most = 20 * time.Second
		}
		if f.length > 0 {
			most = f.length
		}
		p.at(int(1000*t.Seconds), int(most.Milliseconds()))
	}
	got, err := st.Take(ctx, meters[0].Name, o)
	p.end()
	if err != nil {
		return err
	}
	s := got.Stats
	if asJSON {
		return writeJSON(out, map[string]any{
			"format": "railtally take 1", "meter": got.Meter, "unit": u.Symbol(), "entry": got.Text(u),
			"mean": s.Mean(), "standard uncertainty": finite(s.U), "degrees of freedom": got.DOF(),
			"readings": s.N, "independent": s.Neff, "overloads": s.Overloads(), "seconds": got.Seconds, "skew": got.Skew,
			"ended": string(got.Ended), "warnings": append([]string{}, s.Warnings...),
		})
	}
	known := fmt.Sprintf("standard uncertainty of the mean %s with %.3g degrees of freedom", quantity.Format(s.U, u, 2), got.DOF())
	if s.U == 0 {
		known = "all alike, so that the last digit is what is not known"
	}
	fmt.Fprintf(out, "%s\n", got.Text(u))
	fmt.Fprint(out, wrap("  ", fmt.Sprintf("%d readings in %.3g s, worth %.3g independent ones; %s. Ended because %s.",
		s.N, got.Seconds, s.Neff, known, got.Ended), textWidth))
	if got.Again > 0 {
		fmt.Fprintf(out, "  The link was lost and found again meanwhile.\n")
	}
	for _, w := range s.Warnings {
		if s.U == 0 {
			break // it says what was said
		}
		fmt.Fprint(out, wrap("  mind  ", w, textWidth))
	}
	return nil
}
