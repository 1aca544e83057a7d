package web

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/notebook"
)

// Config is what a server is made from. Notebook is required; every other field
// has a use when zero.
type Config struct {
	Notebook *notebook.Notebook
	Now      func() time.Time // nil: time.Now
	Rand     io.Reader        // where pairing codes and tokens are drawn from; nil: crypto/rand
	Logger   *slog.Logger     // nil: nothing is logged
	Program  string           // name and version, for colophons
	// Hosts are the names and addresses, without port, under which this server
	// may be asked besides those of the loopback interface.
	Hosts []string
	// Address is how a device on the local network reaches the server, as in
	// "http://192.0.2.7:8080". Empty: only this computer is served.
	Address string
	// Meters is the file that says which live meters there are; empty: the one
	// beside the notebook.
	Meters string
	// LeastTake is how long a live reading is averaged at least; 0: a second.
	LeastTake time.Duration
}

// Server serves the notebook's pages. Make one with New.
type Server struct {
	nb      *notebook.Notebook
	now     func() time.Time
	rand    io.Reader
	log     *slog.Logger
	program string
	address string

	assets     *assets
	templates  *templates
	tallies    *tallyCache
	headlines  sync.Map // *headline by study
	pairing    *pairing
	live       *live
	checks     *planChecks
	leastTake  time.Duration
	steady     sync.Map // []trace.Stretch by stretchKey
	shifts     sync.Map // trace.Alignment by shiftKey
	coming     coming
	recordings recordings
	takes      takes
	leavers    leavers
	tabs       []tab
	handler    http.Handler
}

// New returns a server with every page registered. An error means that an
// embedded template or asset is broken.
func New(c Config) (*Server, error) {
	if c.Notebook == nil {
		return nil, errors.New("web: no notebook")
	}
	s := &Server{nb: c.Notebook, now: c.Now, rand: c.Rand, log: c.Logger, program: c.Program, address: c.Address}
	if s.now == nil {
		s.now = time.Now
	}
	if s.rand == nil {
		s.rand = rand.Reader
	}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	var err error
	if s.assets, err = loadAssets(); err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	if s.templates, err = parseTemplates(s.assets); err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	if c.Meters == "" {
		c.Meters = acquire.SettingsPath(c.Notebook.Path())
	}
	s.live, s.leastTake = newLive(c.Meters), c.LeastTake
	s.tallies = newTallyCache()
	s.pairing = newPairing(s.now, s.rand)
	rt := &routes{s: s, mux: http.NewServeMux()}
	for _, register := range s.pages() {
		register(rt)
	}
	s.handler = s.secured(c.Hosts, rt.mux)
	return s, nil
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }
