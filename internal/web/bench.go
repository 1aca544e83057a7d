package web

import (
	"context"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"

	"railtally/internal/notebook"
)

// bench serves the pages on which a sitting is recorded.
type bench struct {
	s *Server

	mu      sync.Mutex
	records map[int64]*notebook.Record // by study, as of their last change
}

// cachedRecords bounds how many studies are kept in memory.
const cachedRecords = 8

func (s *Server) benchRoutes(rt *routes) {
	b := &bench{s: s, records: map[int64]*notebook.Record{}}
	rt.tab(20, "Bench", "bench")
	rt.handle("GET /studies/{study}/bench", b.start)
	rt.handle("POST /studies/{study}/bench", b.open)
	rt.handle("GET /studies/{study}/bench/work", b.work)
	rt.handle("POST /studies/{study}/bench/work", b.tick)
	rt.handle("GET /studies/{study}/bench/{sitting}", b.show)
	rt.handle("GET /studies/{study}/bench/{sitting}/echo", b.echo)
	rt.handle("POST /studies/{study}/bench/{sitting}/entries", b.enter)
	rt.handle("POST /studies/{study}/bench/{sitting}/take", b.own(b.take))
	rt.handle("POST /studies/{study}/bench/{sitting}/undo", b.own(b.undo))
	rt.handle("POST /studies/{study}/bench/{sitting}/choose", b.own(b.choose))
	rt.handle("GET /studies/{study}/bench/{sitting}/about", b.about)
	rt.handle("POST /studies/{study}/bench/{sitting}/about", b.saveAbout)
	rt.handle("GET /studies/{study}/bench/{sitting}/sheet", b.sheet)
}

// record returns a study as it is now. It is read again only when something was
// entered since it last was.
func (b *bench) record(ctx context.Context, id int64) (*notebook.Record, error) {
	b.mu.Lock()
	rec := b.records[id]
	b.mu.Unlock()
	if rec != nil {
		news, err := b.s.nb.Changes(ctx, id, rec.LastChange, 1)
		if err != nil {
			return nil, err
		}
		if len(news) == 0 {
			return rec, nil
		}
	}
	rec, err := b.s.nb.Record(ctx, id)
	if err != nil {
		return nil, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.records) >= cachedRecords && b.records[id] == nil {
		clear(b.records)
	}
	b.records[id] = rec
	return rec, nil
}

// own lets through what is sent under the address of the study that the sitting
// is of.
func (b *bench) own(h handler) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		if _, err := b.owned(r); err != nil {
			return err
		}
		return h(w, r)
	}
}

// owned returns the sitting that a path names, which must be of the study there.
func (b *bench) owned(r *http.Request) (sitting int64, err error) {
	id, err := numberIn(r, "study")
	if err != nil {
		return 0, err
	}
	if sitting, err = numberIn(r, "sitting"); err != nil {
		return 0, err
	}
	of, first, err := b.s.nb.StudyOf(r.Context(), notebook.ASitting, sitting)
	if notebook.CodeOf(err) != notebook.NotFound && err != nil {
		return 0, err
	}
	if err != nil || of != id || first != sitting {
		return 0, notFound("this study has no such sitting")
	}
	return sitting, nil
}

// entryHere returns an entry that a form names, which must be of the sitting in
// the path.
func (b *bench) entryHere(r *http.Request, id int64) (notebook.Entry, error) {
	sitting, err := numberIn(r, "sitting")
	if err != nil {
		return notebook.Entry{}, err
	}
	e, err := b.s.nb.Entry(r.Context(), id)
	if err == nil && e.Sitting != sitting {
		err = notFound("this sitting has no such entry")
	}
	return e, err
}

// orderOf returns the order of work of the sitting that a path names.
func (b *bench) orderOf(r *http.Request) (study int64, o *order, err error) {
	if study, err = numberIn(r, "study"); err != nil {
		return 0, nil, err
	}
	sitting, err := numberIn(r, "sitting")
	if err != nil {
		return 0, nil, err
	}
	rec, err := b.record(r.Context(), study)
	if err != nil {
		return 0, nil, err
	}
	at := r.URL.Query().Get("at")
	if r.Method == http.MethodPost {
		at = r.PostForm.Get("at")
	}
	also, _, _ := strings.Cut(at, "/")
	o, err = newOrder(rec, sitting, unescape(also))
	return study, o, err
}

func openedFrom(id int64, rec *notebook.Record) *opened {
	return &opened{ID: id, Question: rec.Study.Question, Record: rec}
}

// wall is the time that the sender's clock on the wall showed, as UTC like all
// times of a study; without one, this computer's.
func (b *bench) wall(taken string) (wall, stamp time.Time) {
	t, err := time.Parse(time.RFC3339, taken)
	if err != nil {
		t = b.s.now().Local()
	}
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), 0, time.UTC), t
}

// newKey draws a key for a form, so that what is sent twice is kept once.
func (s *Server) newKey() (string, error) {
	var buf [12]byte
	if _, err := io.ReadFull(s.rand, buf[:]); err != nil {
		return "", fmt.Errorf("draw a key: %w", err)
	}
	return hex.EncodeToString(buf[:]), nil
}

// wantsJSON tells that a script asks, and not a browser for a page.
func wantsJSON(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept"), "application/json")
}

// unescape reads back one part of an address made by wanted.ID; what cannot be
// read names nothing.
func unescape(part string) string {
	text, err := url.QueryUnescape(part)
	if err != nil {
		return ""
	}
	return text
}

// numberFrom reads the number of a row from a form.
func numberFrom(text string) (int64, error) {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n <= 0 {
		return 0, badRequest("the form does not say what it was made from", "Load the page again.")
	}
	return n, nil
}
