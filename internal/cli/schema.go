package cli

import (
	"strings"

	"github.com/spf13/cobra"

	"railtally/internal/schema"
)

func newSchema() *cobra.Command {
	return &cobra.Command{
		Use:   "schema NAME",
		Short: "the JSON Schema of a document that --json prints",
		Long: `schema prints the JSON Schema (draft 2020-12) of one of the documents that this
program writes for other programs: ` + strings.Join(schema.Names(), ", ") + `.`,
		Example: `  railtally schema tally > tally.schema.json`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			text, err := schema.Text(args[0])
			if err != nil {
				return usage{err}
			}
			_, err = cmd.OutOrStdout().Write(text)
			return err
		},
	}
}
