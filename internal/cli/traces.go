package cli

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"railtally/internal/notebook"
)

func newTraces() *cobra.Command {
	var file string
	var asJSON bool
	c := &cobra.Command{
		Use:   "traces [STUDY]",
		Short: "logged time series in the notebook: list, take readings, align, export",
		Long: `traces lists the logged time series that a study of the notebook holds: what
'railtally log FILE --keep STUDY' took in, and what meters recorded live.`,
		Example: `  railtally traces "bridge chip"
  railtally traces export 3 --csv run.csv
  railtally traces export 3 --parquet run.parquet
  railtally traces align 3 4
  railtally traces drop 3`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withNotebook(cmd.Context(), file, func(nb *notebook.Notebook) error {
				return listTraces(cmd.Context(), cmd.OutOrStdout(), nb, strings.Join(args, ""), asJSON)
			})
		},
	}
	c.PersistentFlags().StringVar(&file, "notebook", "", "the notebook's file (in your data folder unless named)")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	c.AddCommand(newTracesWindows(&file), newTracesTake(&file), newTracesAlign(&file), newTracesExport(&file), newTracesDrop(&file))
	for _, sub := range c.Commands() {
		wrapArgs(sub)
	}
	return c
}

func withNotebook(ctx context.Context, file string, fn func(*notebook.Notebook) error) error {
	nb, err := openNotebook(ctx, file, true)
	if err != nil {
		return err
	}
	defer nb.Close()
	return hinted(fn(nb))
}

func listTraces(ctx context.Context, out io.Writer, nb *notebook.Notebook, name string, asJSON bool) error {
	studies, err := nb.Studies(ctx)
	if err != nil {
		return err
	}
	if name != "" {
		sum, err := nb.Find(ctx, name)
		if err != nil {
			return err
		}
		studies = []notebook.Summary{sum}
	}
	docs := []any{}
	for _, s := range studies {
		list, err := nb.Traces(ctx, s.ID)
		if err != nil {
			return err
		}
		for _, x := range list {
			docs = append(docs, traceDocument(x))
		}
		if asJSON || len(list) == 0 && name == "" {
			continue
		}
		heading(out, "%s", s.Question)
		if len(list) == 0 {
			fmt.Fprintln(out, "  no traces yet: railtally log FILE --keep STUDY")
		}
		for _, x := range list {
			state := ""
			if x.Outcome == "" {
				state = ", not finished"
			}
			fmt.Fprintf(out, "  trace %d: %s, from %s%s\n", x.ID, x.Mapping.Name, sourceOf(x), state)
			printChannels(out, x)
		}
	}
	if asJSON {
		return writeJSON(out, map[string]any{"format": "railtally traces 1", "traces": docs})
	}
	return nil
}

func sourceOf(x notebook.Trace) string {
	if x.Source == notebook.FromLog {
		return x.File
	}
	return string(x.Source)
}

func printChannels(w io.Writer, x notebook.Trace) {
	tb := newTable("channel", "unit", ">samples", "is")
	for i, c := range x.Channels {
		is := "nothing of the board"
		if r, ok := x.Mapping.Role(i); ok {
			is = r.String()
		}
		tb.add(c.Name, c.Unit.Symbol(), fmt.Sprint(x.Samples[i]), is)
	}
	tb.print(w)
}

func traceDocument(x notebook.Trace) map[string]any {
	channels := make([]map[string]any, len(x.Channels))
	for i, c := range x.Channels {
		channels[i] = map[string]any{"name": c.Name, "unit": c.Unit.Symbol(), "clock": c.Clock, "samples": x.Samples[i]}
		if r, ok := x.Mapping.Role(i); ok {
			channels[i]["is"] = r
		}
	}
	return map[string]any{"trace": x.ID, "name": x.Mapping.Name, "source": string(x.Source), "file": x.File, "sha256": x.SHA256,
		"outcome": string(x.Outcome), "zero": x.Zero, "zone_known": x.Zone, "channels": channels, "notes": x.Notes}
}

func traceNumber(text string) (int64, error) {
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil || id < 1 {
		return 0, usage{fmt.Errorf("%q is no trace: its number is wanted, see 'railtally traces'", text)}
	}
	return id, nil
}

func newTracesExport(file *string) *cobra.Command {
	var csv, parquet string
	var clock int
	c := &cobra.Command{
		Use:   "export TRACE",
		Short: "write a trace's samples as CSV or Parquet",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			id, err := traceNumber(args[0])
			if err != nil {
				return err
			}
			if (csv == "") == (parquet == "") {
				return usage{fmt.Errorf("export: one of --csv FILE and --parquet FILE is wanted")}
			}
			return withNotebook(cmd.Context(), *file, func(nb *notebook.Notebook) error {
				return exportTrace(cmd.Context(), cmd.OutOrStdout(), nb, id, csv, parquet, clock)
			})
		},
	}
	c.Flags().StringVar(&csv, "csv", "", "write text to this file")
	c.Flags().StringVar(&parquet, "parquet", "", "write Apache Parquet to this file")
	c.Flags().IntVar(&clock, "clock", 1, "which channels, where not all were sampled together")
	return c
}

func exportTrace(ctx context.Context, out io.Writer, nb *notebook.Notebook, id int64, csv, parquet string, clock int) error {
	x, err := nb.Trace(ctx, id)
	if err != nil {
		return err
	}
	if clock < 1 || clock > x.Clocks() {
		return usage{fmt.Errorf("--clock %d: the trace has %d", clock, x.Clocks())}
	}
	to := csv
	write := func(w io.Writer) error { return nb.ExportCSV(ctx, w, id, clock-1) }
	if csv == "" {
		to, write = parquet, func(w io.Writer) error { return nb.ExportParquet(ctx, w, id, clock-1) }
	}
	if err := writeFile(to, write); err != nil {
		return err
	}
	fmt.Fprintf(out, "wrote %s\n", to)
	if n := x.Clocks(); n > 1 {
		fmt.Fprintf(out, "  Its channels have %d clocks; this is clock %d. --clock names another.\n", n, clock)
	}
	return nil
}

func newTracesDrop(file *string) *cobra.Command {
	return &cobra.Command{
		Use:   "drop TRACE",
		Short: "take a trace out of the study",
		Long: `drop takes a trace out of the study. One that was not finished is given up and its
samples are removed; a finished one stays in the notebook and no longer counts.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			id, err := traceNumber(args[0])
			if err != nil {
				return err
			}
			return withNotebook(cmd.Context(), *file, func(nb *notebook.Notebook) error {
				x, err := nb.Trace(cmd.Context(), id)
				if err != nil {
					return err
				}
				o := notebook.Origin{Device: "command line"}
				if x.Outcome != notebook.Complete {
					return nb.AbandonTrace(cmd.Context(), id, o)
				}
				_, err = nb.Withdraw(cmd.Context(), notebook.AMapping, x.Mapping.ID, o)
				return err
			})
		},
	}
}
