package web

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"io"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"

	"railtally/internal/notebook"
)

// pairing keeps the code by which a device of the local network is let in. A
// code is for one device, and lapses. Nothing of it is on the disk.
type pairing struct {
	mu    sync.Mutex
	now   func() time.Time
	rand  io.Reader
	code  string
	until time.Time
	tries map[string][]time.Time // by address, of the last minute
	all   []time.Time
}

// The code has eight of 31 signs that are not taken for one another, so 39
// bits; at thirty tries a minute for ten minutes one guess in three thousand
// million succeeds.
const (
	codeSigns = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
	codeLen   = 8
	codeLife  = 10 * time.Minute

	triesEach = 5  // a minute from one address
	triesAll  = 30 // a minute from everywhere
)

func newPairing(now func() time.Time, rand io.Reader) *pairing {
	return &pairing{now: now, rand: rand, tries: map[string][]time.Time{}}
}

// current returns the code that holds now, a new one where the last was used or
// has lapsed.
func (p *pairing) current() (code string, until time.Time, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.code == "" || !p.now().Before(p.until) {
		if p.code, err = drawCode(p.rand); err != nil {
			return "", time.Time{}, err
		}
		p.until = p.now().Add(codeLife)
	}
	return p.code, p.until, nil
}

// drawCode draws signs without favour: bytes beyond the last whole multiple of
// their number are drawn again.
func drawCode(rand io.Reader) (string, error) {
	const fair = 256 - 256%len(codeSigns)
	var out []byte
	var b [1]byte
	for len(out) < codeLen {
		if _, err := io.ReadFull(rand, b[:]); err != nil {
			return "", err
		}
		if int(b[0]) < fair {
			out = append(out, codeSigns[int(b[0])%len(codeSigns)])
		}
	}
	return string(out), nil
}

// use tells whether a code is the right one, and spends it. ok is false too when
// there were too many tries; wait then says for how long.
func (p *pairing) use(code, address string) (ok bool, wait time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.now()
	p.forget(now)
	if mine := p.tries[address]; len(mine) >= triesEach {
		return false, time.Minute - now.Sub(mine[0])
	}
	if len(p.all) >= triesAll {
		return false, time.Minute - now.Sub(p.all[0])
	}
	p.tries[address] = append(p.tries[address], now)
	p.all = append(p.all, now)
	if p.code == "" || !now.Before(p.until) || subtle.ConstantTimeCompare([]byte(plainCode(code)), []byte(p.code)) != 1 {
		return false, 0
	}
	p.code = ""
	return true, 0
}

// forget drops the tries that are older than a minute.
func (p *pairing) forget(now time.Time) {
	recent := func(ts []time.Time) []time.Time {
		for len(ts) > 0 && now.Sub(ts[0]) >= time.Minute {
			ts = ts[1:]
		}
		return ts
	}
	p.all = recent(p.all)
	for a, ts := range p.tries {
		if ts = recent(ts); len(ts) == 0 {
			delete(p.tries, a)
		} else {
			p.tries[a] = ts
		}
	}
}

// plainCode is a code as it was meant: case, spaces and hyphens do not matter.
func plainCode(code string) string {
	return strings.ToUpper(strings.NewReplacer(" ", "", "-", "").Replace(code))
}

// pairedCookie holds a paired device's token.
const pairedCookie = "railtally-device"

type deviceKey struct{}

// paired lets through who may use the notebook: this computer, and devices that
// were paired. Others see how to pair and nothing else.
func (s *Server) paired(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case fromHost(r):
			next.ServeHTTP(w, r)
			return
		case s.address == "":
			http.Error(w, "This notebook is open to its own computer only; start it with --lan to let others in.", http.StatusForbidden)
			return
		}
		if c, err := r.Cookie(pairedCookie); err == nil && c.Value != "" {
			d, err := s.nb.DeviceByToken(r.Context(), c.Value)
			if err == nil {
				next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), deviceKey{}, d)))
				return
			}
			if notebook.CodeOf(err) != notebook.NotFound {
				s.fail(w, r, err)
				return
			}
		}
		switch {
		case r.URL.Path == "/pair", strings.HasPrefix(r.URL.Path, "/static/"), r.URL.Path == "/favicon.ico":
			next.ServeHTTP(w, r)
		case r.Method == http.MethodGet && !isHTMX(r) && strings.Contains(r.Header.Get("Accept"), "text/html"):
			http.Redirect(w, r, "/pair", http.StatusSeeOther)
		default:
			http.Error(w, "This device is not paired with the notebook.", http.StatusUnauthorized)
		}
	})
}

// device names who sent a request: a paired device's name, or "this computer".
func (s *Server) device(r *http.Request) string {
	if d, ok := deviceOfRequest(r); ok {
		return d.Name
	}
	return "this computer"
}

// newToken draws what a paired device shows from then on: 256 bits.
func newToken(rand io.Reader) (string, error) {
	var b [32]byte
	if _, err := io.ReadFull(rand, b[:]); err != nil {
		return "", err
	}
	return base64.RawURLEncoding.EncodeToString(b[:]), nil
}

// addressOf is where a request comes from, without port. One computer may have
// any number of addresses in its part of a network of version 6, so that part
// counts as one: the first 64 bits (RFC 4291, 2.5.1; from memory).
func addressOf(r *http.Request) string {
	h, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	ip, err := netip.ParseAddr(h)
	if err != nil {
		return h
	}
	if ip = ip.Unmap().WithZone(""); ip.Is6() {
		if p, err := ip.Prefix(64); err == nil {
			return p.String()
		}
	}
	return ip.String()
}
