package web

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"railtally/internal/notebook"
)

// heartbeat is how often a silent stream says that it is still there, so that a
// connection that broke without a word is noticed.
const heartbeat = 15 * time.Second

func (s *Server) eventRoutes(rt *routes) {
	rt.stream("GET /studies/{study}/events", s.events)
}

// events tells of every change to a study as it is committed, also by other
// processes (server-sent events; WHATWG HTML, 9.2). The id of an event is the
// number of the change; a browser that comes back names the last one it saw, and
// misses nothing.
func (s *Server) events(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	if _, err := s.nb.Plan(r.Context(), id); err != nil {
		return err
	}
	after, err := s.seen(r)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no")
	w.WriteHeader(http.StatusOK)
	c := http.NewResponseController(w)
	write := func(text string) bool {
		// A client that takes nothing for half a minute is gone.
		_ = c.SetWriteDeadline(time.Now().Add(2 * heartbeat))
		if _, err := fmt.Fprint(w, text); err != nil {
			return false
		}
		return c.Flush() == nil
	}
	if !write("retry: 2000\n: listening\n\n") {
		return nil
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	changes := s.nb.Watch(r.Context(), id, after)
	device, remote := deviceOfRequest(r)
	var away <-chan struct{} // of this computer: never
	if remote {
		away = s.leavers.of(device.ID)
		if !s.stillIn(r.Context(), device.ID) { // sent away since the request was let in
			return nil
		}
	}
	for {
		select {
		case <-away:
			return nil
		case x, open := <-changes:
			if !open || !write(eventText(x)) {
				return nil
			}
		case <-beat.C:
			if remote && !s.stillIn(r.Context(), device.ID) || !write(": still here\n\n") {
				return nil
			}
		}
	}
}

// seen is the number of the last change that a client knows of: the one that its
// browser names on coming back, else the one its page was made from, else now.
func (s *Server) seen(r *http.Request) (int64, error) {
	for _, text := range []string{r.Header.Get("Last-Event-ID"), r.URL.Query().Get("after")} {
		if n, err := strconv.ParseInt(text, 10, 64); err == nil && n >= 0 {
			return n, nil
		}
	}
	return s.nb.LastChange(r.Context())
}

func eventText(x notebook.Change) string {
	return fmt.Sprintf("id: %d\nevent: change\ndata: {\"what\":%q,\"row\":%d}\n\n", x.Seq, string(x.What), x.Row)
}
