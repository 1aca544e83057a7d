package cli

import (
	"encoding/json"
	"io"
)

// writeJSON prints the one document that --json asks for.
func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
