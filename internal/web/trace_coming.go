package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/trace/logfile"
)

// coming are the logs that were sent and are not kept yet, by their token. Each waits in a file beside the
// notebook, where there is room for it.
type coming struct {
	mu   sync.Mutex
	logs map[string]*comingLog
}

// A comingLog is one of them. mu guards what changes while it is kept.
type comingLog struct {
	token, name, path string
	study             int64
	size              int64
	from              notebook.Origin

	mu        sync.Mutex
	detection *logfile.Detection
	roles     map[string]notebook.ChannelRole // by channel
	known     bool                            // read as the last log of its kind
	keeping   bool
	done      int64 // bytes
	rows      int64
	trace     int64 // once kept
	err       error
}

// comingPattern names the files in which logs wait.
const comingPattern = ".railtally-log-*.part"

// staleAfter is when a log that nobody settled is removed.
const staleAfter = 24 * time.Hour

// logLimit is how many bytes a log may have.
const logLimit = 64 << 30

func (c *coming) add(x *comingLog) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.logs == nil {
		c.logs = map[string]*comingLog{}
	}
	c.logs[x.token] = x
}

func (c *coming) get(token string) *comingLog {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.logs[token]
}

// drop forgets a log and removes its file.
func (c *coming) drop(x *comingLog) {
	c.mu.Lock()
	delete(c.logs, x.token)
	c.mu.Unlock()
	_ = os.Remove(x.path) // what cannot be removed now is removed as stale
}

func (c *coming) of(study int64) (out []*comingLog) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, x := range c.logs {
		if x.study == study {
			out = append(out, x)
		}
	}
	return out
}

// words says how far a log has come.
func (x *comingLog) words() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	switch {
	case x.err != nil:
		return "was not kept: " + x.err.Error()
	case x.trace != 0:
		return "is kept"
	case x.keeping:
		return fmt.Sprintf("is being kept: %d %%", 100*min(x.done, x.size)/max(x.size, 1))
	}
	return "waits for you to say how it is read"
}

// sweep removes logs that nobody settled, also those of a server that was ended.
func (s *Server) sweep() {
	list, _ := filepath.Glob(filepath.Join(filepath.Dir(s.nb.Path()), comingPattern)) // the pattern is sound
	for _, path := range list {
		if st, err := os.Stat(path); err == nil && s.now().Sub(st.ModTime()) > staleAfter {
			_ = os.Remove(path)
		}
	}
}

// receiveLog takes in a file and looks into it.
func (s *Server) receiveLog(w http.ResponseWriter, r *http.Request) error {
	o, err := s.studyFromPath(r)
	if err != nil {
		return err
	}
	s.sweep()
	r.Body = http.MaxBytesReader(w, r.Body, logLimit)
	if mt, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); mt != "multipart/form-data" {
		return badRequest("a file is wanted", "Choose a log and send it.")
	}
	parts, err := r.MultipartReader()
	if err != nil {
		return badRequest("the form cannot be read", "Load the page again and send it once more.")
	}
	for {
		part, err := parts.NextPart()
		if err != nil {
			return badRequest("no file was sent", "Choose a log and send it.")
		}
		if part.FormName() != "file" || part.FileName() == "" {
			continue
		}
		x, err := s.store(part, filepath.Base(part.FileName()), o.ID)
		if err != nil {
			return err
		}
		if err := s.look(r.Context(), o, x, logfile.Hints{}); err != nil {
			_ = os.Remove(x.path)
			return s.tracesPage(w, r, &problem{http.StatusUnprocessableEntity, "That is no log that can be read", sentence(x.name + ": " + err.Error()), "Delimited text is read: lines of numbers with one delimiter between them."})
		}
		x.from = notebook.Origin{Device: s.device(r)}
		s.coming.add(x)
		return seeOther(w, r, at("studies", o.ID, "logs", x.token))
	}
}

// store writes what is sent to a file beside the notebook.
func (s *Server) store(from io.Reader, name string, study int64) (*comingLog, error) {
	token, err := newToken(s.rand)
	if err != nil {
		return nil, err
	}
	f, err := os.CreateTemp(filepath.Dir(s.nb.Path()), comingPattern)
	if err != nil {
		return nil, err
	}
	x := &comingLog{token: token, name: name, path: f.Name(), study: study}
	x.size, err = io.Copy(f, from)
	if err = errors.Join(err, f.Close()); err != nil {
		_ = os.Remove(x.path)
		return nil, &problem{http.StatusInsufficientStorage, "The log was not taken in", sentence(err.Error()), "Make space on the disk of the notebook, or send it again."}
	}
	return x, nil
}

// look finds out how a log is read, by the hints given.
func (s *Server) look(ctx context.Context, o *opened, x *comingLog, h logfile.Hints) error {
	f, err := os.Open(x.path)
	if err != nil {
		return err
	}
	defer f.Close()
	d, _, err := logfile.Detect(f, h)
	if err != nil {
		return err
	}
	roles, known := map[string]notebook.ChannelRole(nil), false
	if h == (logfile.Hints{}) {
		if roles, known, err = s.nb.Recall(ctx, &d.Profile); err != nil {
			return err
		}
	}
	if !known {
		roles = notebook.ProposeRoles(o.Record.Study, notebook.LogChannels(&d.Profile))
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	x.detection, x.roles, x.known = d, roles, known
	return nil
}

// keep takes the log into the notebook, in the background. What was begun when the server ends is finished
// when the same log is kept again.
func (s *Server) keep(ctx context.Context, x *comingLog, l notebook.Log) {
	x.mu.Lock()
	if x.keeping {
		x.mu.Unlock()
		return
	}
	x.keeping, x.err, x.done = true, nil, 0
	x.mu.Unlock()
	ctx = context.WithoutCancel(ctx)
	go func() {
		kept, err := s.keepFile(ctx, x, l)
		x.mu.Lock()
		x.keeping, x.err = false, err
		if err == nil {
			x.trace = kept.Trace.ID
			_ = os.Remove(x.path)
		}
		x.mu.Unlock()
	}()
}

func (s *Server) keepFile(ctx context.Context, x *comingLog, l notebook.Log) (*notebook.KeptLog, error) {
	f, err := os.Open(x.path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	l.File, l.Name = f, x.name
	l.Progress = func(bytes, rows int64) {
		x.mu.Lock()
		x.done, x.rows = bytes, rows
		x.mu.Unlock()
	}
	return s.nb.KeepLog(ctx, x.study, l, x.from)
}
