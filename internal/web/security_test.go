package web

import (
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"railtally/internal/studyfile"
)

// request makes one that a browser on this computer would send.
func request(method, path, body string) *http.Request {
	var rd io.Reader
	if body != "" {
		rd = strings.NewReader(body)
	}
	r := httptest.NewRequest(method, path, rd)
	r.Host, r.RemoteAddr = "127.0.0.1:7417", "127.0.0.1:50000"
	if body != "" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	return r
}

func send1(s http.Handler, r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

func TestForeignHost(t *testing.T) {
	s := newServer(t, newNotebook(t))
	for host, want := range map[string]int{
		"127.0.0.1:7417": 200, "localhost:7417": 200, "LOCALHOST": 200, "[::1]:7417": 200, "localhost.": 200,
		"rebound.example": 421, "rebound.example:7417": 421, "127.0.0.1.rebound.example": 421,
		"192.0.2.7:7417": 421, "": 421, "localhost.rebound.example:7417": 421,
	} {
		r := request("GET", "/studies", "")
		r.Host = host
		if w := send1(s, r); w.Code != want {
			t.Errorf("Host %q: status %d, want %d", host, w.Code, want)
		} else if want != 200 && strings.Contains(w.Body.String(), "Studies") {
			t.Errorf("Host %q: the page is shown", host)
		}
	}
}

func TestCrossOrigin(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	for _, x := range []struct {
		name   string
		header map[string]string
		done   bool
	}{
		{"own form", map[string]string{"Sec-Fetch-Site": "same-origin", "Origin": "http://127.0.0.1:7417"}, true},
		{"own form in a browser that says less", map[string]string{"Origin": "http://127.0.0.1:7417"}, true},
		{"another site", map[string]string{"Sec-Fetch-Site": "cross-site", "Origin": "https://rebound.example"}, false},
		{"another port of this computer", map[string]string{"Sec-Fetch-Site": "same-site", "Origin": "http://127.0.0.1:9"}, false},
		{"another site, older browser", map[string]string{"Origin": "https://rebound.example"}, false},
		{"no origin to tell", map[string]string{"Origin": "null"}, false},
	} {
		t.Run(x.name, func(t *testing.T) {
			before, err := nb.Studies(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			r := request("POST", "/studies", "question="+url.QueryEscape(x.name))
			for k, v := range x.header {
				r.Header.Set(k, v)
			}
			w := send1(s, r)
			after, err := nb.Studies(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if done := len(after) > len(before); done != x.done || done != (w.Code == http.StatusSeeOther) {
				t.Errorf("kept %v with status %d, want kept %v", done, w.Code, x.done)
			}
		})
	}
}

func TestHeaders(t *testing.T) {
	s := newServer(t, newNotebook(t))
	for _, path := range []string{"/studies", "/nonesuch", "/static/nonesuch"} {
		h := send1(s, request("GET", path, "")).Header()
		csp := h.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: the policy lacks %s", path, want)
			}
		}
		if strings.Contains(csp, "unsafe") {
			t.Errorf("%s: the policy allows something unsafe", path)
		}
		for k, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "X-Frame-Options": "DENY"} {
			if got := h.Get(k); got != want {
				t.Errorf("%s: %s is %q, want %q", path, k, got, want)
			}
		}
	}
}

// importForm is the form of /studies/import as a browser sends it.
func importForm(t testing.TB, text, file string) *http.Request {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	if err := m.WriteField("text", text); err != nil {
		t.Fatal(err)
	}
	f, err := m.CreateFormFile("file", "big.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(f, file); err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	r := request("POST", "/studies/import", b.String())
	r.Header.Set("Content-Type", m.FormDataContentType())
	return r
}

func TestOversizeBody(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	w := send1(s, request("POST", "/studies", "question="+strings.Repeat("a", bodyLimit)))
	contains(t, w, http.StatusRequestEntityTooLarge, "too large")
	// Text that is larger than a study stands in the form again, whole; the
	// largest that is not is read, and is no study.
	long := strings.Repeat("a", studyfile.MaxSize)
	w = send1(s, request("POST", "/studies/import", "text="+long))
	contains(t, w, http.StatusUnprocessableEntity, "Take in a study", "!too large")
	w = send1(s, request("POST", "/studies/import", "text=b"+long))
	contains(t, w, http.StatusRequestEntityTooLarge, "too large", "at most 4 MiB")
	whole := func(text string) {
		t.Helper()
		if !strings.Contains(w.Body.String(), "\n"+text+"</textarea>") {
			t.Errorf("%d bytes that were typed do not stand there whole", len(text))
		}
	}
	whole("b" + long)
	w = send1(s, request("POST", "/studies/import", "text="+strings.Repeat("a", importLimit)))
	contains(t, w, http.StatusRequestEntityTooLarge, "too large", "at most 12 MiB")
	for _, c := range []struct{ text, file, says string }{
		{"b" + long, "", "the text has 4.0 MiB"}, {"typed", "b" + long, "the file big.yaml has 4.0 MiB"}, {strings.Repeat(long, 6), "", "at most 4 MiB"},
	} {
		w = send1(s, importForm(t, c.text, c.file))
		contains(t, w, http.StatusRequestEntityTooLarge, "too large", c.says)
		if c.says != "at most 4 MiB" {
			whole(c.text)
		}
	}
	if list, err := nb.Studies(t.Context()); err != nil || len(list) > 0 {
		t.Errorf("%d studies were kept, error %v", len(list), err)
	}
}

// Without --lan nobody but this computer is answered, whatever is listened on.
func TestLoopbackOnly(t *testing.T) {
	s := newServer(t, newNotebook(t))
	for _, path := range []string{"/studies", "/pair", "/devices"} {
		r := request("GET", path, "")
		r.RemoteAddr = "192.0.2.7:50000"
		if w := send1(s, r); w.Code != http.StatusForbidden {
			t.Errorf("%s: status %d, want 403", path, w.Code)
		}
	}
}
