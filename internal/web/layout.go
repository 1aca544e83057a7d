package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"strings"
	"sync"

	"railtally/internal/phrase"
	"railtally/internal/report"
)

//go:embed templates/*.html
var templateFiles embed.FS

// templates holds one set for each page: the layout, the parts that pages share
// (files that begin with layout) and the page itself.
type templates struct {
	pages map[string]*template.Template
	sizes sync.Map // bytes that a block of a page took last, an int by its name
}

func parseTemplates(a *assets) (*templates, error) {
	funcs := report.Funcs(phrase.English())
	maps.Copy(funcs, template.FuncMap{
		"asset": a.url,
		"at":    at,

		"dict": dict,
	})
	base, err := template.New("").Funcs(funcs).ParseFS(templateFiles, "templates/layout*.html")
	if err != nil {
		return nil, err
	}
	pieces, files, err := report.Templates()
	if err != nil {
		return nil, err
	}
	if base, err = base.ParseFS(pieces, files...); err != nil {
		return nil, err
	}
	names, err := fs.Glob(templateFiles, "templates/*.html")
	if err != nil {
		return nil, err
	}
	t := &templates{pages: map[string]*template.Template{}}
	for _, file := range names {
		name := strings.TrimSuffix(path.Base(file), ".html")
		if strings.HasPrefix(name, "layout") {
			continue
		}
		set, err := base.Clone()
		if err != nil {
			return nil, err
		}
		if t.pages[name], err = set.ParseFS(templateFiles, file); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// dict makes a map from names and values, for templates that take several.
func dict(pairs ...any) (map[string]any, error) {
	m := map[string]any{}
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("dict takes names and values in turn")
	}
	for i := 0; i < len(pairs); i += 2 {
		name, ok := pairs[i].(string)
		if !ok {
			return nil, fmt.Errorf("dict: %v is no name", pairs[i])
		}
		m[name] = pairs[i+1]
	}
	return m, nil
}

// page is what the layout needs of a page. Its template file defines "main",
// which gets the page as well; what is its own stands in Data.
type page struct {
	Status  int    // 0: 200
	Title   string // of the window; the layout adds the program
	Study   *opened
	Tab     string   // of the study: "plan", "bench", "results", "report"
	Styles  []string // assets besides app.css
	Scripts []string // assets besides htmx.min.js and app.js
	Class   string   // of the main element
	Live    bool     // refresh parts marked data-live when the study changes
	Data    any

	// Set by render.
	Flash   *remark
	Tabs    []tab
	LAN     bool // devices of the local network are served
	Host    bool // the request comes from this computer itself
	Section string
	Key     string // for a form that must not be kept twice
	Program string
}

// tab is one page of a study.
type tab struct {
	Name, Path string
	Order      int
}

// render writes a whole page. Nothing is written when the template fails.
func (s *Server) render(w http.ResponseWriter, r *http.Request, name string, p page) error {
	set := s.templates.pages[name]
	if set == nil {
		return fmt.Errorf("no template is called %q", name)
	}
	p.Flash = takeFlash(w, r)
	p.Tabs, p.LAN, p.Host, p.Program = s.tabs, s.address != "", fromHost(r), s.program
	var err error
	if p.Key, err = newToken(s.rand); err != nil {
		return err
	}
	p.Section, _, _ = strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	b, err := s.templates.set(set, name, "layout", p)
	if err != nil {
		return err
	}
	if p.Status == 0 {
		p.Status = http.StatusOK
	}
	w.Header().Set("Cache-Control", "no-store")
	return send(w, r, p.Status, "text/html; charset=utf-8", closeUp(b))
}

// part writes one block of a page's template, for requests by script.
func (s *Server) part(w http.ResponseWriter, r *http.Request, status int, name, block string, data any) error {
	b, err := s.block(name, block, data)
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Add("Vary", "HX-Request")
	return send(w, r, status, "text/html; charset=utf-8", b)
}

// block executes one block of a page's template.
func (s *Server) block(name, block string, data any) ([]byte, error) {
	set := s.templates.pages[name]
	if set == nil {
		return nil, fmt.Errorf("no template is called %q", name)
	}
	return s.templates.set(set, name, block, data)
}

// set executes a template into a buffer of the size that it needed last: a page
// of a large study has megabytes, which are else copied as the buffer grows.
func (t *templates) set(from *template.Template, name, block string, data any) ([]byte, error) {
	var b bytes.Buffer
	key := name + "/" + block
	if n, ok := t.sizes.Load(key); ok {
		b.Grow(n.(int) + n.(int)/16)
	}
	err := from.ExecuteTemplate(&b, block, data)
	t.sizes.Store(key, b.Len())
	return b.Bytes(), err
}

// closeUp takes out the templates' indentation and empty lines, but for what
// stands in a text area, whose white space is somebody's.
func closeUp(page []byte) []byte {
	out := make([]byte, 0, len(page))
	kept, areas := false, bytes.Contains(page, []byte("<textarea"))
	for line := range bytes.Lines(page) {
		trimmed := line
		if !kept {
			if trimmed = bytes.TrimSpace(line); len(trimmed) == 0 {
				continue
			}
			if !areas {
				out = append(append(out, trimmed...), '\n')
				continue
			}
			if i := bytes.LastIndex(line, []byte("<textarea")); i >= 0 && !bytes.Contains(line[i:], []byte("</textarea>")) {
				kept = true
			}
			out = append(append(out, trimmed...), '\n')
			continue
		}
		out = append(out, line...)
		kept = !bytes.Contains(line, []byte("</textarea>"))
	}
	return out
}
