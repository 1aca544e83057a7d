package notebook

import (
	"context"
	"crypto/rand"
	"database/sql"
	"database/sql/driver"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"
)

//go:embed migrations/*.sql
var embedded embed.FS

// Options are what a notebook takes from outside. The zero value is fit for use.
type Options struct {
	// Now is this computer's clock; nil: time.Now.
	Now func() time.Time
	// Rand is where keys are drawn from; nil: crypto/rand.
	Rand io.Reader
	// Poll is how often changes by other processes are looked for while
	// somebody watches; 0: every quarter of a second.
	Poll time.Duration
	// Wait is how long to wait for another process that writes; 0: five seconds.
	Wait time.Duration
	// MustExist refuses to begin a new notebook where there is none.
	MustExist bool
}

// Notebook is an open notebook. Its methods may be called from any goroutine.
type Notebook struct {
	path  string
	w, r  *sql.DB
	now   func() time.Time
	rand  io.Reader
	drawn sync.Mutex // of rand
	hub   *hub
	logs  logs
}

// Open opens the notebook in a file, or begins one. An older notebook is first
// backed up, then brought up to date; one from a later version is refused and
// left as it is. Errors are an *Error.
func Open(ctx context.Context, path string, o Options) (*Notebook, error) {
	steps, err := fs.Sub(embedded, "migrations")
	if err != nil {
		return nil, err
	}
	return open(ctx, path, o, steps)
}

func open(ctx context.Context, path string, o Options, steps fs.FS) (_ *Notebook, err error) {
	const op = "open notebook"
	defer func() { err = explained(op, path, err) }()
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Rand == nil {
		o.Rand = rand.Reader
	}
	if o.Poll <= 0 {
		o.Poll = 250 * time.Millisecond
	}
	if o.Wait <= 0 {
		o.Wait = busyWait
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && o.MustExist:
		return nil, &Error{Code: NotFound, Op: op, Path: path, Hint: "check the name, or begin a notebook with railtally serve"}
	case errors.Is(err, fs.ErrNotExist):
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return nil, err
		}
		defer func() {
			if err == nil {
				err = folderSynced(filepath.Dir(path)) // so that the new name survives a power cut too
			}
		}()
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, &Error{Code: NotNotebook, Op: op, Path: path, Hint: "name a file, not a folder", Err: errors.New("it is a folder")}
	}
	if err := prepare(ctx, path, o, steps); err != nil {
		return nil, err
	}
	nb := &Notebook{path: path, now: o.Now, rand: o.Rand}
	if nb.w, err = writer(path, o.Wait); err != nil {
		return nil, err
	}
	if nb.r, err = readers(path, o.Wait); err != nil {
		nb.w.Close()
		return nil, err
	}
	nb.hub = newHub(nb.r, o.Poll)
	// A file that can only be read is found out now, not at the first entry.
	// BEGIN IMMEDIATE alone does not tell: SQLite makes a reading transaction of it.
	if err := nb.write(ctx, op, func(t *tx) error {
		_, err := t.ExecContext(ctx, "UPDATE study SET key = key WHERE 0")
		return err
	}); err != nil {
		nb.Close()
		return nil, err
	}
	return nb, nil
}

// Path returns the file of the notebook.
func (nb *Notebook) Path() string { return nb.path }

// Close ends all watching and closes the file.
func (nb *Notebook) Close() error {
	nb.hub.close()
	return errors.Join(nb.r.Close(), nb.w.Close())
}

// tx is one transaction that writes. Its time is fixed at its start.
type tx struct {
	*sql.Tx
	ctx  context.Context
	now  time.Time
	draw func() (string, error)
	adds map[string]*sql.Stmt // prepared, by their text
}

// write runs fn in a transaction. It begins at once as the only writer of all
// processes, so what fn reads holds until it commits. When write returns nil
// everything is on the disk.
func (nb *Notebook) write(ctx context.Context, op string, fn func(*tx) error) error {
	t, err := nb.w.BeginTx(ctx, nil)
	return nb.finishWrite(ctx, op, t, err, fn)
}

// writeLoosely does the same, but what it wrote is on the disk only when a later write is: it waits for no disk. A
// power cut takes the newest of such writes and leaves the file sound. There is one connection that writes, and it is
// held meanwhile, so no other write is loose.
func (nb *Notebook) writeLoosely(ctx context.Context, op string, fn func(*tx) error) error {
	c, err := nb.w.Conn(ctx)
	if err != nil {
		return explained(op, nb.path, err)
	}
	defer c.Close()
	if _, err := c.ExecContext(ctx, "PRAGMA synchronous = NORMAL"); err != nil {
		return explained(op, nb.path, err)
	}
	defer func() {
		// Whatever ended ctx. Where even this fails the connection must not be used again.
		if _, err := c.ExecContext(context.WithoutCancel(ctx), "PRAGMA synchronous = FULL"); err != nil {
			_ = c.Raw(func(any) error { return driver.ErrBadConn })
		}
	}()
	t, err := c.BeginTx(ctx, nil)
	return nb.finishWrite(ctx, op, t, err, fn)
}

// finishWrite runs fn in a transaction that began, or failed to.
func (nb *Notebook) finishWrite(ctx context.Context, op string, t *sql.Tx, err error, fn func(*tx) error) error {
	if err != nil {
		return explained(op, nb.path, err)
	}
	if err := fn(&tx{Tx: t, ctx: ctx, now: nb.now().UTC(), draw: nb.key, adds: make(map[string]*sql.Stmt)}); err != nil {
		t.Rollback()
		return explained(op, nb.path, err)
	}
	if err := t.Commit(); err != nil {
		t.Rollback()
		return explained(op, nb.path, err)
	}
	nb.hub.wake()
	return nil
}

// read runs fn in a transaction that sees one state of the file throughout.
func (nb *Notebook) read(ctx context.Context, op string, fn func(querier) error) error {
	t, err := nb.r.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return explained(op, nb.path, err)
	}
	defer t.Rollback()
	return explained(op, nb.path, fn(bound{t, ctx}))
}

// key draws a key: 128 random bits.
func (nb *Notebook) key() (string, error) {
	nb.drawn.Lock()
	defer nb.drawn.Unlock()
	var b [16]byte
	if _, err := io.ReadFull(nb.rand, b[:]); err != nil {
		return "", fmt.Errorf("draw a key: %w", err)
	}
	return hex.EncodeToString(b[:]), nil
}

// querier is what reads: a transaction of either kind.
type querier interface {
	query(sql string, args ...any) (*sql.Rows, error)
	row(sql string, args ...any) *sql.Row
}

// bound is a reading transaction with its context.
type bound struct {
	*sql.Tx
	ctx context.Context
}

func (b bound) query(s string, args ...any) (*sql.Rows, error) {
	return b.QueryContext(b.ctx, s, args...)
}
func (b bound) row(s string, args ...any) *sql.Row { return b.QueryRowContext(b.ctx, s, args...) }

func (t *tx) query(s string, args ...any) (*sql.Rows, error) {
	return t.QueryContext(t.ctx, s, args...)
}
func (t *tx) row(s string, args ...any) *sql.Row { return t.QueryRowContext(t.ctx, s, args...) }
