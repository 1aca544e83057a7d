package cli

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/trace"
)

func newTracesWindows(file *string) *cobra.Command {
	var channel, criterion string
	var names []string
	for _, c := range trace.Criteria() {
		names = append(names, c.Name)
	}
	c := &cobra.Command{
		Use:   "windows TRACE",
		Short: "find where a channel of a trace was steady",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			id, err := traceNumber(args[0])
			if err != nil {
				return err
			}
			crit, err := criterionNamed(criterion)
			if err != nil {
				return err
			}
			return withNotebook(cmd.Context(), *file, func(nb *notebook.Notebook) error {
				return printStretches(cmd.Context(), cmd.OutOrStdout(), nb, id, channel, crit)
			})
		},
	}
	c.Flags().StringVar(&channel, "channel", "", "the channel to look at (the first unless named)")
	c.Flags().StringVar(&criterion, "criterion", names[0], "what steady means: "+strings.Join(names, ", "))
	return c
}

func printStretches(ctx context.Context, out io.Writer, nb *notebook.Notebook, id int64, channel string, crit trace.Criterion) error {
	x, err := nb.Trace(ctx, id)
	if err != nil {
		return err
	}
	k, err := channelNamed(&x, channel)
	if err != nil {
		return err
	}
	s, err := nb.TraceSamples(ctx, id, []int{k}, math.Inf(-1), math.Inf(1), 0)
	if err != nil {
		return err
	}
	list, _, err := trace.Windows(s.Series[0], trace.WindowOptions{Criterion: crit})
	if err != nil {
		return err
	}
	unit := x.Channels[k].Unit
	heading(out, "Stretches of %s in %s", x.Channels[k].Name, x.Mapping.Name)
	tb := newTable("", ">from, s", ">to, s", ">mean", "why")
	for _, st := range list {
		from, to := st.Start, st.End
		if st.Window != nil {
			from, to = st.Window.From, st.Window.To
		}
		tb.add(string(st.Kind), fmt.Sprintf("%.6g", from), fmt.Sprintf("%.6g", to), quantity.Format(st.Mean, unit, 5), st.Verdict.Why)
	}
	tb.print(out)
	fmt.Fprint(out, wrap("  ", fmt.Sprintf("A window becomes readings of a state by: railtally traces take %d --from 12.5 --to 40 --state STATE", id), textWidth))
	return nil
}

func channelNamed(x *notebook.Trace, name string) (int, error) {
	var names []string
	for i, c := range x.Channels {
		if c.Name == name || name == "" {
			return i, nil
		}
		names = append(names, c.Name)
	}
	return 0, usage{fmt.Errorf("no channel called %q (accepted: %s)", name, strings.Join(names, ", "))}
}

// tracesTakeFlags say which window becomes readings of what.
type tracesTakeFlags struct {
	from, to       float64
	state, sitting string
	channels       []string
	try            bool
}

func newTracesTake(file *string) *cobra.Command {
	var f tracesTakeFlags
	c := &cobra.Command{
		Use:   "take TRACE",
		Short: "make readings of a state of a window of a trace",
		Long: `take makes a step of a sitting of a window of a trace: of each channel that is
something of the board its mean, with the standard uncertainty that the samples
really support and its degrees of freedom. Where a rail's voltage and current were
sampled together, what the mean of their product has beyond the product of their
means goes with the current, and the tally adds it.

With --try nothing is kept.`,
		Example: `  railtally traces take 3 --from 12.5 --to 40 --state idle`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			id, err := traceNumber(args[0])
			if err != nil {
				return err
			}
			return withNotebook(cmd.Context(), *file, func(nb *notebook.Notebook) error {
				return takeWindow(cmd.Context(), cmd.OutOrStdout(), nb, id, f)
			})
		},
	}
	fl := c.Flags()
	fl.Float64Var(&f.from, "from", 0, "where the window begins, in seconds of the trace")
	fl.Float64Var(&f.to, "to", 0, "where it ends")
	fl.StringVar(&f.state, "state", "", "the state that the board was in; none: readings of no state")
	fl.StringVar(&f.sitting, "sitting", "", "the sitting (the last one unless named)")
	fl.StringArrayVar(&f.channels, "channel", nil, "only these channels")
	fl.BoolVar(&f.try, "try", false, "show what would be kept")
	return c
}

func takeWindow(ctx context.Context, out io.Writer, nb *notebook.Notebook, id int64, f tracesTakeFlags) error {
	x, err := nb.Trace(ctx, id)
	if err != nil {
		return err
	}
	if !(f.from < f.to) {
		return usage{fmt.Errorf("--from %g --to %g: the end must be later", f.from, f.to)}
	}
	list, err := nb.ReadWindow(ctx, id, f.from, f.to)
	if err != nil {
		return err
	}
	p := notebook.Place{State: f.state, Zone: time.Local}
	for _, name := range f.channels {
		k, err := channelNamed(&x, name)
		if err != nil {
			return err
		}
		p.Channels = append(p.Channels, k)
	}
	if !f.try {
		if p.Sitting, err = placeNamed(ctx, nb, x.Study, f); err != nil {
			return err
		}
		if _, err := nb.TakeWindow(ctx, id, f.from, f.to, p, notebook.Origin{Device: "command line"}); err != nil {
			return err
		}
	}
	printReadings(out, x, list)
	return nil
}

// placeNamed finds the sitting and checks the state.
func placeNamed(ctx context.Context, nb *notebook.Notebook, studyID int64, f tracesTakeFlags) (int64, error) {
	r, err := nb.Record(ctx, studyID)
	if err != nil {
		return 0, err
	}
	if f.state != "" && r.Study.State(f.state) == nil {
		var names []string
		for _, s := range r.Study.States {
			names = append(names, s.Name)
		}
		return 0, usage{fmt.Errorf("--state %q: accepted are %s", f.state, strings.Join(names, ", "))}
	}
	var names []string
	for i := len(r.Study.Sittings) - 1; i >= 0; i-- {
		s := r.Study.Sittings[i]
		if f.sitting == "" || s.Name == f.sitting {
			return r.SittingOf[s], nil
		}
		names = append(names, s.Name)
	}
	if len(names) == 0 {
		return 0, fmt.Errorf("the study has no sitting yet: begin one on its Bench page")
	}
	return 0, usage{fmt.Errorf("--sitting %q: accepted are %s", f.sitting, strings.Join(names, ", "))}
}

func printReadings(out io.Writer, x notebook.Trace, list []notebook.WindowReading) {
	tb := newTable("channel", "reading", ">samples", ">worth", "is")
	for _, r := range list {
		c := r.Ch()
		if r.Of.ID != x.ID {
			c.Name += ", " + r.Of.Mapping.Name
		}
		text := r.Content.Text
		if text == "" {
			text = "none: " + r.Why
		}
		is, worth, n := "", "", ""
		if r.Role.Is != "" {
			is = r.Role.String()
		}
		if r.Stats != nil {
			worth, n = fmt.Sprintf("%.0f", r.Stats.Neff), fmt.Sprint(r.Stats.N)
		}
		tb.add(c.Name, text, n, worth, is)
	}
	tb.print(out)
	for _, r := range list {
		name := r.Ch().Name
		if r.Unjoined != "" {
			fmt.Fprint(out, wrap("  mind  ", name+": "+r.Unjoined, textWidth))
		}
		if r.Content.WithVoltage != "" {
			fmt.Fprint(out, wrap("  ", fmt.Sprintf("%s: the mean of v·i exceeds the product of the means by %s of it.", name, r.Content.WithVoltage), textWidth))
		}
		if r.Stats != nil && r.Content.Kind != "" {
			for _, w := range r.Stats.Warnings {
				fmt.Fprint(out, wrap("  mind  ", name+": "+w, textWidth))
			}
		}
	}
}
