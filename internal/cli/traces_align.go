package cli

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/trace"
	"railtally/internal/trace/logfile"
)

// alignFlags say how two clocks are brought together, and what is joined over which time.
type alignFlags struct {
	channel, with string
	offset, mark  string
	reach         float64
	from, to      float64
	scale         string
	keep, json    bool
}

func newTracesAlign(file *string) *cobra.Command {
	f := alignFlags{from: math.Inf(-1), to: math.Inf(1)}
	c := &cobra.Command{
		Use:   "align TRACE TRACE",
		Short: "bring two logs to one clock, and take the mean of v·i over both",
		Long: `align brings the clock of the second trace to that of the first: by what both
show alike (cross-correlation), by an event whose time in each is given with --mark,
or by an offset given with --offset. It tells the shift with its uncertainty, then
for the two channels the mean of v·i, the product of the means, and their difference
with what the scatter and what the uncertainty of the shift leave unknown of it.

TRACE is the number of a trace in the notebook, or a log's file. With --keep the shift
is kept with the first trace: readings that are taken of a window then hold both.`,
		Example: `  railtally traces align 3 4
  railtally traces align volts.csv amps.csv --channel "core V" --with "core A"
  railtally traces align 3 4 --mark "12.5 s, 14.71 s" --keep
  railtally traces align 3 4 --offset "-2.2 ± 0.1 s" --scale "10 A/V"`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return alignTraces(cmd.Context(), cmd.OutOrStdout(), *file, args, f)
		},
	}
	fl := c.Flags()
	fl.StringVar(&f.channel, "channel", "", "the channel of the first (what it measures of the rail, or the first channel)")
	fl.StringVar(&f.with, "with", "", "the channel of the second")
	fl.StringVar(&f.offset, "offset", "", `what is added to the times of the second: "-2.2 ± 0.1 s" for limits, "-2.2 ± 0.1 s (k=2)"`)
	fl.StringVar(&f.mark, "mark", "", `when one event happened in the first and in the second: "12.5 s, 14.71 s"`)
	fl.Float64Var(&f.reach, "reach", 0, "how far from what their own clocks say a shift is sought, in seconds (half the shorter unless given)")
	fl.Float64Var(&f.from, "from", f.from, "where the window begins, in seconds of the first")
	fl.Float64Var(&f.to, "to", f.to, "where it ends")
	fl.StringVar(&f.scale, "scale", "", `of a clamp that was logged in volts: "10 A/V"`)
	fl.BoolVar(&f.keep, "keep", false, "keep the shift in the notebook")
	fl.BoolVar(&f.json, "json", false, "print one JSON document, in SI units and unrounded")
	return c
}

// a sided is one of the two: a trace of the notebook, or a log in memory.
type sided struct {
	name    string
	trace   *notebook.Trace
	log     *logfile.Log
	names   []string
	units   []quantity.Unit
	channel int
}

func (s *sided) choose(name string) error {
	for i, n := range s.names {
		if n == name {
			s.channel = i
			return nil
		}
	}
	return usage{fmt.Errorf("%s has no channel %q (accepted: %s)", s.name, name, strings.Join(s.names, ", "))}
}

func (s *sided) role() notebook.ChannelRole {
	if s.trace == nil {
		return notebook.ChannelRole{}
	}
	r, _ := s.trace.Mapping.Role(s.channel)
	return r
}

func sideOf(ctx context.Context, nb *notebook.Notebook, arg string) (*sided, error) {
	if id, err := strconv.ParseInt(arg, 10, 64); err == nil {
		x, err := nb.Trace(ctx, id)
		if err != nil {
			return nil, err
		}
		s := &sided{name: x.Mapping.Name, trace: &x}
		for _, c := range x.Channels {
			s.names, s.units = append(s.names, c.Name), append(s.units, c.Unit)
		}
		if len(s.names) == 0 {
			return nil, fmt.Errorf("trace %d holds no channels", id)
		}
		return s, nil
	}
	file, err := os.Open(arg)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	d, whole, err := logfile.Detect(file, logfile.Hints{})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", arg, err)
	}
	s := &sided{name: filepath.Base(arg)}
	if s.log, err = logfile.Load(ctx, whole, &d.Profile, logfile.Options{}); err != nil {
		return nil, fmt.Errorf("%s: %w", arg, err)
	}
	if len(s.log.Series) == 0 {
		return nil, fmt.Errorf("%s: no samples", arg)
	}
	for _, x := range s.log.Series {
		s.names, s.units = append(s.names, x.Name), append(s.units, x.Unit)
	}
	return s, nil
}

// chooseRoles takes the voltage of one and the current of the other of one rail, where that is known.
func chooseRoles(a, b *sided) {
	for i := range a.names {
		for k := range b.names {
			a.channel, b.channel = i, k
			ra, rb := a.role(), b.role()
			if ra.Rail != "" && ra.Rail == rb.Rail && ra.Is != rb.Is {
				return
			}
		}
	}
	a.channel, b.channel = 0, 0
}

func alignTraces(ctx context.Context, out io.Writer, file string, args []string, f alignFlags) error {
	if f.offset != "" && f.mark != "" {
		return usage{fmt.Errorf("--offset or --mark, not both")}
	}
	inNotebook := 0
	for _, a := range args {
		if _, err := strconv.ParseInt(a, 10, 64); err == nil {
			inNotebook++
		}
	}
	if inNotebook == 1 || inNotebook < 2 && f.keep {
		return usage{fmt.Errorf("%s and %s: two numbers of traces or two files are wanted; --keep needs traces (a file becomes one by 'railtally log FILE --keep STUDY')", args[0], args[1])}
	}
	run := func(nb *notebook.Notebook) error {
		a, err := sideOf(ctx, nb, args[0])
		if err != nil {
			return err
		}
		b, err := sideOf(ctx, nb, args[1])
		if err != nil {
			return err
		}
		chooseRoles(a, b)
		for _, x := range []struct {
			s    *sided
			name string
		}{{a, f.channel}, {b, f.with}} {
			if x.name != "" {
				if err := x.s.choose(x.name); err != nil {
					return err
				}
			}
		}
		return alignTwo(ctx, out, nb, a, b, f)
	}
	if inNotebook == 0 {
		return run(nil)
	}
	return withNotebook(ctx, file, run)
}

func alignTwo(ctx context.Context, out io.Writer, nb *notebook.Notebook, a, b *sided, f alignFlags) error {
	al, err := shiftOf(ctx, nb, a, b, f)
	if err != nil {
		return err
	}
	factor, scaled := 1.0, ""
	if f.scale != "" {
		if factor, err = quantity.ParseRatio(f.scale, quantity.Ampere, quantity.Volt); err != nil {
			return usage{fmt.Errorf("--scale: %w", err)}
		}
		// The clamp is the one that is a current, or else the second.
		scaled = "second"
		if a.role().Is == notebook.Current {
			scaled = "first"
		}
	}
	var j *trace.Joint
	if a.trace != nil {
		from, to := max(f.from, -math.MaxFloat64/8), min(f.to, math.MaxFloat64/8)
		j, err = nb.JoinTraces(ctx, a.trace.ID, a.channel, b.trace.ID, b.channel, al, from, to)
	} else {
		j, err = al.Join(a.log.Series[a.channel], b.log.Series[b.channel], f.from, f.to)
	}
	if err != nil {
		return err
	}
	kept := false
	if f.keep {
		c := notebook.Clock{Trace: b.trace.ID, Offset: al.Offset, U: al.U, Method: al.Method}
		if _, err := nb.AlignTrace(ctx, a.trace.Mapping.ID, c, false, notebook.Origin{Device: "command line"}); err != nil {
			return err
		}
		kept = true
	}
	unit := productUnit(a, b, scaled)
	if f.json {
		return writeJSON(out, jointDocument(a, b, j, unit, factor, kept))
	}
	printJoint(out, a, b, j, unit, factor)
	if kept {
		fmt.Fprint(out, wrap("  ", fmt.Sprintf("Kept with %s: a window of either now gives readings of both.", a.name), textWidth))
	}
	return nil
}

// productUnit is W where it is a power, None where only parts of it mean something.
func productUnit(a, b *sided, scaled string) quantity.Unit {
	x, y := a.units[a.channel], b.units[b.channel]
	switch scaled {
	case "first":
		x = quantity.Ampere
	case "second":
		y = quantity.Ampere
	}
	if x == quantity.Volt && y == quantity.Ampere || x == quantity.Ampere && y == quantity.Volt {
		return quantity.Watt
	}
	return quantity.None
}

// shiftOf finds the shift, as the flags say.
func shiftOf(ctx context.Context, nb *notebook.Notebook, a, b *sided, f alignFlags) (al trace.Alignment, err error) {
	switch {
	case f.offset != "":
		e, err := quantity.Parse(f.offset, quantity.Second, "s")
		if err != nil {
			return al, usage{fmt.Errorf("--offset: %w", err)}
		}
		u, err := notebook.OffsetU(e)
		if err != nil {
			return al, usage{fmt.Errorf("--offset: %w", err)}
		}
		return trace.ByOffset(e.Value(), u)
	case f.mark != "":
		first, second, ok := strings.Cut(f.mark, ",")
		if !ok {
			return al, usage{fmt.Errorf(`--mark %q: two times are wanted, as in "12.5 s, 14.71 s"`, f.mark)}
		}
		ta, err := quantity.Parse(strings.TrimSpace(first), quantity.Second, "s")
		if err != nil {
			return al, usage{fmt.Errorf("--mark: %w", err)}
		}
		tb, err := quantity.Parse(strings.TrimSpace(second), quantity.Second, "s")
		if err != nil {
			return al, usage{fmt.Errorf("--mark: %w", err)}
		}
		sa, err := a.step(ctx, nb, ta.Value())
		if err != nil {
			return al, err
		}
		sb, err := b.step(ctx, nb, tb.Value())
		if err != nil {
			return al, err
		}
		return trace.ByMark(ta.Value(), tb.Value(), sa, sb)
	case a.trace != nil:
		return nb.CorrelateTraces(ctx, a.trace.ID, a.channel, b.trace.ID, b.channel, f.reach)
	}
	return trace.ByCorrelation(a.log.Series[a.channel], b.log.Series[b.channel], trace.CorrelateOptions{MaxLag: f.reach})
}

// step is the sampling step about a time.
func (s *sided) step(ctx context.Context, nb *notebook.Notebook, at float64) (float64, error) {
	if s.trace != nil {
		return nb.StepAt(ctx, s.trace.ID, s.channel, at)
	}
	x := s.log.Series[s.channel]
	if at < x.T[0] || at > x.T[len(x.T)-1] {
		return 0, usage{fmt.Errorf("--mark: %s has no sample at %g s; it spans %g s to %g s", s.name, at, x.T[0], x.T[len(x.T)-1])}
	}
	return x.Step(), nil
}

func printJoint(w io.Writer, a, b *sided, j *trace.Joint, unit quantity.Unit, factor float64) {
	heading(w, "%s brought to the clock of %s", b.name, a.name)
	fmt.Fprintf(w, "  add %s to its times (k=1), by %s\n", quantity.FormatU(j.Offset, j.U, quantity.Second), j.Method)
	if j.Peak != 0 {
		fmt.Fprintf(w, "  correlation %.3f there, at most %.3f at any other shift\n", j.Peak, math.Abs(j.Second))
	}
	for _, text := range j.Warnings {
		fmt.Fprint(w, wrap("  mind  ", text, textWidth))
	}
	heading(w, "%s and %s together, %s s to %s s: %d pairs of samples", a.names[a.channel], b.names[b.channel],
		strconv.FormatFloat(j.From, 'f', -1, 64), strconv.FormatFloat(j.To, 'f', -1, 64), j.Pairs)
	tb := newTable("", ">± u (k=1)", ">of this: scatter", ">clocks")
	u2 := func(x float64) string { return quantity.Format(x, unit, 2) }
	if unit == quantity.Watt {
		tb.add("mean of v·i", quantity.FormatU(factor*j.Power.Mean(), factor*j.UPower(), unit), u2(factor*j.Power.U), u2(factor*j.UClockPower))
		tb.add("product of the means", quantity.Format(factor*j.OfMeans, unit, 5), "", "")
		if j.Share != nil {
			tb.add("difference", quantity.FormatU(factor*j.Together, factor*j.UTogether(), unit), u2(factor*math.Abs(j.OfMeans)*j.Share.U), u2(factor*j.UClock))
		}
	}
	if s := j.Share; s != nil {
		p := func(x float64) string { return quantity.Format(100*x, quantity.None, 2) + " %" }
		tb.add("as a part of the product", "("+quantity.FormatU(100*s.Mean(), 100*j.UShare(), quantity.None)+") %", p(s.U), p(j.UClockShare))
	}
	tb.print(w)
	if unit != quantity.Watt {
		fmt.Fprint(w, wrap("  ", "The two are no voltage and current, so only the part is told. --scale \"10 A/V\" gives a clamp that was logged in volts its amperes.", textWidth))
	}
}

func jointDocument(a, b *sided, j *trace.Joint, unit quantity.Unit, factor float64, kept bool) map[string]any {
	doc := map[string]any{"format": "railtally traces align 1", "first": a.name, "second": b.name,
		"channel": a.names[a.channel], "with": b.names[b.channel],
		"offset_s": j.Offset, "u_offset_s": j.U, "method": j.Method, "warnings": append([]string{}, j.Warnings...),
		"from_s": j.From, "to_s": j.To, "pairs": j.Pairs, "kept": kept}
	if j.Peak != 0 {
		doc["correlation"], doc["correlation_elsewhere"] = j.Peak, j.Second
	}
	if unit == quantity.Watt {
		doc["mean_of_product_w"], doc["u_mean_of_product_w"] = factor*j.Power.Mean(), factor*j.UPower()
		doc["product_of_means_w"] = factor * j.OfMeans
		doc["difference_w"], doc["u_difference_clocks_w"] = factor*j.Together, factor*j.UClock
		if j.Share != nil {
			doc["u_difference_w"] = factor * j.UTogether()
		}
	}
	if j.Share != nil {
		doc["part"], doc["u_part"] = j.Share.Mean(), j.UShare()
		doc["u_part_scatter"], doc["u_part_clocks"] = j.Share.U, j.UClockShare
	}
	return doc
}
