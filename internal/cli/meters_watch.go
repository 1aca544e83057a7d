package cli

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/acquire"
	"railtally/internal/quantity"
)

func newMetersWatch(f *metersFlags) *cobra.Command {
	var length time.Duration
	var unit string
	c := &cobra.Command{
		Use:   "watch [METER...]",
		Short: "live digits, trend and whether they are steady",
		Long: `watch shows what meters read until you stop it: the last reading in large digits,
and of the last ten seconds mean, scatter and trend. Steady means that no trend
stands out, or none of more than a thousandth of the reading.

Not on a terminal it prints one line a second.`,
		Example: `  railtally meters watch
  railtally meters watch 127.0.0.1:5025 --for 5s`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			meters, err := f.named(args)
			if err != nil {
				return err
			}
			u, err := unitFlag(unit, meters)
			if err != nil {
				return err
			}
			return runWatch(cmd.Context(), cmd.OutOrStdout(), meters, u, length)
		},
	}
	c.Flags().DurationVar(&length, "for", 0, "stop after so long")
	unitFlagOn(c, &unit)
	return c
}

func unitFlagOn(c *cobra.Command, unit *string) {
	c.Flags().StringVar(unit, "unit", "", "what the meter reads: V, A, °C, Ω (as its settings say, else V)")
}

// unitFlag is the unit that was named, else that of the first meter.
func unitFlag(text string, meters []acquire.Meter) (quantity.Unit, error) {
	m := meters[0]
	switch text {
	case "":
		return m.Reads(), nil
	case "C":
		text = quantity.Celsius.Symbol()
	case "ohm":
		text = quantity.Ohm.Symbol()
	}
	m.Unit = text
	if err := m.Validate(); err != nil {
		return quantity.None, usage{err}
	}
	return m.Reads(), nil
}

func runWatch(ctx context.Context, out io.Writer, meters []acquire.Meter, u quantity.Unit, length time.Duration) error {
	st, err := stationOf(meters)
	if err != nil {
		return err
	}
	defer st.Close()
	for _, m := range meters {
		leave, err := st.Listen(m.Name, nil)
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
	screen := isTerminal(out)
	every := time.Second
	if screen {
		every = 200 * time.Millisecond
	}
	tick := time.NewTicker(every)
	defer tick.Stop()
	up := 0
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
		var b strings.Builder
		for _, m := range meters {
			v, err := st.Now(m.Name)
			if err != nil {
				return err
			}
			if screen {
				b.WriteString(largeView(v, u))
			} else {
				b.WriteString(lineView(v, u))
			}
		}
		text := b.String()
		if screen {
			if up > 0 {
				fmt.Fprintf(out, "\033[%dA", up) // back to where it began
			}
			up = strings.Count(text, "\n")
			text = strings.ReplaceAll(text, "\n", "\033[K\n")
		}
		if _, err := io.WriteString(out, text); err != nil {
			return err
		}
	}
}

// shownReading is the last reading for people, or what it is instead.
func shownReading(v acquire.View, u quantity.Unit) string {
	x := v.Last
	switch {
	case math.IsNaN(x):
		return "no reading"
	case math.IsInf(x, 0):
		return "overload"
	}
	return quantity.Format(x, u, v.Digits())
}

// trendOf says by how much readings change.
func trendOf(v acquire.View, u quantity.Unit) string {
	if v.N < 2 {
		return ""
	}
	sign := "+"
	if v.PerSecond < 0 {
		sign = "−"
	}
	return sign + quantity.Format(math.Abs(v.PerSecond)*60, u, 2) + "/min"
}

func lineView(v acquire.View, u quantity.Unit) string {
	text := fmt.Sprintf("%s  %s  %s", v.Meter, shownReading(v, u), v.Mark)
	if v.N > 1 {
		text += fmt.Sprintf("  mean %s, scatter %s, trend %s, %.3g readings/s", quantity.FormatU(v.Mean, v.SD/math.Sqrt(float64(v.N)), u),
			quantity.Format(v.SD, u, 2), trendOf(v, u), v.Rate)
	}
	if v.Trouble != "" {
		text += "  (" + v.Trouble + ")"
	}
	return text + "\n"
}

// largeView draws the reading in digits three lines high.
func largeView(v acquire.View, u quantity.Unit) string {
	rows := largeDigits(shownReading(v, u))
	mean := ""
	if v.N > 1 {
		mean = fmt.Sprintf("mean of %d: %s   scatter %s   trend %s", v.N, quantity.Format(v.Mean, u, 6), quantity.Format(v.SD, u, 2), trendOf(v, u))
	}
	mark := string(v.Mark)
	if v.Trouble != "" {
		mark += ": " + v.Trouble
	}
	return fmt.Sprintf("%s  %s\n%s\n%s\n\n", v.Meter, mark, strings.Join(rows[:], "\n"), mean)
}

// largeDigits sets a text in box-drawing digits of three lines; what has no large
// form stands on the last line.
func largeDigits(text string) [3]string {
	forms := map[rune][3]string{
		'0': {"┏━┓", "┃ ┃", "┗━┛"}, '1': {"╶┓ ", " ┃ ", "╺┻╸"}, '2': {"╺━┓", "┏━┛", "┗━╸"}, '3': {"╺━┓", "╺━┫", "╺━┛"},
		'4': {"╻ ╻", "┗━┫", "  ╹"}, '5': {"┏━╸", "┗━┓", "╺━┛"}, '6': {"┏━╸", "┣━┓", "┗━┛"}, '7': {"╺━┓", "  ┃", "  ╹"},
		'8': {"┏━┓", "┣━┫", "┗━┛"}, '9': {"┏━┓", "┗━┫", "╺━┛"}, '.': {" ", " ", "▪"}, '-': {"   ", "╺━╸", "   "}, '−': {"   ", "╺━╸", "   "},
	}
	var rows [3]string
	for _, r := range text {
		form, ok := forms[r]
		if !ok {
			form = [3]string{" ", " ", string(r)}
		}
		for i := range rows {
			rows[i] += form[i] + " "
		}
	}
	return rows
}
