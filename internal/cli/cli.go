// Package cli is the command line. Each command does one thing: it prints a
// table for people, or with --json one stable document for programs.
//
// Exit codes: 0 done, 1 failed, 2 used wrongly, 3 a claim or check does not
// hold.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"
)

// The exit codes of every command.
const (
	done       = 0
	failed     = 1
	usedWrong  = 2
	doesntHold = 3
)

// usage marks an error as wrong use of the command line.
type usage struct{ error }

// unmet marks that a check which was asked for does not hold.
type unmet struct{ error }

// Run runs one command line and returns its exit code. It never exits itself.
func Run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := newRoot(stdout, stderr)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var u usage
	var n unmet
	switch {
	case err == nil:
		return done
	case errors.As(err, &n):
		fmt.Fprintln(stderr, "railtally:", err)
		return doesntHold
	case errors.As(err, &u):
		fmt.Fprintln(stderr, "railtally:", err)
		fmt.Fprintln(stderr, "Try 'railtally --help', or a command with --help.")
		return usedWrong
	}
	fmt.Fprintln(stderr, "railtally:", err)
	return failed
}

func newRoot(stdout, stderr io.Writer) *cobra.Command {
	root := &cobra.Command{
		Use:   "railtally",
		Short: "the power of a soldered chip, from its rails, with its uncertainty",
		Long: `railtally tells how much power a chip soldered to a board really draws, from
what can be read at the rails that feed it, and how far that can be trusted.

Start with 'railtally demo': it writes a worked example to a folder, from
readings to a page that can be published.`,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.NoArgs,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.Version = version()
	root.SetVersionTemplate("railtally {{.Version}}\n")
	root.SetOut(stdout)
	root.SetErr(stderr)
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usage{err} })
	root.CompletionOptions.HiddenDefaultCmd = false
	root.AddCommand(newTally(), newClaims(), newCooling(), newDemo(), newServe(), newBackup(), newRestore(), newCheck())
	root.AddCommand(newPlan(), newLog(), newTraces(), newTables(), newSchema())
	root.AddCommand(newMeters(), newSimulate())
	root.AddCommand(newPack(), newUnpack(), newVerify(), newCompare(), newSittingEffect())
	root.AddCommand(newReport(), newChart())
	for _, c := range root.Commands() {
		wrapArgs(c)
	}
	wrapArgs(root)
	return root
}

// wrapArgs makes a wrong number of arguments count as wrong use.
func wrapArgs(c *cobra.Command) {
	check := c.Args
	if check == nil {
		return
	}
	c.Args = func(cmd *cobra.Command, args []string) error {
		err := check(cmd, args)
		switch {
		case err == nil:
			return nil
		case !cmd.HasParent():
			return usage{err}
		}
		return usage{fmt.Errorf("%s: %w: the form is %q", cmd.Name(), err, cmd.UseLine())}
	}
}
