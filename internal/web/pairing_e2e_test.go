package web

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"
)

// asPhone serves a server to a browser of this computer as if it were a device
// of the network: from another address, and without the headers that browsers
// leave out where the connection is not secure.
func asPhone(t *testing.T, s *Server) string {
	t.Helper()
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.RemoteAddr = "192.0.2.7:40000"
		for k := range r.Header {
			if strings.HasPrefix(k, "Sec-Fetch-") {
				r.Header.Del(k)
			}
		}
		s.ServeHTTP(w, r)
	}))
	t.Cleanup(func() { srv.CloseClientConnections(); srv.Close() })
	return srv.URL
}

// A phone reads the code, is let in, writes an entry that carries its name, and
// is sent away again.
func TestPairInABrowser(t *testing.T) {
	nb := newNotebook(t)
	importExample(t, nb)
	s, err := New(Config{Notebook: nb, Address: "http://192.0.2.1:7417"})
	if err != nil {
		t.Fatal(err)
	}
	b := newBrowser(t, asPhone(t, s))
	b.look(360, "light")
	b.open("/studies")
	b.until("location.pathname === '/pair'")
	b.fits()
	b.accessible()
	b.picture("pair")
	code, _, err := s.pairing.current()
	if err != nil {
		t.Fatal(err)
	}
	b.open("/pair?code=" + code) // what the QR code leads to
	b.fill("#f-name", "phone at the bench")
	b.click("button.primary")
	b.until("location.pathname === '/studies' && document.body.innerText.includes('Otter')")
	b.fill("#f-question", "Is it less?")
	b.click(`form[action="/studies"] button`)
	b.until("location.pathname.startsWith('/studies/2')")
	if p, err := nb.Plan(t.Context(), 2); err != nil || p.Device != "phone at the bench" {
		t.Errorf("entered by %q, error %v", p.Device, err)
	}
	if cookies := eval[string](b, "document.cookie"); cookies != "" {
		t.Errorf("scripts can read %q", cookies)
	}
	if err := nb.Revoke(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	b.open("/studies")
	b.until("location.pathname === '/pair'")
}

// When the server is gone the page says so, and that it is back.
func TestServerGone(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	var gone atomic.Bool
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if gone.Load() {
			panic(http.ErrAbortHandler)
		}
		s.ServeHTTP(w, r)
	}))
	defer srv.Close()
	defer srv.CloseClientConnections()
	b := newBrowser(t, srv.URL)
	b.open(at("studies", id, "results"))
	b.do(chromedp.WaitVisible("#results"))
	if eval[bool](b, "!document.querySelector('[data-offline]').hidden") {
		t.Error("the page says that nobody answers, and somebody does")
	}
	gone.Store(true)
	srv.CloseClientConnections()
	b.until("!document.querySelector('[data-offline]').hidden")
	gone.Store(false)
	b.until("document.querySelector('[data-offline]').hidden")
}
