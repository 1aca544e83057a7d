package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"railtally/internal/chart"
	"railtally/internal/cooling"
	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
)

// chartFlags are what a chart looks like and where it goes.
type chartFlags struct {
	to, notebook, language, size string
	dark                         bool
}

func newChart() *cobra.Command {
	var f chartFlags
	c := &cobra.Command{
		Use:   "chart STUDY [NAME]",
		Short: "one chart as a picture: for a page, a video frame, a thumbnail",
		Long: `chart draws one chart of a study as SVG, PNG or PDF, as the ending of the file to
write says (SVG unless one is named). Without NAME it lists the charts that there
are; 'all' draws them all, as SVG and PNG, into the folder named with -o. STUDY is a
study's text file, a bundle, or the name of a study in the notebook.

Every picture has its title, its labels beside what they name, one line on how its
tolerance is shown, and the study with its dates. 'card' is a thumbnail with the
one figure that the study is about.`,
		Example: `  railtally chart otter.yaml
  railtally chart otter.yaml totals -o totals.svg
  railtally chart otter.yaml differences --size 4k --dark -o frame.png
  railtally chart otter.yaml card --size 1080p -o card.png
  railtally chart otter.yaml all -o charts`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(cmd *cobra.Command, args []string) error {
			name := ""
			if len(args) == 2 {
				name = args[1]
			}
			return runChart(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], name, f)
		},
	}
	notebookFlag(c, &f.notebook)
	fl := c.Flags()
	fl.StringVarP(&f.to, "output", "o", "", "the file to write: .svg, .png or .pdf (the chart's name with .svg)")
	fl.StringVar(&f.size, "size", "page", "page (as wide as a column of text), 1080p (1920 by 1080), 4k (3840 by 2160), phone")
	fl.BoolVar(&f.dark, "dark", false, "light on dark")
	fl.StringVar(&f.language, "language", "en", "language of the chart: "+strings.Join(phrase.Tags(), ", "))
	return c
}

// shape is the size of a picture in CSS pixels, and how many pixels of a PNG go
// to one of them.
type shape struct{ width, height, scale float64 }

func (f chartFlags) shape(name string) (shape, error) {
	switch f.size {
	case "page":
		if name == "card" {
			return shape{cardWidth, 0, 1}, nil
		}
		return shape{720, 0, 2}, nil
	case "phone":
		return shape{360, 0, 3}, nil
	case "1080p":
		return shape{1920, 1080, 1}, nil
	case "4k":
		return shape{3840, 2160, 1}, nil
	}
	return shape{}, usage{fmt.Errorf("--size %s: page, phone, 1080p or 4k is accepted", f.size)}
}

func runChart(ctx context.Context, out, errOut io.Writer, study, name string, f chartFlags) error {
	l, err := phrase.Find(f.language)
	if err != nil {
		return usage{err}
	}
	if _, err := f.shape(name); err != nil {
		return err
	}
	t, err := source{study, f.notebook, errOut}.tally(ctx, 0)
	if err != nil {
		return err
	}
	c, err := cooling.Run(t, cooling.Options{})
	var cannot heat.Problems
	if errors.As(err, &cannot) {
		c, err = nil, nil // the cooling command says what is wrong with it
	}
	if err != nil {
		return err
	}
	list, err := chart.Gallery(t, c, l)
	if err != nil {
		return err
	}
	switch name {
	case "":
		listCharts(out, list)
		return nil
	case "all":
		return f.all(out, list)
	}
	i := slices.IndexFunc(list, func(x chart.Choice) bool { return x.Name == name })
	if i < 0 {
		var names []string
		for _, x := range list {
			names = append(names, x.Name)
		}
		return usage{fmt.Errorf("no chart is called %q: %s are accepted, or all", name, strings.Join(names, ", "))}
	}
	to := f.to
	if to == "" {
		to = name + ".svg"
	}
	if err := f.draw(list[i], to); err != nil {
		return err
	}
	fmt.Fprintf(out, "written: %s\n", to)
	return nil
}

func listCharts(out io.Writer, list []chart.Choice) {
	tb := newTable("chart", "what it shows")
	for _, x := range list {
		tb.add(x.Name, x.Title)
	}
	tb.print(out)
}

// all draws every chart into a folder, as SVG and PNG.
func (f chartFlags) all(out io.Writer, list []chart.Choice) error {
	if f.to == "" {
		return usage{errors.New("chart all: name the folder to write to with -o")}
	}
	if err := os.MkdirAll(f.to, 0o755); err != nil {
		return fmt.Errorf("make folder: %w", err)
	}
	for _, x := range list {
		for _, ext := range []string{".svg", ".png"} {
			if err := f.draw(x, filepath.Join(f.to, x.Name+ext)); err != nil {
				return err
			}
		}
	}
	fmt.Fprintf(out, "written: %d charts in %s\n", len(list), f.to)
	return nil
}

// draw writes one chart as the ending of the file says.
func (f chartFlags) draw(x chart.Choice, to string) error {
	size, err := f.shape(x.Name)
	if err != nil {
		return err
	}
	d, err := x.Draw(chart.Options{Width: size.width, Height: size.height, Dark: f.dark, EmbedFont: true})
	if err != nil {
		return err
	}
	switch ext := strings.ToLower(filepath.Ext(to)); ext {
	case ".svg":
		return writeFile(to, d.WriteSVG)
	case ".png":
		return writeFile(to, func(w io.Writer) error { return d.WritePNG(w, size.scale) })
	case ".pdf":
		return writeFile(to, d.WritePDF)
	default:
		return usage{fmt.Errorf("-o %s: a file that ends in .svg, .png or .pdf is accepted", to)}
	}
}
