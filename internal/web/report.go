package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"railtally/internal/bundle"
	"railtally/internal/phrase"
	"railtally/internal/report"
	"railtally/internal/study"
)

func (s *Server) reportRoutes(rt *routes) {
	rt.tab(50, "Report", "report")
	rt.handle("GET /studies/{study}/report", func(w http.ResponseWriter, r *http.Request) error { return s.showReport(w, r, nil, nil) })
	rt.handle("POST /studies/{study}/report/words", s.saveWords)
	rt.handle("GET /studies/{study}/report/page", s.reportPage)
	rt.handle("GET /studies/{study}/report/files/{file}", s.reportFile)
}

// reportView is what a study can be published as.
type reportView struct {
	Page     string // address of the page, to look at
	HTML     string // and to save
	Trouble  string
	Problem  *problem
	Setting  []field // language and length
	Sections []option
	Chosen   bool // the sections are chosen one by one
	Words    field
	Revision int64
	Warnings []string
	Example  string
	Charts   []reportFiles
	Dark     bool
	Query    url.Values
}

// chosenLength is the length of a page whose sections are chosen one by one.
const chosenLength = "chosen"

// published is how somebody wants to see the report.
type published struct {
	language, length string
	sections         []string
	dark             bool
}

func publishedAs(q url.Values) published {
	return published{language: q.Get("language"), length: q.Get("length"), sections: q["section"], dark: q.Get("dark") != ""}
}

// options are those of the page; wrong ones are refused with what would do.
func (p published) options() (report.Options, error) {
	l, err := phrase.Find(p.language)
	if err != nil {
		return report.Options{}, badRequest(err.Error(), "Choose a language on the report's page.")
	}
	o := report.Options{Language: l, Length: report.Length(p.length)}
	if p.length == chosenLength {
		o.Length, o.Sections = report.Full, p.sections
	}
	if err := o.Check(); err != nil {
		return o, badRequest(err.Error(), "Choose the sections on the report's page.")
	}
	return o, nil
}

func (s *Server) showReport(w http.ResponseWriter, r *http.Request, words *form, trouble *problem) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	t, err := s.tallyOf(r.Context(), id)
	if err != nil {
		return err
	}
	v := &reportView{Query: r.URL.Query(), Problem: trouble}
	p := publishedAs(v.Query)
	o, err := p.options()
	if err != nil {
		return err
	}
	query := ""
	if enc := v.Query.Encode(); enc != "" {
		query = "?" + enc
	}
	v.Page, v.HTML, v.Dark = at("studies", id, "report", "page")+query, at("studies", id, "report", "files", "page.html")+query, p.dark
	v.set(p, o)
	if t.Tally == nil {
		v.Trouble = "the plan is not complete"
	} else if err := s.fillReport(r.Context(), v, id, t, o, words); err != nil {
		return err
	}
	status := http.StatusOK
	if words != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, r, "report", page{Title: "Report", Study: t.opened(id), Tab: "report", Status: status, Data: v})
}

// set fills in what the form offers.
func (v *reportView) set(p published, o report.Options) {
	language := field{Name: "language", Label: "Language", Kind: "select"}
	for _, tag := range phrase.Tags() {
		if l, err := phrase.Find(tag); err == nil {
			language.Options = append(language.Options, option{tag, l.Name(), l.Tag() == o.Language.Tag()})
		}
	}
	length := field{Name: "length", Label: "Length", Kind: "select", Options: []option{
		{string(report.Full), "full, with every reading", p.length == "" || p.length == string(report.Full)},
		{string(report.Short), "short, without the proof", p.length == string(report.Short)},
		{chosenLength, "the sections ticked below", p.length == chosenLength},
	}}
	v.Setting, v.Chosen = []field{language, length}, p.length == chosenLength
	there, err := o.Has()
	for _, name := range report.SectionNames() {
		v.Sections = append(v.Sections, option{name, sectionLabels()[name], err == nil && slices.Contains(there, name)})
	}
}

// sectionLabels name the sections of a page as its contents do.
func sectionLabels() map[string]string {
	return map[string]string{
		"answer": "Answer", "totals": "Totals", "rails": "Rails", "differences": "Differences", "matrix": "Each against each", "claims": "Claims", "effects": "Effects", "cooling": "Cooling",
		"opened": "Figures opened", "budget": "What limits them", "sittings": "Sittings", "recorded": "Also recorded", "method": "Method, with photographs",
		"instruments": "Instruments", "findings": "Findings", "cautions": "Cautions", "not-assessed": "Not assessed", "reading": "Reading ±",
	}
}

// fillReport fills in what needs results: words and charts.
func (s *Server) fillReport(ctx context.Context, v *reportView, id int64, t *tallied, o report.Options, words *form) error {
	plan, err := s.nb.Plan(ctx, id)
	if err != nil {
		return err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if words == nil {
		words = newForm(url.Values{"words": {t.Study.Words}})
		v.Revision = plan.ID
		if w, err := report.CheckWords(t.Tally, t.Study.Words); err != nil {
			words.Fault("words", err.Error(), "")
		} else {
			v.Warnings = w
		}
	} else if v.Revision, err = numberFrom(words.Raw("based")); err != nil {
		return err
	}
	v.Words = words.fill(field{Name: "words", Label: "Your own sentences for the answer", Kind: "area", Rows: 6, Wide: true,
		Hint: "Paragraphs with an empty line between them. Leave it empty, and the page says what the verdicts say."})
	v.Example = report.ExampleReference(t.Tally)
	v.Charts, err = t.reportFiles(id, o.Language, v.Dark)
	return err
}

// saveWords keeps the author's sentences in the plan, once every reference in
// them leads somewhere.
func (s *Server) saveWords(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	words := strings.TrimSpace(strings.ReplaceAll(f.Raw("words"), "\r\n", "\n"))
	t, err := s.tallyOf(r.Context(), id)
	if err != nil {
		return err
	}
	if t.Tally != nil {
		t.mu.Lock()
		_, err := report.CheckWords(t.Tally, words)
		t.mu.Unlock()
		if err != nil {
			f.Fault("words", err.Error(), "")
		}
	}
	return s.revise(w, r, f, "words of the report", func(p *study.Study) error {
		p.Words = words
		return nil
	}, func(trouble *problem) error { return s.showReport(w, r, f, trouble) }, at("studies", id, "report"))
}

// reportPage is the page to publish, to be shown inside ours. It brings its own
// style and no script, so it has a policy of its own.
func (s *Server) reportPage(w http.ResponseWriter, r *http.Request) error {
	id, t, err := s.resultsIn(r)
	if err != nil {
		return err
	}
	body, err := s.pageOf(r, id, t)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'; sandbox allow-same-origin allow-popups")
	w.Header().Set("X-Frame-Options", "SAMEORIGIN")
	w.Header().Set("Cache-Control", "no-store")
	return send(w, r, http.StatusOK, "text/html; charset=utf-8", body)
}

func (s *Server) pageOf(r *http.Request, id int64, t *tallied) ([]byte, error) {
	o, err := publishedAs(r.URL.Query()).options()
	if err != nil {
		return nil, err
	}
	o.Program, o.On = s.program, s.now()
	c, err := bundle.FromNotebook(r.Context(), s.nb, id)
	if err != nil {
		return nil, err
	}
	o.Photos = c.PagePhotos()
	t.mu.Lock()
	defer t.mu.Unlock()
	var b bytes.Buffer
	err = report.Page(&b, t.Tally, o)
	return b.Bytes(), err
}

// reportFile sends the page or a chart as a file to be saved.
func (s *Server) reportFile(w http.ResponseWriter, r *http.Request) error {
	id, t, err := s.resultsIn(r)
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
		body, err := s.pageOf(r, id, t)
		if err != nil {
			return err
		}
		return save("text/html; charset=utf-8", body)
	}
	p := publishedAs(r.URL.Query())
	l, err := phrase.Find(p.language)
	if err != nil {
		return badRequest(err.Error(), "Choose a language on the report's page.")
	}
	body, err := t.reportPicture(name, l, p.dark)
	if err != nil {
		return err
	}
	return save(contentTypes[ext(name)], body)
}

func ext(name string) string {
	if i := strings.LastIndexByte(name, '.'); i >= 0 {
		return name[i:]
	}
	return ""
}

// asQuery is a query with a question mark, or nothing.
func asQuery(language string, dark bool) string {
	q := url.Values{}
	if language != "" && language != "en-GB" {
		q.Set("language", language)
	}
	if dark {
		q.Set("dark", "yes")
	}
	if len(q) == 0 {
		return ""
	}
	return "?" + fmt.Sprint(q.Encode())
}
