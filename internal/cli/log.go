package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"railtally/internal/trace"
	"railtally/internal/trace/logfile"
)

// logFlags are what changes how a log is read and shown.
type logFlags struct {
	profile     string
	saveProfile string
	column      string
	criterion   string
	rows        int
	json        bool
	keep        keepFlags
}

func newLog() *cobra.Command {
	var f logFlags
	var names []string
	for _, c := range trace.Criteria() {
		names = append(names, c.Name)
	}
	c := &cobra.Command{
		Use:   "log FILE",
		Short: "look into a log, find its steady stretches",
		Long: `log reads the text that a meter, logger or oscilloscope wrote. It shows what was
found about the file and why, its first rows, and the statistics of every
channel. With --channel it also finds where that channel was steady, how it
settled or drifted, and what the mean of each steady window is worth.

Every finding can be changed: --save-profile writes them to a file, edit it, and
give it back with --profile. It then serves for all logs of that kind.

With --keep the log is taken into a study of the notebook as a trace, at any size:
compressed, with exact statistics of any window. What its channels are on the board
is guessed from their names and said with --as; both this and the profile
are remembered for the next log of the same kind. The same log is noticed. An import
that was cut off is finished by keeping the log again.`,
		Example: `  railtally log run.csv
  railtally log run.csv --channel "core V"
  railtally log run.csv --save-profile logger.json
  railtally log next.csv --profile logger.json --json
  railtally log run.csv --keep "bridge chip" --as "Ch 1=voltage core" --as "Ch 2=current core"`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runLog(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], f)
		},
	}
	fl := c.Flags()
	fl.StringVar(&f.profile, "profile", "", "read as this profile says instead of what is found")
	fl.StringVar(&f.saveProfile, "save-profile", "", "write the profile to this file")
	fl.StringVar(&f.column, "channel", "", "find the steady stretches of this channel")
	fl.StringVar(&f.criterion, "criterion", names[0], "what steady means: "+strings.Join(names, ", "))
	fl.IntVar(&f.rows, "rows", 5, "how many rows to preview")
	fl.BoolVar(&f.json, "json", false, "print one JSON document, in SI units and unrounded")
	fl.StringVar(&f.keep.study, "keep", "", "take the log into this study of the notebook")
	fl.StringArrayVar(&f.keep.as, "as", nil, `what a channel is: "CHANNEL=voltage RAIL", "CHANNEL=current RAIL TAP", and so on`)
	fl.StringVar(&f.keep.name, "name", "", "what the trace is called (the file's name unless given)")
	fl.BoolVar(&f.keep.again, "again", false, "keep a log that is in the notebook already once more")
	notebookFlag(c, &f.keep.notebook)
	return c
}

func runLog(ctx context.Context, out, errOut io.Writer, path string, f logFlags) error {
	crit, err := criterionNamed(f.criterion)
	if err != nil {
		return err
	}
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	defer file.Close()
	if f.keep.study != "" {
		return keepLog(ctx, out, errOut, file, f)
	}
	d, whole, err := logfile.Detect(file, logfile.Hints{})
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if f.profile != "" {
		if err := readProfile(f.profile, &d.Profile); err != nil {
			return err
		}
	}
	if f.saveProfile != "" {
		if err := writeFile(f.saveProfile, func(w io.Writer) error { return writeJSON(w, d.Profile) }); err != nil {
			return err
		}
	}
	p := newProgress(errOut, "reading")
	defer p.end()
	opt := logfile.Options{Progress: sizeOf(file, p)}
	doc := logDocument{Format: "railtally log 1", File: path, Detection: d}
	if f.column == "" {
		doc.Summary, err = logfile.Import(ctx, whole, &d.Profile, opt, nowhere{})
	} else {
		var l *logfile.Log
		if l, err = logfile.Load(ctx, whole, &d.Profile, opt); err == nil {
			doc.Summary = l.Summary
			doc.Windows, err = windowsOf(l, f.column, crit)
		}
	}
	p.end()
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if f.json {
		return writeJSON(out, doc.document())
	}
	printLog(out, doc, f)
	return nil
}

// nowhere takes samples and keeps none: their statistics are in the summary.
type nowhere struct{}

func (nowhere) Take(*logfile.Batch) error { return nil }

func criterionNamed(name string) (trace.Criterion, error) {
	var names []string
	for _, c := range trace.Criteria() {
		if c.Name == name {
			return c, nil
		}
		names = append(names, c.Name)
	}
	return trace.Criterion{}, usage{fmt.Errorf("--criterion %q: accepted are %s", name, strings.Join(names, ", "))}
}

func readProfile(path string, p *logfile.Profile) error {
	raw, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	var kept logfile.Profile
	if err := json.Unmarshal(raw, &kept); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := kept.Validate(); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	*p = kept
	return nil
}

// sizeOf reports how much of a file was read, roughly: text decoded to UTF-8
// against bytes on disk.
func sizeOf(f *os.File, p *progress) func(bytes, rows int64) {
	st, err := f.Stat()
	if err != nil {
		return nil
	}
	return func(bytes, _ int64) { p.at(int(min(bytes, st.Size())>>10), int(st.Size()>>10)) }
}

// logWindow is one stretch of a channel with its statistics.
type logWindow struct {
	trace.Stretch
	Stats *trace.Stats // of the proposed window; nil without one
}

// windowsOf finds the stretches of one channel.
func windowsOf(l *logfile.Log, channel string, crit trace.Criterion) ([]logWindow, error) {
	s := l.Channel(channel)
	if s == nil {
		var names []string
		for _, x := range l.Series {
			names = append(names, x.Name)
		}
		return nil, fmt.Errorf("no channel called %q (accepted: %s)", channel, strings.Join(names, ", "))
	}
	if s.Len() == 0 {
		return nil, errors.New("the channel has no samples")
	}
	list, _, err := trace.Windows(s, trace.WindowOptions{Criterion: crit})
	if err != nil {
		return nil, err
	}
	out := make([]logWindow, len(list))
	for i, st := range list {
		out[i].Stretch = st
		if st.Window == nil {
			continue
		}
		w, err := s.Window(st.Window.From, st.Window.To)
		if err != nil {
			return nil, err
		}
		if out[i].Stats, err = trace.Summarise(w); err != nil {
			return nil, err
		}
	}
	return out, nil
}
