package studyfile

import "strings"

// Index knows where each part of a study stands in its file. A path is the list
// of keys from the root; the items of a list are numbered from 1, as in
// "sittings", "2", "steps", "1".
type Index struct {
	at map[string]spot
}

// spot is a place in a file, from 1.
type spot struct{ line, col int }

func newIndex() *Index { return &Index{at: make(map[string]spot)} }

// Line returns the line and column of the path, or of the longest part of it
// that is in the file. The empty path is the beginning of the file.
func (x *Index) Line(path ...string) (line, col int) {
	for n := len(path); n > 0; n-- {
		if s, ok := x.at[indexKey(path[:n])]; ok {
			return s.line, s.col
		}
	}
	return 1, 1
}

// set remembers a place; the first one of a path is kept.
func (x *Index) set(path []string, s spot) {
	k := indexKey(path)
	if _, ok := x.at[k]; !ok {
		x.at[k] = s
	}
}

// indexKey joins a path by a character that a key cannot hold.
func indexKey(path []string) string { return strings.Join(path, "\x00") }
