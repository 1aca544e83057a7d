package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"railtally/internal/chart"
	"railtally/internal/cooling"
	"railtally/internal/report"
	"railtally/internal/tally"
)

func (s *Server) reportRoutes(rt *routes) {
	rt.tab(50, "Report", "report")
	rt.handle("GET /studies/{study}/report", s.showReport)
	rt.handle("GET /studies/{study}/report/page", s.reportPage)
	rt.handle("GET /studies/{study}/report/files/{file}", s.reportFile)
}

// reportView is what a study can be published as.
type reportView struct {
	Page     string // address of the page, to look at
	HTML     string // and to save
	Charts   []chartFiles
	Measured bool
	Trouble  string
}

// chartFiles are the addresses of one chart's files.
type chartFiles struct{ Title, SVG, PNG, Frame string }

func (s *Server) showReport(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	t, err := s.tallyOf(r.Context(), id)
	if err != nil {
		return err
	}
	v := reportView{Page: at("studies", id, "report", "page"), HTML: at("studies", id, "report", "files", "page.html")}
	if t.Tally == nil {
		v.Trouble = "the plan is not complete"
	} else {
		for _, c := range chartsOf(t.Tally) {
			file := func(ext string) string { return at("studies", id, "report", "files", c.name+ext) }
			v.Charts = append(v.Charts, chartFiles{c.title, file(".svg"), file(".png"), file("-frame.png")})
			v.Measured = true
		}
	}
	return s.render(w, r, "report", page{Title: "Report", Study: t.opened(id), Tab: "report", Data: v})
}

// reportPage is the page to publish, to be shown inside ours. It brings its own
// style and no script, so it has a policy of its own.
func (s *Server) reportPage(w http.ResponseWriter, r *http.Request) error {
	_, t, err := s.resultsIn(r)
	if err != nil {
		return err
	}
	body, err := s.pageOf(t)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'; sandbox allow-same-origin allow-popups")
	w.Header().Set("X-Frame-Options", "SAMEORIGIN")
	w.Header().Set("Cache-Control", "no-store")
	return send(w, r, http.StatusOK, "text/html; charset=utf-8", body)
}

func (s *Server) pageOf(t *tallied) ([]byte, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	var b bytes.Buffer
	err := report.Page(&b, t.Tally, report.Options{Program: s.program, On: s.now()})
	return b.Bytes(), err
}

// publishable is one chart that can be saved.
type publishable struct {
	name, title string
	draw        func(chart.Options) (*chart.Drawing, error)
}

// chartsOf lists the charts of a tally: totals and differences, and for each
// board its rails and the lanes of its fullest state.
func chartsOf(t *tally.Tally) []publishable {
	var out []publishable
	for i, b := range t.Boards {
		if len(b.States) == 0 {
			continue
		}
		n := fmt.Sprintf("-%d-%s", i+1, fileName(b.Name))
		out = append(out, publishable{"rails" + n, "What each rail draws on " + b.Name, func(o chart.Options) (*chart.Drawing, error) { return chart.Stack(t, b.Name, o) }})
		if full := tally.Fullest(b); full != nil {
			out = append(out, publishable{"lanes" + n, full.On().String(), func(o chart.Options) (*chart.Drawing, error) { return chart.Lanes(t, full.On(), o) }})
		}
	}
	if len(out) == 0 {
		return nil
	}
	for i, name := range cooledBoards(t.Study) {
		of := func(draw func(*cooling.Cooling, *cooling.Board, chart.Options) (*chart.Drawing, error)) func(chart.Options) (*chart.Drawing, error) {
			return func(o chart.Options) (*chart.Drawing, error) {
				c, err := cooling.Run(t, cooling.Options{Board: name})
				if err != nil {
					return nil, err
				}
				if len(c.Boards) == 0 {
					return nil, notFound("nothing is known of the cooling of " + name)
				}
				return draw(c, c.Boards[0], o)
			}
		}
		n := fmt.Sprintf("-%d-%s", i+1, fileName(name))
		out = append(out, publishable{"heat" + n, "Way of the heat on " + name, of(func(c *cooling.Cooling, b *cooling.Board, o chart.Options) (*chart.Drawing, error) {
			h, err := c.Path(b)
			if err != nil {
				return nil, err
			}
			return chart.Ladder(h, c.Level, o)
		})}, publishable{"rise" + n, "Rise over the room on " + name, of(chart.Rise)},
			publishable{"map" + n, "Power and room on " + name, of(func(c *cooling.Cooling, b *cooling.Board, o chart.Options) (*chart.Drawing, error) {
				p := c.Deciding(b)
				if p == nil {
					return nil, notFound("no temperature of " + name + " can be predicted")
				}
				return chart.ThermalMap(c.MapOf(b, p, mapCells), o)
			})})
	}
	first := []publishable{{"totals", "Power of the chip by state", func(o chart.Options) (*chart.Drawing, error) { return chart.Totals(t, o) }}}
	if len(t.Differences) > 0 {
		first = append(first, publishable{"differences", "What differs", func(o chart.Options) (*chart.Drawing, error) { return chart.Differences(t, o) }})
	}
	return append(first, out...)
}

// reportFile sends the page or a chart as a file to be saved.
func (s *Server) reportFile(w http.ResponseWriter, r *http.Request) error {
	_, t, err := s.resultsIn(r)
	if err != nil {
		return err
	}
	name := nameIn(r, "file")
	save := func(kind string, body []byte) error {
		w.Header().Set("Content-Disposition", attachment(fileName(t.Question)+"-"+strings.TrimSuffix(name, ext(name)), strings.TrimPrefix(ext(name), ".")))
		w.Header().Set("Cache-Control", "no-store")
		return send(w, r, http.StatusOK, kind, body)
	}
	if name == "page.html" {
		body, err := s.pageOf(t)
		if err != nil {
			return err
		}
		return save("text/html; charset=utf-8", body)
	}
	for _, c := range chartsOf(t.Tally) {
		o := chart.Options{Title: c.title, Footer: t.Question, EmbedFont: true}
		switch name {
		case c.name + ".svg", c.name + ".png":
		case c.name + "-frame.png":
			o = chart.Frame(c.title)
			o.Footer = t.Question
		default:
			continue
		}
		body, err := t.picture(c, o, ext(name))
		if err != nil {
			return err
		}
		return save(contentTypes[ext(name)], body)
	}
	return notFound("the report has no file called " + name)
}

// picture draws a chart; a page's PNG has two pixels for each of the screen's.
func (t *tallied) picture(c publishable, o chart.Options, ext string) ([]byte, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	d, err := c.draw(o)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	switch {
	case ext == ".svg":
		err = d.WriteSVG(&b)
	case o.Height > 0:
		err = d.WritePNG(&b, 1)
	default:
		err = d.WritePNG(&b, 2)
	}
	return b.Bytes(), err
}

func ext(name string) string {
	if i := strings.LastIndexByte(name, '.'); i >= 0 {
		return name[i:]
	}
	return ""
}
