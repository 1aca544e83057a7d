package notebook

import (
	"context"
	"database/sql"
	"sync"
	"time"
)

// Change says that a row was added. Seq counts them in the one order in which
// they were committed, so that who has seen everything up to a Seq has missed
// nothing before it.
type Change struct {
	Seq   int64
	Study int64 // 0: the shelf
	What  What
	Row   int64
}

// Changes returns the changes of a study and of the shelf after the one of that
// number, at most limit of them. Study 0 means everything.
func (nb *Notebook) Changes(ctx context.Context, studyID, after int64, limit int) (out []Change, err error) {
	err = nb.read(ctx, "read changes", func(q querier) error {
		out, err = changesAfter(q, studyID, after, limit)
		return err
	})
	return out, err
}

// LastChange returns the number of the newest change, 0 when there is none.
func (nb *Notebook) LastChange(ctx context.Context) (seq int64, err error) {
	err = nb.read(ctx, "read changes", func(q querier) error {
		seq, err = lastSeq(q)
		return err
	})
	return seq, err
}

// Watch sends the changes of a study and of the shelf after the one of that
// number, those of other processes too, until ctx ends or the notebook is
// closed; then the channel is closed. Study 0 means everything. A slow receiver
// holds up nobody: each reads from the file at its own pace. When the file
// cannot be read the channel is closed, and the caller may watch again.
func (nb *Notebook) Watch(ctx context.Context, studyID, after int64) <-chan Change {
	out := make(chan Change)
	leave := nb.hub.join()
	go func() {
		defer close(out)
		defer leave()
		for {
			news := nb.hub.next() // before reading, so that nothing falls between
			const batch = 256
			changes, err := nb.Changes(ctx, studyID, after, batch)
			if err != nil {
				return
			}
			for _, c := range changes {
				select {
				case out <- c:
					after = c.Seq
				case <-ctx.Done():
					return
				case <-nb.hub.done:
					return
				}
			}
			if len(changes) == batch {
				continue
			}
			select {
			case <-news:
			case <-ctx.Done():
				return
			case <-nb.hub.done:
				return
			}
		}
	}()
	return out
}

// hub tells watchers that there may be something new. While anybody watches it
// also polls the file's data_version, which moves when another process commits.
type hub struct {
	db       *sql.DB
	poll     time.Duration
	mu       sync.Mutex
	news     chan struct{} // closed at the next news
	watchers int
	stop     context.CancelFunc // of the poll; nil while nobody watches
	done     chan struct{}
	closed   bool
	polls    sync.WaitGroup
}

func newHub(db *sql.DB, poll time.Duration) *hub {
	return &hub{db: db, poll: poll, news: make(chan struct{}), done: make(chan struct{})}
}

// next returns a channel that is closed at the next news.
func (h *hub) next() <-chan struct{} {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.news
}

func (h *hub) wake() {
	h.mu.Lock()
	defer h.mu.Unlock()
	close(h.news)
	h.news = make(chan struct{})
}

// join counts a watcher; the returned function takes it off again.
func (h *hub) join() (leave func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.watchers++
	if h.stop == nil && !h.closed {
		ctx, stop := context.WithCancel(context.Background())
		h.stop = stop
		h.polls.Go(func() { h.watch(ctx) })
	}
	return func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		if h.watchers--; h.watchers == 0 && h.stop != nil {
			h.stop()
			h.stop = nil
		}
	}
}

func (h *hub) close() {
	h.mu.Lock()
	if !h.closed {
		h.closed = true
		close(h.done)
	}
	if h.stop != nil {
		h.stop()
		h.stop = nil
	}
	h.mu.Unlock()
	h.polls.Wait()
}

// watch polls on one connection: data_version says what others did as seen from
// that connection.
func (h *hub) watch(ctx context.Context) {
	c, err := h.db.Conn(ctx)
	if err != nil {
		return
	}
	defer c.Close()
	tick := time.NewTicker(h.poll)
	defer tick.Stop()
	seen := int64(-1)
	for {
		var v int64
		if err := c.QueryRowContext(ctx, "PRAGMA data_version").Scan(&v); err != nil {
			if ctx.Err() != nil {
				return
			}
		} else if v != seen {
			seen = v
			h.wake()
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}
