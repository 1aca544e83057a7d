package cli

import (
	"context"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"railtally/internal/notebook"
)

func newRestore() *cobra.Command {
	var named string
	c := &cobra.Command{
		Use:   "restore FILE",
		Short: "put a backup in the place of the notebook",
		Long: `restore checks a backup and puts it in the place of the notebook. The notebook
that was there is not lost: it goes into the folder of backups, and where is
said. The notebook must not be served meanwhile.`,
		Example: `  railtally backup --list
  railtally restore /media/stick/bench-2026-03-14.db`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runRestore(cmd.Context(), cmd.OutOrStdout(), named, args[0])
		},
	}
	notebookFlag(c, &named)
	return c
}

func runRestore(ctx context.Context, out io.Writer, named, from string) error {
	to, err := notebookPath(named)
	if err != nil {
		return err
	}
	aside, err := notebook.Restore(ctx, from, to, time.Now())
	if err != nil {
		return hinted(err)
	}
	fmt.Fprintf(out, "%s now holds what %s does.\n", to, from)
	if aside != "" {
		fmt.Fprintf(out, "What was there before is in %s.\n", aside)
	}
	return nil
}
