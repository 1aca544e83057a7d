package notebook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Restore puts the notebook of file from in the place of file to. from is
// checked first and must not be of a later version; to must not be in use. What
// was at to is not lost: it goes into the backup folder, and its new path is
// returned, "" when there was nothing. When Restore fails, to is as it was.
func Restore(ctx context.Context, from, to string, now time.Time) (aside string, err error) {
	const op = "restore"
	defer func() { err = explained(op, to, err) }()
	if sameFile(from, to) {
		return "", invalid(op, "%s is the notebook itself", from)
	}
	problems, err := CheckFile(ctx, from)
	if err != nil {
		return "", err
	}
	if len(problems) > 0 {
		return "", &Error{Code: Corrupt, Op: "restore from", Path: from, Hint: "choose another backup", Err: errors.New(problems[0].String())}
	}
	if err := known(ctx, from); err != nil {
		return "", err
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return "", err
	}
	err = placed(to, true, func(temp string) error {
		if err := copyFile(ctx, from, temp); err != nil {
			return err
		}
		if problems, err := checkStill(ctx, temp); err != nil || len(problems) > 0 {
			return errors.Join(err, fmt.Errorf("the copy is not sound: %v", problems))
		}
		aside, err = setAside(ctx, to, now)
		return err
	})
	if err != nil && aside != "" {
		err = errors.Join(err, moved(aside, to))
		aside = ""
	}
	return aside, err
}

// moved renames a file and the companions it may have. The file itself goes last
// so that it never stands without them.
func moved(from, to string) error {
	for _, tail := range []string{"-shm", "-wal", ""} {
		if err := os.Rename(from+tail, to+tail); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// copyFile copies a notebook into the file temp.
func copyFile(ctx context.Context, from, temp string) error {
	db, err := forReading(from)
	if err != nil {
		return err
	}
	defer db.Close()
	return copyPages(ctx, db, temp)
}

// known refuses a notebook of a later version.
func known(ctx context.Context, path string) error {
	db, err := forReading(path)
	if err != nil {
		return err
	}
	defer db.Close()
	have, err := version(ctx, db, path)
	if err != nil {
		return err
	}
	steps, err := fs.Sub(embedded, "migrations")
	if err != nil {
		return err
	}
	want, err := newest(steps)
	if err == nil && have > want {
		err = tooNew("restore from", path, have, want)
	}
	return err
}

// setAside moves the file at path into the backup folder, if there is one. A
// sound notebook is first brought to one file, which also finds out whether
// somebody uses it; a damaged one is moved with its companions as it is.
func setAside(ctx context.Context, path string, now time.Time) (string, error) {
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err := alone(ctx, path); err != nil {
		if code, _ := codeOf(err); code == Locked {
			return "", &Error{Code: Locked, Op: "restore", Path: path, Hint: "close railtally serve and every other program that uses the notebook",
				Err: errors.New("the notebook is in use")}
		} else if code != Corrupt && code != NotNotebook {
			return "", err
		}
	}
	dir := BackupFolder(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	aside := filepath.Join(dir, "before-restore-"+stamp(now)+".db")
	for n := 2; ; n++ {
		if _, err := os.Lstat(aside); errors.Is(err, fs.ErrNotExist) {
			break
		}
		aside = filepath.Join(dir, fmt.Sprintf("before-restore-%s-%d.db", stamp(now), n))
	}
	if err := moved(path, aside); err != nil {
		return "", err
	}
	return aside, errors.Join(folderSynced(dir), folderSynced(filepath.Dir(path)))
}

// usedWait is how long a restore waits to be alone: who has a notebook open keeps
// it open.
const usedWait = 300 * time.Millisecond

// alone makes one file of a notebook and its companions. Leaving WAL mode needs
// the file for oneself, so it fails with SQLITE_BUSY while any other connection
// of any process is open.
func alone(ctx context.Context, path string) error {
	db, err := sql.Open("sqlite", source(path, "rw", usedWait))
	if err != nil {
		return err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	var mode string
	if err := db.QueryRowContext(ctx, "PRAGMA journal_mode = DELETE").Scan(&mode); err != nil {
		return err
	}
	if mode != "delete" {
		return fmt.Errorf("the file stays in mode %s", mode)
	}
	return nil
}

// sameFile tells whether two names mean one file.
func sameFile(a, b string) bool {
	x, err1 := os.Stat(a)
	y, err2 := os.Stat(b)
	return err1 == nil && err2 == nil && os.SameFile(x, y)
}
