package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"railtally/internal/cooling"
	"railtally/internal/example"
	"railtally/internal/report"
)

// demoFolder is where the demo writes when no folder is named.
const demoFolder = "railtally-demo"

func newDemo() *cobra.Command {
	return &cobra.Command{
		Use:   "demo [FOLDER]",
		Short: "the worked example, from readings to a page",
		Long: `demo writes the worked example to a folder (railtally-demo unless another is
named): its study file with the readings, charts as SVG and PNG, and the page to
publish. Then it prints the tally and says what to do next.

The example is invented: its boards, its instruments and its readings come from
a virtual bench whose true powers are known. A study file that you have changed
is left alone.`,
		Example: `  railtally demo
  railtally demo /tmp/example`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := demoFolder
			if len(args) > 0 {
				dir = args[0]
			}
			return runDemo(cmd.Context(), cmd.OutOrStdout(), dir)
		},
	}
}

func runDemo(ctx context.Context, out io.Writer, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("make folder: %w", err)
	}
	study := filepath.Join(dir, "otter.yaml")
	text := example.New(example.Seed).Text
	switch old, err := os.ReadFile(study); {
	case err == nil && !bytes.Equal(old, text):
		return fmt.Errorf("%s was changed since the demo wrote it, and is left alone: name another folder, or tally it with 'railtally tally %s'", study, study)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	if err := writeFile(study, func(w io.Writer) error { _, err := w.Write(text); return err }); err != nil {
		return err
	}
	t, err := source{name: study}.tally(ctx, 0)
	if err != nil {
		return err
	}
	c, err := cooling.Run(t, cooling.Options{})
	if err != nil {
		return err
	}
	list, err := pictures(t, c)
	if err != nil {
		return err
	}
	files, err := saved(dir, list)
	if err != nil {
		return err
	}
	page := filepath.Join(dir, "otter.html")
	if err := writeFile(page, func(w io.Writer) error { return report.Page(w, t, report.Options{Program: program()}) }); err != nil {
		return err
	}
	if err := printTally(out, t, false); err != nil {
		return err
	}
	printNext(out, study, page, files)
	return nil
}

func printNext(out io.Writer, study, page string, pictures []string) {
	heading(out, "Written")
	tb := newTable("file", "what it is")
	tb.add(study, "the study: instruments, boards, states, readings")
	tb.add(page, "the page to publish, whole in one file")
	for _, p := range pictures {
		tb.add(p, "chart")
	}
	tb.print(out)
	heading(out, "Next")
	fmt.Fprint(out, wrap("  ", "Open the page in a browser. Then change a reading in the study and tally it again:", textWidth))
	fmt.Fprintf(out, "    railtally tally %s\n", study)
	fmt.Fprint(out, wrap("  ", "Ask whether the chips need their fans, and how far their power and room could go:", textWidth))
	fmt.Fprintf(out, "    railtally cooling %s\n", study)
	fmt.Fprint(out, wrap("  ", "Try a whole sitting without a bench, on a simulated one whose meters are read live:", textWidth))
	fmt.Fprintf(out, "    railtally simulate --notebook try.db\n")
	fmt.Fprint(out, wrap("  ", "Copy the study, replace its boards, instruments and sittings by yours, and it is your own; docs/study-file.md tells every key.", textWidth))
}

// writeFile writes a file whole or not at all: beside its place first, then
// renamed into it.
func writeFile(path string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".railtally-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
			err = fmt.Errorf("write %s: %w", path, err)
		}
	}()
	if err = write(f); err != nil {
		return err
	}
	if err = f.Chmod(0o644); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
