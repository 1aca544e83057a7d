package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"railtally/internal/notebook"
)

// lanServer serves a network; its clock is moved by hand.
func lanServer(t *testing.T, nb *notebook.Notebook) (*Server, func(time.Duration)) {
	t.Helper()
	now := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	s, err := New(Config{
		Notebook: nb, Now: func() time.Time { return now }, Hosts: []string{"192.0.2.1"}, Address: "http://192.0.2.1:7417",
	})
	if err != nil {
		t.Fatal(err)
	}
	return s, func(d time.Duration) { now = now.Add(d) }
}

// from makes a request of another device.
func from(address, method, path, body string, cookies ...*http.Cookie) *http.Request {
	r := request(method, path, body)
	r.Host, r.RemoteAddr = "192.0.2.1:7417", address+":40000"
	r.Header.Set("Accept", "text/html")
	if method != "GET" {
		r.Header.Set("Origin", "http://192.0.2.1:7417")
	}
	for _, c := range cookies {
		r.AddCookie(c)
	}
	return r
}

func codeNow(t *testing.T, s *Server) string {
	t.Helper()
	code, _, err := s.pairing.current()
	if err != nil {
		t.Fatal(err)
	}
	return code
}

func pairBody(code, name string) string {
	return url.Values{"code": {code}, "name": {name}}.Encode()
}

func TestUnpairedReadsAndWritesNothing(t *testing.T) {
	nb := newNotebook(t)
	id := importExample(t, nb)
	s, _ := lanServer(t, nb)
	for _, x := range []struct{ method, path, body string }{
		{"GET", "/", ""}, {"GET", "/studies", ""}, {"GET", at("studies", id, "results"), ""}, {"GET", at("studies", id, "study.yaml"), ""},
		{"GET", at("studies", id, "report", "page"), ""}, {"GET", "/instruments", ""}, {"GET", "/devices", ""},
		{"GET", at("studies", id, "events"), ""}, {"GET", "/pair/../studies", ""},
		{"POST", "/studies", "question=x"}, {"POST", "/studies/example", ""}, {"POST", "/instruments", "name=x"}, {"POST", "/devices/1/revoke", ""},
		{"HEAD", "/studies", ""}, {"PUT", "/studies", ""}, {"DELETE", "/studies", ""},
	} {
		for _, cookie := range [][]*http.Cookie{nil, {{Name: pairedCookie, Value: "guess"}}, {{Name: pairedCookie, Value: ""}}} {
			w := send1(s, from("192.0.2.7", x.method, x.path, x.body, cookie...))
			if w.Code != http.StatusUnauthorized && !(w.Code == http.StatusSeeOther && w.Header().Get("Location") == "/pair") {
				t.Errorf("%s %s: status %d to %s", x.method, x.path, w.Code, w.Header().Get("Location"))
			}
			if strings.Contains(w.Body.String(), "bridge chip") {
				t.Errorf("%s %s: the notebook is shown", x.method, x.path)
			}
		}
	}
	if list, err := nb.Studies(t.Context()); err != nil || len(list) != 1 {
		t.Errorf("%d studies, want the one there was; error %v", len(list), err)
	}
	contains(t, send1(s, from("192.0.2.7", "GET", "/pair", "")), 200, "Pair this device", "!"+codeNow(t, s))
}

func TestPairAndRevoke(t *testing.T) {
	nb := newNotebook(t)
	s, _ := lanServer(t, nb)
	code := codeNow(t, s)
	host := send1(s, request("GET", "/devices", ""))
	contains(t, host, 200, code[:4]+" "+code[4:], "http://192.0.2.1:7417", "<svg class=\"qr\"")
	contains(t, send1(s, from("192.0.2.7", "GET", "/pair?code="+code, "")), 200, `value="`+code+`"`)

	// Case, spaces and hyphens of the code do not matter.
	typed := strings.ToLower(code[:4]) + " - " + code[4:]
	w := send1(s, from("192.0.2.7", "POST", "/pair", pairBody(typed, "phone at the bench")))
	if w.Code != http.StatusSeeOther || len(w.Result().Cookies()) == 0 {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	c := w.Result().Cookies()[0]
	if c.Name != pairedCookie || !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || len(c.Value) < 40 {
		t.Errorf("the cookie is %+v", c)
	}
	contains(t, send1(s, from("192.0.2.7", "GET", "/studies", "", c)), 200, "Studies", "!/devices")
	if w := send1(s, from("192.0.2.7", "POST", "/studies", "question=Is+it+less%3F", c)); w.Code != http.StatusSeeOther {
		t.Errorf("a paired device cannot write: status %d", w.Code)
	}
	if p, err := nb.Plan(t.Context(), 1); err != nil || p.Device != "phone at the bench" {
		t.Errorf("the entry is from %q, error %v", p.Device, err)
	}
	// Who is let in is decided at the notebook's computer.
	if w := send1(s, from("192.0.2.7", "GET", "/devices", "", c)); w.Code != http.StatusForbidden {
		t.Errorf("a paired device sees the code: status %d", w.Code)
	}
	// A code is for one device.
	if w := send1(s, from("192.0.2.8", "POST", "/pair", pairBody(code, "another"))); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("the code was used twice: status %d", w.Code)
	}
	devices, err := nb.Devices(t.Context())
	if err != nil || len(devices) != 1 {
		t.Fatalf("%d devices, error %v", len(devices), err)
	}
	contains(t, send1(s, request("GET", "/devices", "")), 200, "phone at the bench", "Send away")
	if w := send1(s, request("POST", at("devices", devices[0].ID, "revoke"), "x=1")); w.Code != http.StatusSeeOther {
		t.Errorf("revoke: status %d", w.Code)
	}
	if w := send1(s, from("192.0.2.7", "GET", "/studies", "", c)); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/pair" {
		t.Errorf("a device that was sent away still reads: status %d", w.Code)
	}
	contains(t, send1(s, request("GET", "/devices", "")), 200, "sent away", "!Send away")
	// The file does not hold what the device shows.
	if found, err := nb.DeviceByToken(t.Context(), c.Value); err == nil {
		t.Errorf("the token of %v still holds", found)
	}
}

func TestPairingLapses(t *testing.T) {
	s, pass := lanServer(t, newNotebook(t))
	code := codeNow(t, s)
	pass(codeLife)
	w := send1(s, from("192.0.2.7", "POST", "/pair", pairBody(code, "phone")))
	contains(t, w, http.StatusUnprocessableEntity, "not the code that is shown now", `value="phone"`)
	if codeNow(t, s) == code {
		t.Error("a lapsed code is shown again")
	}
}

func TestPairingRate(t *testing.T) {
	s, pass := lanServer(t, newNotebook(t))
	try := func(address, code string) int {
		return send1(s, from(address, "POST", "/pair", pairBody(code, "phone"))).Code
	}
	for range triesEach {
		if got := try("192.0.2.7", "WRONGONE"); got != http.StatusUnprocessableEntity {
			t.Fatalf("status %d", got)
		}
	}
	// Even the right code is not looked at now, so that guessing tells nothing.
	if got := try("192.0.2.7", codeNow(t, s)); got != http.StatusTooManyRequests {
		t.Errorf("after %d tries: status %d, want 429", triesEach, got)
	}
	for i := triesEach; i < triesAll; i++ {
		try("192.0.2."+string(rune('1'+i%9))+string(rune('0'+i%10)), "WRONGONE")
	}
	if got := try("192.0.2.200", codeNow(t, s)); got != http.StatusTooManyRequests {
		t.Errorf("after %d tries from everywhere: status %d, want 429", triesAll, got)
	}
	pass(time.Minute)
	if got := try("192.0.2.7", codeNow(t, s)); got != http.StatusSeeOther {
		t.Errorf("a minute later: status %d", got)
	}
	if len(s.pairing.tries) > 1 {
		t.Errorf("%d addresses are remembered", len(s.pairing.tries))
	}
}

func TestPairingNeedsAName(t *testing.T) {
	s, _ := lanServer(t, newNotebook(t))
	code := codeNow(t, s)
	w := send1(s, from("192.0.2.7", "POST", "/pair", pairBody(code, " ")))
	contains(t, w, http.StatusUnprocessableEntity, "this is needed", `value="`+code+`"`)
	if codeNow(t, s) != code {
		t.Error("the code was spent")
	}
}

// Another site can neither use a paired device's cookie nor ask under a name of
// its own.
func TestPairedDeviceIsNotALever(t *testing.T) {
	nb := newNotebook(t)
	s, _ := lanServer(t, nb)
	w := send1(s, from("192.0.2.7", "POST", "/pair", pairBody(codeNow(t, s), "phone")))
	c := w.Result().Cookies()[0]
	r := from("192.0.2.7", "POST", "/studies", "question=x", c)
	r.Header.Set("Origin", "http://rebound.example")
	if w := send1(s, r); w.Code != http.StatusForbidden {
		t.Errorf("cross-origin: status %d", w.Code)
	}
	r = from("192.0.2.7", "GET", "/studies", "", c)
	r.Host = "rebound.example:7417"
	if w := send1(s, r); w.Code != http.StatusMisdirectedRequest {
		t.Errorf("foreign host: status %d", w.Code)
	}
}

func TestCodesAreDrawnFairly(t *testing.T) {
	seen := map[rune]int{}
	code, err := drawCode(strings.NewReader("\xff\xf8\x00\x1e\x1f\x00\x01\x02\x03\x04"))
	if err != nil || code != "A9AABCDE" {
		t.Errorf("got %q, %v; bytes from 248 up are drawn again", code, err)
	}
	for _, r := range codeSigns {
		seen[r]++
	}
	if len(seen) != 31 || strings.ContainsAny(codeSigns, "IO01") {
		t.Errorf("%d signs, or some that are taken for one another", len(seen))
	}
}
