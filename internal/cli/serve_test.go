package cli

import (
	"bytes"
	"context"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// lockedBuffer is written by a server and read by its test.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// serving runs the command until stop is called; base is where it serves.
func serving(path string, args ...string) (out *lockedBuffer, base string, stop func() int) {
	ctx, cancel := context.WithCancel(context.Background())
	out = &lockedBuffer{}
	code := make(chan int, 1)
	go func() {
		code <- Run(ctx, append([]string{"serve", "--no-browser", "--notebook", path}, args...), out, io.Discard)
	}()
	for range 400 {
		if _, rest, ok := strings.Cut(out.String(), "Open     "); ok && strings.Contains(rest, "\n") {
			base, _, _ = strings.Cut(rest, "\n")
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	return out, base, func() int { cancel(); return <-code }
}

// serve FILE: serves a notebook, asks for its first page, and stops.
func scriptServe(ts *testscript.TestScript, _ bool, args []string) {
	out, base, stop := serving(ts.MkAbs(args[0]), "--addr", "127.0.0.1:0")
	r, err := http.Get(base + "/studies")
	ts.Check(err)
	body, err := io.ReadAll(r.Body)
	ts.Check(err)
	r.Body.Close()
	if r.StatusCode != 200 || !strings.Contains(string(body), "This notebook is empty") {
		ts.Fatalf("status %d: %s", r.StatusCode, body)
	}
	if code := stop(); code != done {
		ts.Fatalf("serve exits with %d", code)
	}
	_, err = ts.Stdout().Write([]byte(out.String()))
	ts.Check(err)
}

// A page that listens for changes does not keep the server from stopping.
func TestServeStopsUnderAListener(t *testing.T) {
	_, base, stop := serving(filepath.Join(t.TempDir(), "bench.db"), "--addr", "127.0.0.1:0")
	r, err := http.Post(base+"/studies/example", "application/x-www-form-urlencoded", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	r, err = http.Get(base + "/studies/1/events")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	start := time.Now()
	if code := stop(); code != done {
		t.Errorf("serve exits with %d", code)
	}
	if d := time.Since(start); d > 4*time.Second {
		t.Errorf("stopping took %v", d)
	}
}

// Where the usual port is taken another is used, and said.
func TestServePortTaken(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:"+servePort)
	if err == nil {
		defer l.Close()
	} // else somebody else has it, which does as well
	_, base, stop := serving(filepath.Join(t.TempDir(), "bench.db"))
	defer stop()
	if base == "" || strings.HasSuffix(base, ":"+servePort) {
		t.Errorf("served at %q", base)
	}
}

func TestPlaceOf(t *testing.T) {
	tcp := func(s string) net.Addr {
		a, err := net.ResolveTCPAddr("tcp", s)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	p, err := placeOf(tcp("127.0.0.1:7417"), false)
	if err != nil || p.local != "http://127.0.0.1:7417" || p.address != "" || len(p.hosts) > 0 {
		t.Errorf("loopback: %+v, %v", p, err)
	}
	p, err = placeOf(tcp("[::1]:7417"), false)
	if err != nil || p.local != "http://[::1]:7417" {
		t.Errorf("loopback of IPv6: %+v, %v", p, err)
	}
	p, err = placeOf(tcp("192.0.2.7:80"), true)
	if err != nil || p.address != "http://192.0.2.7:80" || len(p.hosts) != 1 || p.hosts[0] != "192.0.2.7" {
		t.Errorf("one address: %+v, %v", p, err)
	}
	if _, err = placeOf(tcp("127.0.0.1:80"), true); err == nil {
		t.Error("a network that nobody reaches is accepted")
	}
}

func TestReachable(t *testing.T) {
	var addrs []net.Addr
	for _, s := range []string{"127.0.0.1/8", "fe80::1/64", "198.51.100.4/24", "192.168.1.20/24", "2001:db8::4/64", "10.0.0.3/8"} {
		ip, n, err := net.ParseCIDR(s)
		if err != nil {
			t.Fatal(err)
		}
		addrs = append(addrs, &net.IPNet{IP: ip, Mask: n.Mask})
	}
	got := strings.Join(reachable(addrs), " ")
	if want := "192.168.1.20 10.0.0.3 198.51.100.4 2001:db8::4"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestCheckFindsDamage(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.db")
	_, base, stop := serving(path, "--addr", "127.0.0.1:0")
	r, err := http.Post(base+"/studies/example", "application/x-www-form-urlencoded", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if code := stop(); code != done {
		t.Fatalf("serve exits with %d", code)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i := len(b) / 2; i < len(b)/2+3*4096; i++ {
		b[i] ^= 0x5a
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if code := Run(t.Context(), []string{"check", path}, &out, &out); code != doesntHold {
		t.Errorf("check exits with %d, want %d\n%s", code, doesntHold, out.String())
	}
}
