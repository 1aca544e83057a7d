package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"railtally/internal/look"
)

func (s *Server) manifestRoutes(rt *routes) {
	rt.handle("GET /manifest.webmanifest", s.manifest)
	rt.handle("GET /sw.js", s.worker)
	rt.handle("GET /offline", func(w http.ResponseWriter, r *http.Request) error {
		return s.render(w, r, "bench-offline", page{Title: "No connection"})
	})
}

// manifest lets a browser install the pages (W3C Web Application Manifest).
func (s *Server) manifest(w http.ResponseWriter, r *http.Request) error {
	type icon struct {
		Src     string `json:"src"`
		Sizes   string `json:"sizes"`
		Type    string `json:"type"`
		Purpose string `json:"purpose"`
	}
	url := func(name string) string {
		if a := s.assets.byName[name]; a != nil {
			return a.path
		}
		return ""
	}
	body, err := json.Marshal(map[string]any{
		"name": "railtally", "short_name": "railtally", "description": "The bench notebook: what a soldered chip draws, and how far that is known.",
		"id": "/", "start_url": "/studies", "scope": "/", "display": "standalone", "lang": "en",
		"background_color": look.Light().Of(look.Paper).Hex(), "theme_color": look.Light().Of(look.Paper).Hex(),
		"icons": []icon{
			{url("icon.svg"), "any", "image/svg+xml", "any"},
			{url("icon-192.png"), "192x192", "image/png", "any"},
			{url("icon-512.png"), "512x512", "image/png", "any"},
			{url("icon-512.png"), "512x512", "image/png", "maskable"},
		},
	})
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-cache")
	return send(w, r, http.StatusOK, "application/manifest+json", body)
}

// worker serves the script that keeps pages for when the connection is down. It
// stands at the root, because a worker serves only what is below it, and names
// the files of this version, so that a new version brings a new worker.
func (s *Server) worker(w http.ResponseWriter, r *http.Request) error {
	var files []string
	for _, a := range s.assets.byName {
		if a.name != "sw.js" && !strings.HasSuffix(a.name, ".png") {
			files = append(files, a.path)
		}
	}
	slices.Sort(files)
	list, err := json.Marshal(files)
	if err != nil {
		return err
	}
	src := s.assets.byName["sw.js"]
	if src == nil {
		return notFound("there is no worker")
	}
	w.Header().Set("Cache-Control", "no-cache")
	body := "const FILES = " + string(list) + ";\n" + string(src.plain)
	return send(w, r, http.StatusOK, "text/javascript; charset=utf-8", []byte(body))
}
