package scratch

import (
	"os"
	"path/filepath"
	"testing"
)

// Where memory is used, files are there; where somebody chose, nothing changes.
func TestInMemory(t *testing.T) {
	chosen := t.TempDir()
	t.Setenv("TMPDIR", chosen)
	InMemory()
	if got := os.TempDir(); got != chosen {
		t.Errorf("files go to %s, chosen was %s", got, chosen)
	}
	t.Setenv("TMPDIR", "")
	before := os.TempDir()
	InMemory()
	want := before
	if free(memory) >= least {
		want = memory
	}
	if got := os.TempDir(); got != want {
		t.Fatalf("files go to %s, want %s", got, want)
	}
	f, err := os.CreateTemp("", "scratch")
	if err != nil {
		t.Fatal(err)
	}
	defer os.Remove(f.Name())
	defer f.Close()
	if filepath.Dir(f.Name()) != filepath.Clean(want) {
		t.Errorf("the file is %s", f.Name())
	}
	if n := free(chosen + "/none"); n != 0 {
		t.Errorf("a folder that is not there takes %d bytes", n)
	}
}
