package studyfile

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestFaults reads files that are wrong in every way a file can be, and compares
// all that is said about them.
func TestFaults(t *testing.T) {
	files, err := filepath.Glob("testdata/faults/*.yaml")
	if err != nil || len(files) < 30 {
		t.Fatalf("%d files with faults, %v", len(files), err)
	}
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) {
			src, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			s, x, err := Read(filepath.Base(path), src)
			if err == nil {
				t.Fatal("no fault was found")
			}
			if s != nil || x == nil {
				t.Errorf("study %v and index %v beside an error", s, x)
			}
			var faults *Faults
			if !errors.As(err, &faults) {
				t.Fatalf("the error is a %T", err)
			}
			lines := strings.Count(string(src), "\n") + 1
			for _, f := range faults.List {
				if f.Line < 1 || f.Line > lines || f.Column < 1 {
					t.Errorf("no such place: %s", f)
				}
			}
			golden(t, strings.TrimSuffix(path, ".yaml")+".golden", err.Error()+"\n")
		})
	}
}
