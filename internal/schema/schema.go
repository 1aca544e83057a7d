// Package schema holds the JSON Schemas of the documents that the program
// writes for other programs, so that these can check what they were given.
//
// A schema is made from the Go types of its document and kept as a file, which
// a test compares: whoever adds a key sees the file change. The files follow
// draft 2020-12. They allow keys that they do not know, because keys may be
// added to a document without a new version of its format.
package schema

import (
	"embed"
	"fmt"
	"io/fs"
	"strings"
)

//go:embed *.schema.json
var files embed.FS

const ending = ".schema.json"

// Names lists the schemas there are: "tally", "table".
func Names() []string {
	names, err := fs.Glob(files, "*"+ending)
	if err != nil {
		panic("schema: " + err.Error()) // the pattern is a constant
	}
	for i, n := range names {
		names[i] = strings.TrimSuffix(n, ending)
	}
	return names
}

// Text returns the schema of that name.
func Text(name string) ([]byte, error) {
	b, err := files.ReadFile(name + ending)
	if err != nil {
		return nil, fmt.Errorf("no schema is called %q: %s are accepted", name, strings.Join(Names(), ", "))
	}
	return b, nil
}
