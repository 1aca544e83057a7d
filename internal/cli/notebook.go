package cli

import (
	"context"
	"fmt"
	"os"
	"runtime"

	"github.com/spf13/cobra"

	"railtally/internal/notebook"
)

// notebookFlag adds the flag that names the notebook's file.
func notebookFlag(c *cobra.Command, path *string) {
	c.Flags().StringVar(path, "notebook", "", "the notebook's file (in your data folder unless named)")
}

// notebookPath is the file named, or the usual one.
func notebookPath(named string) (string, error) {
	if named != "" {
		return named, nil
	}
	return notebook.DefaultPath(os.Getenv, runtime.GOOS)
}

// openNotebook opens a notebook; mustExist refuses to begin one.
func openNotebook(ctx context.Context, named string, mustExist bool) (*notebook.Notebook, error) {
	path, err := notebookPath(named)
	if err != nil {
		return nil, err
	}
	nb, err := notebook.Open(ctx, path, notebook.Options{MustExist: mustExist})
	return nb, hinted(err)
}

// hinted puts what can be done about an error behind it.
func hinted(err error) error {
	if hint := notebook.HintOf(err); err != nil && hint != "" {
		return fmt.Errorf("%w\n  %s", err, hint)
	}
	return err
}
