package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
)

// at joins names to a path, each fit for one segment of an address whatever it
// holds: at("studies", 3, "results", "Otter", "a/b").
func at(parts ...any) string {
	var b strings.Builder
	for _, p := range parts {
		b.WriteByte('/')
		switch p := p.(type) {
		case int64:
			b.WriteString(strconv.FormatInt(p, 10))
		case int:
			b.WriteString(strconv.Itoa(p))
		case string:
			b.WriteString(segment(p))
		}
	}
	return b.String()
}

// segment writes a name as one segment of a path. Browsers take "." and ".."
// away however they are written, so such a name gets a mark in front.
func segment(name string) string {
	if name == "" || name == "." || name == ".." || name[0] == '~' {
		name = "~" + name
	}
	return url.PathEscape(name)
}

// nameIn reads a name back from a path.
func nameIn(r *http.Request, key string) string {
	return strings.TrimPrefix(r.PathValue(key), "~")
}

// numberIn reads a number from a path; what is no number names nothing.
func numberIn(r *http.Request, key string) (int64, error) {
	n, err := strconv.ParseInt(r.PathValue(key), 10, 64)
	if err != nil || n <= 0 {
		return 0, notFound("no " + key + " has the number " + r.PathValue(key))
	}
	return n, nil
}
