package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/cooling"
	"railtally/internal/phrase"
	"railtally/internal/plan"
	"railtally/internal/report"
	"railtally/internal/tally"
)

// reportFlags are what a page carries and where it goes.
type reportFlags struct {
	to, notebook, language, length, browser string
	sections                                []string
	pdf                                     bool
}

func newReport() *cobra.Command {
	var f reportFlags
	c := &cobra.Command{
		Use:   "report STUDY",
		Short: "the page to publish: answer, charts, every figure with its proof",
		Long: `report writes the page to publish: one HTML file that needs nothing else, neither
server nor network nor script. It says the answer first, then shows it, then proves
it down to each reading. STUDY is a study's text file, a bundle, or the name of a
study in the notebook; from the notebook its photographs go onto the page too.

The answer is said in sentences that follow from the verdicts. Your own go under
'words' in the study; a figure in them is a reference, as in {total Otter busy},
and follows the results.

--length short leaves the proof out. --sections names the sections to have, or adds
to and takes from those of the length: --sections +method,-claims. With --pdf the
page is printed to a PDF file by a browser of the Chromium family, where one is
installed; otherwise it says how to print it.`,
		Example: `  railtally report otter.yaml
  railtally report otter.yaml --length short --language de -o otter-kurz.html
  railtally report otter.yaml --sections answer,totals,method
  railtally report otter.yaml --pdf -o otter.pdf`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runReport(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], f)
		},
	}
	notebookFlag(c, &f.notebook)
	fl := c.Flags()
	fl.StringVarP(&f.to, "output", "o", "", "the file to write (the study's name with .html or .pdf); - is standard output")
	fl.StringVar(&f.length, "length", "full", "full, or short without the proof")
	fl.StringSliceVar(&f.sections, "sections", nil, "sections of the page: "+strings.Join(report.SectionNames(), ", "))
	fl.StringVar(&f.language, "language", "en", "language of the page: "+strings.Join(phrase.Tags(), ", "))
	fl.BoolVar(&f.pdf, "pdf", false, "print the page to a PDF file, with an installed browser")
	fl.StringVar(&f.browser, "browser", "", "the browser that prints (one of the Chromium family)")
	return c
}

// options reads what the page is to carry.
func (f reportFlags) options() (report.Options, error) {
	l, err := phrase.Find(f.language)
	if err != nil {
		return report.Options{}, usage{err}
	}
	opt := report.Options{Program: program(), Language: l, Length: report.Length(f.length), Sections: f.sections}
	if err := opt.Check(); err != nil {
		return opt, usage{err}
	}
	return opt, nil
}

func runReport(ctx context.Context, out, errOut io.Writer, name string, f reportFlags) error {
	opt, err := f.options()
	if err != nil {
		return err
	}
	printer := ""
	if f.pdf {
		if printer, err = findBrowser(f.browser); err != nil {
			return err
		}
	}
	c, done, err := contents(ctx, source{name, f.notebook, errOut})
	if err != nil {
		return err
	}
	defer done()
	t, err := tally.Run(c.Study, tally.Options{Temperature: cooling.Claimed})
	if err != nil {
		return err
	}
	if opt.Language.Tag() == phrase.English().Tag() {
		if err := plan.Advise(ctx, t); err != nil {
			return err
		}
	}
	opt.Photos = c.PagePhotos()
	warnings, err := report.CheckWords(t, t.Study.Words)
	if err != nil {
		return err
	}
	for _, w := range warnings {
		fmt.Fprint(errOut, wrap("words: ", w, textWidth))
	}
	page := func(w io.Writer) error { return report.Page(w, t, opt) }
	switch {
	case f.to == "-" && !f.pdf:
		return page(out)
	case f.pdf:
		return f.print(ctx, out, printer, name, page)
	}
	to := f.target(name, ".html")
	if err := writeFile(to, page); err != nil {
		return err
	}
	fmt.Fprintf(out, "written: %s\n", to)
	return nil
}

// target is the file to write: the one that was named, else the study's name
// with another ending, in the folder where one is.
func (f reportFlags) target(name, ext string) string {
	if f.to != "" {
		return f.to
	}
	base := strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
	if _, err := os.Stat(name); err != nil {
		base = slug(name)
	}
	return base + ext
}

// printing is how long a browser may take to print a page.
const printing = 2 * time.Minute

// print sets the page and lets a browser print it.
func (f reportFlags) print(ctx context.Context, out io.Writer, browser, name string, page func(io.Writer) error) error {
	to := f.target(name, ".pdf")
	if to == "-" {
		return usage{fmt.Errorf("--pdf: a file's name is accepted after -o")}
	}
	dir, err := os.MkdirTemp("", "railtally-print-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	html := filepath.Join(dir, "page.html")
	if err := writeFile(html, page); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, printing)
	defer cancel()
	pdf := filepath.Join(dir, "page.pdf")
	if err := printPage(ctx, browser, dir, html, pdf); err != nil {
		return err
	}
	if err := writeFile(to, func(w io.Writer) error {
		file, err := os.Open(pdf)
		if err != nil {
			return err
		}
		defer file.Close()
		_, err = io.Copy(w, file)
		return err
	}); err != nil {
		return err
	}
	fmt.Fprintf(out, "written: %s\n", to)
	return nil
}
