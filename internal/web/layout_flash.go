package web

import (
	"encoding/base64"
	"encoding/json"
	"net/http"
	"strings"
)

const flashCookie = "railtally-said"

// remark is a sentence about what was done, and how to take it back.
type remark struct {
	Text string
	// Undo is the address that a form is sent to, with these fields; empty:
	// there is nothing to take back.
	Undo   string            `json:",omitempty"`
	Fields map[string]string `json:",omitempty"`
}

// flash leaves a sentence for the next page that this browser opens: what was
// done, after a form sent it elsewhere.
func flash(w http.ResponseWriter, text string) { flashUndo(w, text, "", nil) }

// flashUndo is flash with a button that takes back what was done.
func flashUndo(w http.ResponseWriter, text, undo string, fields map[string]string) {
	// Strings can always be written as JSON.
	b, _ := json.Marshal(remark{text, undo, fields})
	http.SetCookie(w, &http.Cookie{
		Name: flashCookie, Value: base64.RawURLEncoding.EncodeToString(b),
		Path: "/", MaxAge: 60, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
}

// takeFlash returns what was left and takes it away.
func takeFlash(w http.ResponseWriter, r *http.Request) *remark {
	c, err := r.Cookie(flashCookie)
	if err != nil {
		return nil
	}
	http.SetCookie(w, &http.Cookie{Name: flashCookie, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	b, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil {
		return nil
	}
	var x remark
	if json.Unmarshal(b, &x) != nil {
		return nil
	}
	// Cookies do not tell ports apart: another server of this computer may have
	// set this one.
	if !strings.HasPrefix(x.Undo, "/") || strings.HasPrefix(x.Undo, "//") {
		x.Undo = ""
	}
	return &x
}
