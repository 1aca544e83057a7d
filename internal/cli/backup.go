package cli

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"railtally/internal/notebook"
)

func newBackup() *cobra.Command {
	var named string
	var list bool
	c := &cobra.Command{
		Use:   "backup FILE",
		Short: "write a copy of the notebook, also while it is served",
		Long: `backup writes the notebook as it is at this moment to one file, checks the copy
and says so. It may be served and written to meanwhile. A file that exists is
never overwritten.

While the notebook is served it is backed up by itself too, every hour in which
something was entered; --list shows those copies.`,
		Example: `  railtally backup /media/stick/bench-2026-03-14.db
  railtally backup --list`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case list && len(args) == 0:
				return listBackups(cmd.Context(), cmd.OutOrStdout(), named)
			case !list && len(args) == 1:
				return runBackup(cmd.Context(), cmd.OutOrStdout(), named, args[0])
			}
			return usage{fmt.Errorf("backup: name the file to write, or ask for --list")}
		},
	}
	notebookFlag(c, &named)
	c.Flags().BoolVar(&list, "list", false, "list the copies that were made automatically")
	return c
}

func runBackup(ctx context.Context, out io.Writer, named, to string) error {
	nb, err := openNotebook(ctx, named, true)
	if err != nil {
		return err
	}
	defer nb.Close()
	if err := nb.Backup(ctx, to); err != nil {
		return hinted(err)
	}
	fmt.Fprintf(out, "%s is backed up and checked: %s\n", nb.Path(), to)
	return nil
}

func listBackups(ctx context.Context, out io.Writer, named string) error {
	nb, err := openNotebook(ctx, named, true)
	if err != nil {
		return err
	}
	defer nb.Close()
	files, err := nb.Backups()
	if err != nil {
		return hinted(err)
	}
	if len(files) == 0 {
		fmt.Fprintf(out, "There are no automatic backups in %s.\n", notebook.BackupFolder(nb.Path()))
		return nil
	}
	t := newTable("taken", "file")
	for _, f := range files {
		t.add(f.Taken.Local().Format("2006-01-02 15:04"), f.Path)
	}
	t.print(out)
	return nil
}
