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

	"github.com/pressly/goose/v3"
)

// applicationID marks the file as a notebook; the first migration sets it.
const applicationID = 1381261676 // "RTal"

// prepare brings the file at path to the newest version.
func prepare(ctx context.Context, path string, o Options, steps fs.FS) error {
	const op = "open notebook"
	have, err := probe(ctx, path, o.Wait)
	if err != nil {
		return err
	}
	want, err := newest(steps)
	if err != nil {
		return err
	}
	switch {
	case have == want:
		return nil
	case have > want:
		return tooNew(op, path, have, want)
	case have > 0:
		to := filepath.Join(BackupFolder(path), fmt.Sprintf("before-version-%d-%s.db", want, stamp(o.Now())))
		if err := backupFile(ctx, path, to); err != nil {
			return fmt.Errorf("back up before the update: %w", err)
		}
	}
	return migrate(ctx, path, o.Wait, want, steps)
}

func tooNew(op, path string, have, want int64) error {
	return &Error{Code: Newer, Op: op, Path: path,
		Hint: "use the newer program, or restore a backup made before the update",
		Err:  fmt.Errorf("it was written by a later version of railtally (notebook version %d, this program knows %d)", have, want)}
}

// probe returns the version of a notebook, 0 when there is nothing yet. It does
// not change the file. It never opens the file but through SQLite: closing any
// other handle would drop the POSIX locks that this process holds on it.
func probe(ctx context.Context, path string, wait time.Duration) (int64, error) {
	if info, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) || err == nil && info.Size() == 0 {
		return 0, nil
	}
	db, err := sql.Open("sqlite", source(path, "rw", wait))
	if err != nil {
		return 0, err
	}
	defer db.Close()
	return version(ctx, db, path)
}

// version reads the version of an open file.
func version(ctx context.Context, db *sql.DB, path string) (v int64, err error) {
	const op = "open notebook"
	var id, tables int64
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return 0, err
	}
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema WHERE name <> 'goose_db_version' AND name NOT LIKE 'sqlite_%'").Scan(&tables); err != nil {
		return 0, err
	}
	if id == 0 && tables == 0 {
		return 0, nil
	}
	if id != applicationID {
		return 0, &Error{Code: NotNotebook, Op: op, Path: path, Hint: "name another file with --notebook",
			Err: errors.New("it is a database of another program")}
	}
	err = db.QueryRowContext(ctx, "SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied = 1").Scan(&v)
	return v, err
}

// newest returns the version that the migrations lead to.
func newest(steps fs.FS) (int64, error) {
	names, err := fs.Glob(steps, "*.sql")
	if err != nil || len(names) == 0 {
		return 0, errors.Join(err, errors.New("no migrations"))
	}
	return goose.NumericComponent(names[len(names)-1])
}

// migrate runs what is missing, each migration in a transaction of its own. When
// two processes begin at once one of them fails, and finds the work done.
func migrate(ctx context.Context, path string, wait time.Duration, want int64, steps fs.FS) error {
	const tries = 20
	var last error
	for range tries {
		last = migrateOnce(ctx, path, wait, steps)
		have, err := probe(ctx, path, wait)
		if err == nil && have == want {
			return nil
		}
		if last == nil {
			last = errors.Join(err, fmt.Errorf("the update ended at version %d, not %d", have, want))
		}
		if code, _ := codeOf(last); code == ReadOnly || code == Full || code == Corrupt || code == Locked {
			return last
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(25 * time.Millisecond):
		}
	}
	return last
}

func migrateOnce(ctx context.Context, path string, wait time.Duration, steps fs.FS) error {
	db, err := writer(path, wait)
	if err != nil {
		return err
	}
	defer db.Close()
	p, err := goose.NewProvider(goose.DialectSQLite3, db, steps, goose.WithDisableGlobalRegistry(true), goose.WithLogger(goose.NopLogger()))
	if err != nil {
		return err
	}
	_, err = p.Up(ctx)
	return err
}

// stamp is a time as part of a file's name.
func stamp(t time.Time) string { return t.UTC().Format("20060102T150405Z") }
