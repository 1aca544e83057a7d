package web

import (
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"railtally/internal/look"
	"railtally/internal/report"
)

//go:embed static
var staticFiles embed.FS

// asset is one file that pages refer to. Its address holds the hash of its
// content, so that a browser may keep it for ever.
type asset struct {
	name  string // "app.css"
	path  string // "/static/app.0f3a….css"
	kind  string // content type
	plain []byte
	gzip  []byte // nil where it does not pay
}

// assets are the style sheets, scripts, pictures and fonts of all pages.
type assets struct {
	byName, byPath map[string]*asset
}

var contentTypes = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml",
	".png": "image/png", ".woff2": "font/woff2", ".json": "application/json", ".webmanifest": "application/manifest+json",
}

// loadAssets reads the embedded files. The style sheet of all pages is put
// together from the typeface, the palette, the report's sheet and app.css, so
// that pages and reports look alike.
func loadAssets() (*assets, error) {
	a := &assets{byName: map[string]*asset{}, byPath: map[string]*asset{}}
	regular, err := a.add("sans-regular.woff2", look.WOFF2(look.Regular))
	if err != nil {
		return nil, err
	}
	bold, err := a.add("sans-semibold.woff2", look.WOFF2(look.SemiBold))
	if err != nil {
		return nil, err
	}
	err = fs.WalkDir(staticFiles, "static", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || contentTypes[path.Ext(name)] == "" {
			return err
		}
		body, err := fs.ReadFile(staticFiles, name)
		if err != nil {
			return err
		}
		if name == "static/app.css" {
			sheet := face("400", regular.path) + face("600 700", bold.path) + look.CSS() + report.CSS() + string(body)
			body = []byte(sheet)
		}
		_, err = a.add(path.Base(name), body)
		return err
	})
	return a, err
}

func face(weight, url string) string {
	return fmt.Sprintf("@font-face { font-family: %q; font-style: normal; font-weight: %s; font-display: swap; src: url(%q) format(\"woff2\"); }\n",
		look.Family, weight, url)
}

// add takes a file up under its name and its content.
func (a *assets) add(name string, body []byte) (*asset, error) {
	if a.byName[name] != nil {
		return nil, fmt.Errorf("asset %s: two files have this name", name)
	}
	sum := sha256.Sum256(body)
	ext := path.Ext(name)
	x := &asset{
		name: name, kind: contentTypes[ext], plain: body,
		path: "/static/" + strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:8]) + ext,
	}
	if packable(x.kind) {
		z, err := packed(body, gzip.BestCompression)
		if err != nil {
			return nil, err
		}
		x.gzip = z
	}
	a.byName[name], a.byPath[x.path] = x, x
	return x, nil
}

// url is the address of an asset; templates call it. A name that is missing
// fails the page, so that a test finds it.
func (a *assets) url(name string) (string, error) {
	if x := a.byName[name]; x != nil {
		return x.path, nil
	}
	return "", fmt.Errorf("no asset is called %q", name)
}

func (s *Server) assetRoutes(rt *routes) {
	rt.handle("GET /static/{file}", func(w http.ResponseWriter, r *http.Request) error {
		x := s.assets.byPath[r.URL.Path]
		if x == nil {
			return notFound("no file is called " + r.PathValue("file"))
		}
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		x.serve(w, r)
		return nil
	})
	rt.handle("GET /favicon.ico", func(w http.ResponseWriter, r *http.Request) error {
		w.Header().Set("Cache-Control", "public, max-age=86400")
		s.assets.byName["icon.svg"].serve(w, r)
		return nil
	})
}

// serve writes an asset, packed where the client takes it.
func (x *asset) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Type", x.kind)
	h.Set("Vary", "Accept-Encoding")
	body := x.plain
	if x.gzip != nil && acceptsGzip(r) {
		h.Set("Content-Encoding", "gzip")
		body = x.gzip
	}
	if r.Method != http.MethodHead {
		// An error means that the client is gone.
		_, _ = w.Write(body)
	}
}
