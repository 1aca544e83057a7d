package notebook

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"time"

	"railtally/internal/studyfile"
)

// tempPattern names files that are not finished.
const tempPattern = ".railtally-*.part"

// WriteFile writes a file whole or not at all: to a temporary file beside it,
// to the disk, and then by one rename over what was there.
func WriteFile(path string, content []byte) error {
	err := placed(path, true, func(temp string) error {
		f, err := os.OpenFile(temp, os.O_WRONLY|os.O_TRUNC, 0o600)
		if err != nil {
			return err
		}
		if _, err := f.Write(content); err != nil {
			f.Close()
			return err
		}
		if err := f.Chmod(0o644); err != nil {
			f.Close()
			return err
		}
		return f.Close()
	})
	return explained("write", path, err)
}

// Export writes a study as it holds now to a YAML file. Reading it gives the
// same study.
func (nb *Notebook) Export(ctx context.Context, studyID int64, path string) error {
	s, err := nb.Study(ctx, studyID)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := studyfile.Write(&b, s); err != nil {
		return &Error{Code: Invalid, Op: "export the study", Err: err}
	}
	return WriteFile(path, b.Bytes())
}

// clearParts removes unfinished files that were left in a folder more than a day
// ago; younger ones may belong to another process.
func clearParts(dir string, now time.Time) {
	parts, err := filepath.Glob(filepath.Join(escapeGlob(dir), tempPattern+"*"))
	if err != nil {
		return
	}
	for _, p := range parts {
		if info, err := os.Lstat(p); err == nil && info.Mode().IsRegular() && now.Sub(info.ModTime()) > 24*time.Hour {
			os.Remove(p)
		}
	}
}
