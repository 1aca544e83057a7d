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

	tables "railtally/internal/table"
)

// tableFlags are which table is written, and as what.
type tableFlags struct {
	as, to, board, state, notebook string
	level                          float64
	comma                          bool
}

// tableForms are what a table can be written as, and how a file of each ends.
var tableForms = []struct{ form, ext string }{{"markdown", ".md"}, {"csv", ".csv"}, {"json", ".json"}, {"parquet", ".parquet"}}

func newTables() *cobra.Command {
	var f tableFlags
	var about strings.Builder
	for _, n := range tables.Names() {
		fmt.Fprintf(&about, "  %-12s %s\n", n, tables.About(n))
	}
	c := &cobra.Command{
		Use:   "table STUDY NAME",
		Short: "one table of a study: as CSV, Markdown, JSON or Parquet",
		Long: `table writes one table of a study for a text, a spreadsheet, a program or an
analysis. NAME is one of

` + about.String() + `
Markdown has figures as they are stated, rounded by their uncertainty. The other
forms have them unrounded in SI units, with standard and expanded uncertainty,
degrees of freedom and interval; docs/tables.md tells every column.

What it is written as goes by the file's ending, or by --as. In CSV an
apostrophe stands before text that a spreadsheet would run as a formula.`,
		Example: `  railtally table otter.yaml rails
  railtally table otter.yaml rails --board Otter --state four-busy
  railtally table otter.yaml readings -o readings.parquet
  railtally table otter.yaml differences -o differences.csv --decimal-comma`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runTable(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], args[1], f)
		},
	}
	notebookFlag(c, &f.notebook)
	fl := c.Flags()
	fl.StringVar(&f.as, "as", "", "markdown, csv, json or parquet (by the file's ending, else markdown)")
	fl.StringVarP(&f.to, "output", "o", "", "the file to write (printed unless named)")
	fl.StringVar(&f.board, "board", "", "only the rows of this board")
	fl.StringVar(&f.state, "state", "", "only the rows of this state")
	fl.BoolVar(&f.comma, "decimal-comma", false, "in CSV: 0,402 and semicolons, for spreadsheets that write numbers so")
	fl.Float64Var(&f.level, "level", 0, "coverage probability of the intervals (the study's, usually 0.95)")
	return c
}

// form is what the table is written as.
func (f tableFlags) form() (string, error) {
	if f.as == "" && f.to == "" {
		return "markdown", nil
	}
	for _, x := range tableForms {
		if f.as == x.form || f.as == strings.TrimPrefix(x.ext, ".") || f.as == "" && strings.EqualFold(filepath.Ext(f.to), x.ext) {
			return x.form, nil
		}
	}
	if f.as == "" {
		return "", usage{fmt.Errorf("%s: its ending does not say what to write: name it .md, .csv, .json or .parquet, or add --as", f.to)}
	}
	return "", usage{fmt.Errorf("--as %s: markdown, csv, json and parquet are accepted", f.as)}
}

func runTable(ctx context.Context, out, errOut io.Writer, study, name string, f tableFlags) error {
	form, err := f.form()
	switch {
	case err != nil:
		return err
	case !slices.Contains(tables.Names(), name):
		return usage{fmt.Errorf("no table is called %q: %s are accepted", name, strings.Join(tables.Names(), ", "))}
	case f.comma && form != "csv":
		return usage{errors.New("--decimal-comma: only CSV is written so")}
	case form == "parquet" && f.to == "":
		return usage{errors.New("--as parquet: name the file with -o; it is not made to be looked at")}
	}
	t, err := source{study, f.notebook, errOut}.tally(ctx, f.level)
	if err != nil {
		return err
	}
	tb, err := tables.Of(t, name)
	if err != nil {
		return err
	}
	for key, text := range map[string]string{"board": f.board, "state": f.state} {
		if text != "" {
			if err := tb.Keep(key, text); err != nil {
				return err
			}
		}
	}
	write := func(w io.Writer) error {
		switch form {
		case "csv":
			return tb.CSV(w, tables.CSVOptions{DecimalComma: f.comma})
		case "json":
			return tb.JSON(w, t)
		case "parquet":
			return tb.Parquet(w, map[string]string{"study": t.Study.Question})
		}
		return tb.Markdown(w)
	}
	if f.to == "" {
		return write(out)
	}
	if info, err := os.Stat(f.to); err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("%s is no file that can be written over", f.to)
	}
	return writeFile(f.to, write)
}
