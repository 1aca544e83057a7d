package bundle

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
)

// Unpack writes the files of a bundle to a folder that does not exist yet, or
// is empty: all of them or none. Nothing can be written outside of it.
func (b *Bundle) Unpack(dir string) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("unpack %s to %s: %w", b.name, dir, err)
		}
	}()
	switch entries, err := os.ReadDir(dir); {
	case err == nil && len(entries) > 0:
		return errors.New("the folder is not empty")
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	parent := filepath.Dir(filepath.Clean(dir))
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	temp, err := os.MkdirTemp(parent, ".railtally-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp) // what is left of it when something fails
	if err := os.Chmod(temp, 0o755); err != nil {
		return err
	}
	root, err := os.OpenRoot(temp)
	if err != nil {
		return err
	}
	for _, name := range b.order {
		if err := b.unpackFile(root, name); err != nil {
			root.Close()
			return err
		}
	}
	if err := root.Close(); err != nil {
		return err
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return os.Rename(temp, dir)
}

// unpackFile writes one file below root, which nothing leads out of.
func (b *Bundle) unpackFile(root *os.Root, name string) error {
	if err := root.MkdirAll(path.Dir(name), 0o755); err != nil {
		return err
	}
	f, err := root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = b.copyTo(struct{ io.Writer }{f}, name)
	return errors.Join(err, f.Close())
}
