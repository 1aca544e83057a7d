package notebook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"modernc.org/sqlite"
)

// Backup writes a copy of the notebook as it is at one moment, while others go
// on reading and writing. The copy is one file without companions; it is checked
// and on the disk before it gets its name. A file of that name is never
// overwritten.
//
// The copy is made by SQLite's online backup. VACUUM INTO would give a
// smaller file but writes every row anew: what the copy is to save from, damage
// that nobody noticed, would then be met while saving. The online backup takes
// page after page, and a read transaction round it holds one state still, so
// that writers neither wait nor make it begin again.
func (nb *Notebook) Backup(ctx context.Context, to string) error {
	return explained("back up to", to, copyTo(ctx, nb.r, to))
}

// backupFile backs up a notebook that is not open here.
func backupFile(ctx context.Context, from, to string) error {
	db, err := sql.Open("sqlite", source(from, "rw", busyWait))
	if err != nil {
		return err
	}
	defer db.Close()
	return explained("back up to", to, copyTo(ctx, db, to))
}

// copyTo copies an open database into a new file, checks it and gives it its
// name.
func copyTo(ctx context.Context, db *sql.DB, to string) error {
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return err
	}
	return placed(to, false, func(temp string) error {
		if err := copyPages(ctx, db, temp); err != nil {
			return err
		}
		problems, err := checkStill(ctx, temp)
		if err != nil {
			return err
		}
		if len(problems) > 0 {
			return &Error{Code: Corrupt, Op: "check the copy", Hint: "the notebook itself may be damaged; run railtally check",
				Err: errors.New(problems[0].String())}
		}
		return nil
	})
}

// pagesAtOnce is how many pages are copied between two looks at the context: 4
// MiB at the usual page size.
const pagesAtOnce = 1024

// copier is what a connection of the SQLite driver can do.
type copier interface {
	NewBackup(to string) (*sqlite.Backup, error)
}

// copyPages copies one state of an open database into the file temp.
func copyPages(ctx context.Context, db *sql.DB, temp string) error {
	c, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer c.Close()
	if _, err := c.ExecContext(ctx, "BEGIN"); err != nil {
		return err
	}
	defer c.ExecContext(context.WithoutCancel(ctx), "ROLLBACK")
	var n int64
	if err := c.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&n); err != nil { // takes the snapshot
		return err
	}
	return c.Raw(func(driver any) error {
		d, ok := driver.(copier)
		if !ok {
			return errors.New("this SQLite driver has no online backup")
		}
		b, err := d.NewBackup(source(temp, "rwc", busyWait))
		if err != nil {
			return err
		}
		for more := true; more; {
			if err := ctx.Err(); err != nil {
				return errors.Join(err, b.Finish())
			}
			if more, err = b.Step(pagesAtOnce); err != nil {
				return errors.Join(err, b.Finish())
			}
		}
		return b.Finish()
	})
}

// placed lets fill write a temporary file beside the target, brings it to the
// disk and gives it its name. Whatever happens, the target is there whole, or as
// it was. Without over, a target that exists is an error.
func placed(to string, over bool, fill func(temp string) error) error {
	if _, err := os.Lstat(to); err == nil && !over {
		return &Error{Code: Exists, Op: "write", Path: to, Hint: "choose another name, or remove it first", Err: fs.ErrExist}
	}
	dir := filepath.Dir(to)
	f, err := os.CreateTemp(dir, tempPattern)
	if err != nil {
		return err
	}
	temp := f.Name()
	if err := f.Close(); err != nil {
		return err
	}
	defer os.Remove(temp)
	if err := fill(temp); err != nil {
		return err
	}
	if err := synced(temp); err != nil {
		return err
	}
	if over {
		err = os.Rename(temp, to)
	} else if err = os.Link(temp, to); err != nil && !errors.Is(err, fs.ErrExist) {
		err = os.Rename(temp, to) // a file system without links
	}
	if err != nil {
		return err
	}
	return folderSynced(dir)
}

// folderSynced brings the names in a folder to the disk. Windows does that by
// itself and refuses to be asked.
func folderSynced(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	return synced(dir)
}

// synced brings a file or folder to the disk.
func synced(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("bring %s to the disk: %w", path, err)
	}
	return nil
}
