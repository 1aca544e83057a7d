package web

import (
	"net"
	"net/http"
	"slices"
	"strings"
)

// secured wraps the pages in what every request must pass, outermost first: the
// name it was asked under, who asks, and that no other site sends it.
func (s *Server) secured(hosts []string, next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, r, &problem{http.StatusForbidden, "Sent from elsewhere", "this was sent by a page of another site, and was not carried out", "Open the notebook's own page and do it there."})
	}))
	return headed(s.known(hosts, s.paired(cross.Handler(next))))
}

// policy is the Content-Security-Policy of every page: nothing from elsewhere,
// no script and no style but files of our own.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; " +
	"connect-src 'self'; manifest-src 'self'; worker-src 'self'; frame-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// headed sets the headers that every answer carries. The referrer goes to our
// own pages: with none at all a browser would send forms with the origin
// "null", which nobody can tell from a stranger's.
func headed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "geolocation=(), microphone=(), payment=(), usb=()")
		next.ServeHTTP(w, r)
	})
}

// known refuses requests under a name that is not ours. A page elsewhere can
// let its own name lead to this computer (DNS rebinding) and would then count
// as the same origin; the Host header still tells.
func (s *Server) known(hosts []string, next http.Handler) http.Handler {
	ours := append([]string{"localhost", "127.0.0.1", "::1"}, hosts...)
	for i := range ours {
		ours[i] = strings.ToLower(ours[i])
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !slices.Contains(ours, hostOnly(r.Host)) {
			http.Error(w, "This notebook is not served under that name.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// hostOnly is a Host header without port and brackets, in lower case.
func hostOnly(host string) string {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	return strings.ToLower(strings.TrimSuffix(strings.Trim(host, "[]"), "."))
}

// fromHost tells that a request comes from this computer itself.
func fromHost(r *http.Request) bool {
	h, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return false
	}
	ip := net.ParseIP(h)
	return ip != nil && ip.IsLoopback()
}
