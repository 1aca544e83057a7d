package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"railtally/internal/notebook"
)

func newCheck() *cobra.Command {
	var named string
	c := &cobra.Command{
		Use:   "check [FILE]",
		Short: "look whether a notebook or backup is sound",
		Long: `check looks at everything that must hold of a notebook: the file itself, that
every row leads somewhere, that nothing stands where something else stands, and
that every plan, instrument and quantity can be read. It changes nothing. FILE
is a notebook or a backup; without one the notebook is checked.

It exits with 3 when something is wrong.`,
		Example: `  railtally check
  railtally check /media/stick/bench-2026-03-14.db`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				if named != "" {
					return usage{errors.New("check: a file is named twice")}
				}
				named = args[0]
			}
			return runCheck(cmd.Context(), cmd.OutOrStdout(), named)
		},
	}
	notebookFlag(c, &named)
	return c
}

func runCheck(ctx context.Context, out io.Writer, named string) error {
	path, err := notebookPath(named)
	if err != nil {
		return err
	}
	problems, err := notebook.CheckFile(ctx, path)
	switch {
	case notebook.CodeOf(err) == notebook.Corrupt && err != nil:
		return unmet{hinted(err)}
	case err != nil:
		return hinted(err)
	case len(problems) == 0:
		fmt.Fprintf(out, "%s is sound.\n", path)
		return nil
	}
	t := newTable("where", "what is wrong")
	for _, p := range problems {
		t.add(p.Where, p.What)
	}
	t.print(out)
	return unmet{fmt.Errorf("%s is not sound: keep a copy of it, then restore the latest backup", path)}
}
