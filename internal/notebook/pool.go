package notebook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// busyWait is how long a connection waits for another process. Entries take
// milliseconds; only a program that holds the file open in a transaction, or a
// copy in the making, needs longer.
const busyWait = 5 * time.Second

// source builds the name of a connection. The busy timeout comes first, so that
// the pragmas after it wait too.
func source(path, mode string, wait time.Duration, pragmas ...string) string {
	q := url.Values{"mode": {mode}, "_pragma": append([]string{fmt.Sprintf("busy_timeout(%d)", wait.Milliseconds())}, pragmas...)}
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	u := url.URL{Scheme: "file", Path: filepath.ToSlash(path), RawQuery: q.Encode()}
	return u.String()
}

// writer opens the one connection that writes. With synchronous FULL a commit is
// on the disk when it returns; recursive_triggers lets the triggers that refuse
// DELETE see REPLACE too.
func writer(path string, wait time.Duration) (*sql.DB, error) {
	db, err := sql.Open("sqlite", source(path, "rwc", wait, "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(ON)",
		"recursive_triggers(ON)")+"&_txlock=immediate")
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	db.SetConnMaxIdleTime(0)
	return db, nil
}

// readers opens the connections that only read. In WAL mode they neither wait
// for the writer nor hold it up.
func readers(path string, wait time.Duration) (*sql.DB, error) {
	db, err := sql.Open("sqlite", source(path, "rw", wait, "query_only(ON)", "foreign_keys(ON)"))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(8)
	db.SetMaxIdleConns(4)
	return db, nil
}

// still opens a file that nobody writes, a finished copy, without leaving files
// beside it.
func still(path string) (*sql.DB, error) {
	db, err := sql.Open("sqlite", source(path, "ro", busyWait, "query_only(ON)")+"&immutable=1")
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(2)
	return db, nil
}

// forReading opens a file that may be in use: as one that nobody writes only
// where nothing beside it says that somebody does. Opening a file as still
// takes no locks, and closing it would drop those that this process holds on it.
func forReading(path string) (*sql.DB, error) {
	if _, err := os.Stat(path + "-wal"); errors.Is(err, fs.ErrNotExist) {
		return still(path)
	}
	return sql.Open("sqlite", source(path, "rw", busyWait, "query_only(ON)"))
}

// explained makes an Error of an error from the database or the file system.
// Errors that say already what they are stay as they are.
func explained(op, path string, err error) error {
	if err == nil || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) || CodeOf(err) != Failed {
		return err
	}
	code, hint := codeOf(err)
	var known *Error
	if errors.As(err, &known) {
		return err
	}
	return &Error{Code: code, Op: op, Path: path, Hint: hint, Err: err}
}

// codeOf finds out what kind of trouble an error from the database or the file
// system means, and what can be done about it.
func codeOf(err error) (Code, string) {
	var e *sqlite.Error
	if errors.As(err, &e) {
		extended := e.Code()
		switch extended & 0xff {
		case lib.SQLITE_NOTADB:
			return NotNotebook, "the file is not a railtally notebook; name another with --notebook"
		case lib.SQLITE_CORRUPT:
			return Corrupt, "the file is damaged; keep a copy of it, then restore the latest backup with railtally restore"
		case lib.SQLITE_FULL:
			return Full, "make space on the disk; what was acknowledged is safe"
		case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
			return Locked, "another program keeps the notebook to itself; close it or wait, then try again"
		case lib.SQLITE_READONLY:
			return ReadOnly, "the file or its folder cannot be written; change its permissions or copy it elsewhere"
		case lib.SQLITE_PERM, lib.SQLITE_AUTH:
			return ReadOnly, "permission is denied; change it or copy the file elsewhere"
		case lib.SQLITE_CANTOPEN:
			return ReadOnly, "the file, or the files SQLite keeps beside it, cannot be opened; check that the folder exists and can be written"
		case lib.SQLITE_IOERR:
			if strings.Contains(err.Error(), "no space") {
				return Full, "make space on the disk; what was acknowledged is safe"
			}
			return Failed, "the disk reports an error; copy the notebook to another disk and run railtally check on the copy"
		}
	}
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return Full, "make space on the disk; what was acknowledged is safe"
	case errors.Is(err, syscall.EROFS), errors.Is(err, syscall.EACCES), errors.Is(err, syscall.EPERM):
		return ReadOnly, "permission is denied; change it or choose another folder"
	case errors.Is(err, syscall.ENOENT):
		return NotFound, "check the name of the file"
	case errors.Is(err, syscall.EEXIST):
		return Exists, "choose another name"
	}
	return Failed, ""
}
