//go:build unix

package notebook

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// asNobody gives up the rights of root, which no permission stops. Others stay
// who they are.
func asNobody() error {
	if os.Geteuid() != 0 {
		return nil
	}
	const nobody = 65534
	if err := syscall.Setgid(nobody); err != nil {
		return err
	}
	return syscall.Setuid(nobody)
}

// TestReadOnly: a file or folder that cannot be written is said at once, with
// what to do, and not at the first entry.
func TestReadOnly(t *testing.T) {
	t.Parallel()
	top, err := os.MkdirTemp("", "railtally-readonly")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		filepath.WalkDir(top, func(p string, _ os.DirEntry, _ error) error { return os.Chmod(p, 0o700) })
		os.RemoveAll(top)
	})
	if err := os.Chmod(top, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name         string
		file, folder os.FileMode // 0: no file
		want         string
	}{
		{"all may be written", 0o666, 0o777, "opened"},
		{"file", 0o444, 0o777, "read-only|"},
		{"folder", 0o666, 0o555, "read-only|"},
		{"both", 0o444, 0o555, "read-only|"},
		{"file that cannot be read", 0o222, 0o777, "read-only|"},
		{"folder without a file", 0, 0o555, "read-only|"},
	} {
		dir := filepath.Join(top, c.name)
		path := filepath.Join(dir, "notebook.db")
		if err := os.Mkdir(dir, 0o777); err != nil {
			t.Fatal(err)
		}
		if c.file != 0 {
			nb := must[*Notebook](t)(Open(context.Background(), path, testOptions()))
			if err := nb.Close(); err != nil {
				t.Fatal(err)
			}
			if err := os.Chmod(path, c.file); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Chmod(dir, c.folder); err != nil {
			t.Fatal(err)
		}
		out, err := child(t, "open", path).Output()
		if err != nil {
			t.Fatalf("%s: %s %v", c.name, out, err)
		}
		if !strings.HasPrefix(string(out), c.want) || strings.HasSuffix(string(out), "|\n") {
			t.Errorf("%s: %s", c.name, out)
		}
	}
}
