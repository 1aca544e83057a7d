package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/acquire"
	"railtally/internal/quantity"
)

func newMetersRecord(f *metersFlags) *cobra.Command {
	var to, unit string
	var length time.Duration
	c := &cobra.Command{
		Use:   "record [METER...] --to FILE",
		Short: "write what meters read to a log, until you stop it",
		Long: `record writes every reading of one or more meters to a log as CSV, with its time
on this computer's own clock. 'railtally log FILE' reads it. A meter that vanishes
leaves a gap and comes back; the others go on. How far the times of two meters may
lie apart is told at the end.`,
		Example: `  railtally meters record --to run.csv --for 10m
  railtally meters record "desk meter" "case probe" --to run.csv`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if to == "" {
				return usage{errors.New("record: --to FILE says where the log goes")}
			}
			meters, err := f.named(args)
			if err != nil {
				return err
			}
			u, err := unitFlag(unit, meters)
			if err != nil {
				return err
			}
			return runRecord(cmd.Context(), cmd.OutOrStdout(), meters, u, to, length)
		},
	}
	fl := c.Flags()
	fl.StringVar(&to, "to", "", "the log's file; one that is there is not overwritten")
	fl.DurationVar(&length, "for", 0, "stop after so long")
	unitFlagOn(c, &unit)
	return c
}

func runRecord(ctx context.Context, out io.Writer, meters []acquire.Meter, u quantity.Unit, to string, length time.Duration) (err error) {
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
	if length > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, length)
		defer cancel()
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
