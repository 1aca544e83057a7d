package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/acquire"
	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/recording"
)

func newMetersRecord(f *metersFlags) *cobra.Command {
	var to, study, name, unit string
	var length time.Duration
	c := &cobra.Command{
		Use:   "record [METER...] (--to FILE | --study STUDY)",
		Short: "record what meters read, until you stop it",
		Long: `record keeps every reading of one or more meters, with its time on this computer's
own clock: as a log in CSV that 'railtally log FILE' reads (--to), or straight
into the notebook as a trace of a study (--study, by its number or its question).
A meter that vanishes leaves a gap and comes back; the others go on. How far the
times of two meters may lie apart is told at the end.

Into the notebook readings are written once a second: what was written stays when
the program is killed.`,
		Example: `  railtally meters record --to run.csv --for 10m
  railtally meters record "desk meter" "case probe" --study 1 --name "core, warming up"`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			meters, err := f.named(args)
			if err != nil {
				return err
			}
			if (to == "") == (study == "") {
				return usage{errors.New("record: --to FILE or --study STUDY says where readings go")}
			}
			ctx := cmd.Context()
			if length > 0 {
				var cancel context.CancelFunc
				ctx, cancel = context.WithTimeout(ctx, length)
				defer cancel()
			}
			if study != "" {
				if unit != "" {
					for i := range meters {
						meters[i].Unit = unit
						if err := meters[i].Validate(); err != nil {
							return usage{err}
						}
					}
				}
				return runKeep(ctx, cmd.OutOrStdout(), meters, f.notebook, study, name)
			}
			u, err := unitFlag(unit, meters)
			if err != nil {
				return err
			}
			return runRecord(ctx, cmd.OutOrStdout(), meters, u, to)
		},
	}
	fl := c.Flags()
	fl.StringVar(&to, "to", "", "the log's file; one that is there is not overwritten")
	fl.StringVar(&study, "study", "", "keep the readings in the notebook, as a trace of this study")
	fl.StringVar(&name, "name", "", "what the trace is called (the meters' names)")
	fl.DurationVar(&length, "for", 0, "stop after so long")
	unitFlagOn(c, &unit)
	return c
}

// runKeep records into the notebook until ctx ends.
func runKeep(ctx context.Context, out io.Writer, meters []acquire.Meter, notebookFile, study, name string) error {
	// The end of ctx is the end of the record, not of what is written then.
	keep := context.WithoutCancel(ctx)
	nb, err := openNotebook(keep, notebookFile, true)
	if err != nil {
		return err
	}
	defer nb.Close()
	id, question, err := keptStudy(keep, nb, study)
	if err != nil {
		return err
	}
	if name == "" {
		for _, m := range meters {
			name = strings.TrimPrefix(name+", "+m.Name, ", ")
		}
	}
	st, err := stationOf(meters)
	if err != nil {
		return err
	}
	defer st.Close()
	r, err := recording.Begin(keep, nb, id, st, meters, name, notebook.Origin{Device: program()})
	if err != nil {
		return hinted(err)
	}
	counts, err := r.Run(ctx)
	total := int64(0)
	for _, n := range counts {
		total += n
	}
	if err != nil {
		return fmt.Errorf("%w\n  The first %d readings are in trace %d, which is not complete.", hinted(err), total, r.Trace())
	}
	if total == 0 {
		fmt.Fprintln(out, "No meter gave a reading.")
	}
	fmt.Fprintf(out, "%d readings in trace %d, %q, of %q\n", total, r.Trace(), name, question)
	return nil
}

// keptStudy finds a study of the notebook by its number, its question, or a part
// of that which no other has.
func keptStudy(ctx context.Context, nb *notebook.Notebook, named string) (id int64, question string, err error) {
	all, err := nb.Studies(ctx)
	if err != nil {
		return 0, "", err
	}
	var like []notebook.Summary
	for _, x := range all {
		switch {
		case strconv.FormatInt(x.ID, 10) == named || strings.EqualFold(x.Question, named):
			return x.ID, x.Question, nil
		case strings.Contains(strings.ToLower(x.Question), strings.ToLower(named)):
			like = append(like, x)
		}
	}
	if len(like) != 1 {
		return 0, "", fmt.Errorf("%d studies of %s are like %q: the number of one, or its question, is accepted", len(like), nb.Path(), named)
	}
	return like[0].ID, like[0].Question, nil
}

func runRecord(ctx context.Context, out io.Writer, meters []acquire.Meter, u quantity.Unit, to string) (err error) {
	file, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	st, err := stationOf(meters)
	if err != nil {
		return err
	}
	defer st.Close()
	log := acquire.NewCSV(file, st.Began(), u.Symbol())
	for _, m := range meters {
		leave, err := st.Listen(m.Name, log.Sink)
		if err != nil {
			return err
		}
		defer leave()
	}
	<-ctx.Done()
	views := make([]acquire.View, len(meters))
	for i, m := range meters {
		if views[i], err = st.Now(m.Name); err != nil {
			return err
		}
	}
	st.Close()
	rows, err := log.Close()
	if err != nil {
		return fmt.Errorf("write %s: %w", to, err)
	}
	if err := file.Sync(); err != nil {
		return err
	}
	printRecorded(out, views, u)
	fmt.Fprintf(out, "%d readings in %s\n", rows, to)
	return nil
}

func printRecorded(out io.Writer, views []acquire.View, u quantity.Unit) {
	tb := newTable("meter", ">readings", ">overloads", ">links lost", ">times ±", "last")
	skew := 0.0
	for _, v := range views {
		tb.add(v.Meter, fmt.Sprint(v.Count), fmt.Sprint(v.Overs), fmt.Sprint(v.Lost), quantity.Format(v.Skew, quantity.Second, 2), shownReading(v, u))
		skew += v.Skew
	}
	tb.print(out)
	if len(views) > 1 {
		fmt.Fprintf(out, "  Readings of one time may lie up to %s apart.\n", quantity.Format(2*skew/float64(len(views)), quantity.Second, 2))
	}
}
