package web

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"slices"
	"strings"
	"time"
)

// pages lists what registers routes: one function for each page, in the file of
// that page.
func (s *Server) pages() []func(*routes) {
	return []func(*routes){
		s.assetRoutes,
		s.studiesRoutes,
		s.instrumentRoutes,
		s.resultsRoutes,
		s.coolingRoutes,
		s.reportRoutes,
		s.bundleRoutes,
		s.compareRoutes,
		s.pairingRoutes,
		s.planRoutes,
		s.planCheckRoutes,
		s.photoRoutes,
		s.benchRoutes,
		s.eventRoutes,
		s.manifestRoutes,
		s.liveRoutes,
		s.recordRoutes,
		s.tracesRoutes,
	}
}

// handler answers a request or returns an error, which becomes an error page
// (see fail).
type handler func(w http.ResponseWriter, r *http.Request) error

// routes registers handlers with the limits that every request has.
type routes struct {
	s   *Server
	mux *http.ServeMux
}

// The limits of ordinary requests.
const (
	bodyLimit = 1 << 20
	timeLimit = 30 * time.Second
)

// handle registers a handler whose request body is at most a mebibyte.
func (rt *routes) handle(pattern string, h handler) { rt.handleBody(pattern, bodyLimit, h) }

// handleBody registers a handler for larger bodies, such as photographs.
func (rt *routes) handleBody(pattern string, limit int64, h handler) {
	rt.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		c := http.NewResponseController(w)
		deadline := time.Now().Add(timeLimit)
		// Recorders in tests have no deadlines; there is nothing to do about it.
		_ = c.SetReadDeadline(deadline)
		_ = c.SetWriteDeadline(deadline)
		r.Body = http.MaxBytesReader(w, r.Body, limit)
		if err := h(w, r); err != nil {
			rt.s.fail(w, r, err)
		} else if r.Method == http.MethodPost {
			if id, err := numberIn(r, "study"); err == nil {
				rt.s.warm(id)
			}
		}
	})
}

// stream registers a handler that writes for as long as the client listens.
func (rt *routes) stream(pattern string, h handler) {
	rt.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		c := http.NewResponseController(w)
		_ = c.SetReadDeadline(time.Time{})
		_ = c.SetWriteDeadline(time.Time{})
		if err := h(w, r); err != nil {
			rt.s.fail(w, r, err)
		}
	})
}

// tab puts a page of a study into the study's navigation.
func (rt *routes) tab(order int, name, path string) {
	rt.s.tabs = append(rt.s.tabs, tab{Name: name, Path: path, Order: order})
	slices.SortFunc(rt.s.tabs, func(a, b tab) int { return a.Order - b.Order })
}

// isHTMX tells that a script asks for a part of a page rather than a browser
// for the whole of it.
func isHTMX(r *http.Request) bool {
	h := r.Header
	return h.Get("HX-Request") == "true" && h.Get("HX-Boosted") == "" && h.Get("HX-History-Restore-Request") == ""
}

// seeOther sends the browser on after something was done. A request by script
// gets the same through htmx's own header.
func seeOther(w http.ResponseWriter, r *http.Request, path string) error {
	if isHTMX(r) {
		w.Header().Set("HX-Redirect", path)
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	http.Redirect(w, r, path, http.StatusSeeOther)
	return nil
}

// send writes a whole response, packed where the client takes it.
func send(w http.ResponseWriter, r *http.Request, status int, contentType string, body []byte) error {
	h := w.Header()
	h.Set("Content-Type", contentType)
	h.Add("Vary", "Accept-Encoding")
	if len(body) > 1000 && packable(contentType) && acceptsGzip(r) {
		var err error
		if body, err = packed(body, gzip.BestSpeed); err != nil {
			return err
		}
		h.Set("Content-Encoding", "gzip")
	}
	w.WriteHeader(status)
	if r.Method == http.MethodHead {
		return nil
	}
	_, err := w.Write(body)
	if err != nil {
		return nil // the client is gone; there is nobody to tell
	}
	return nil
}

func packed(body []byte, level int) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, level)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(body); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func packable(contentType string) bool {
	for _, p := range []string{"text/", "image/svg", "application/json", "application/yaml", "application/manifest"} {
		if strings.HasPrefix(contentType, p) {
			return true
		}
	}
	return false
}

func acceptsGzip(r *http.Request) bool {
	for _, part := range strings.Split(r.Header.Get("Accept-Encoding"), ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(part), ";")
		if name == "gzip" && strings.TrimSpace(q) != "q=0" {
			return true
		}
	}
	return false
}
