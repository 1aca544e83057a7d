package report

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"time"

	"railtally/internal/look"
	"railtally/internal/phrase"
	"railtally/internal/tally"
)

// Options say what a page carries besides the study itself.
type Options struct {
	// Program names the program and its version in the colophon; empty: neither
	// is named.
	Program string
	// On is the day the page was made; zero: not stated. It is passed in so that
	// the same study gives the same bytes.
	On time.Time
	// Language is what the page is written in; nil: English.
	Language *phrase.Language
}

func (o Options) tongue() tongue {
	if o.Language == nil {
		return tongue{phrase.English()}
	}
	return tongue{o.Language}
}

//go:embed templates/*.html style/*.css
var files embed.FS

// Page writes the page of a tally to w. Nothing is written when the page
// cannot be completed.
func Page(w io.Writer, t *tally.Tally, opt Options) error {
	v, err := assemble(t, opt)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	set, err := parse(opt.tongue())
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	var page bytes.Buffer
	if err := set.ExecuteTemplate(&page, "page.html", v); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	_, err = w.Write(closeUp(page.Bytes()))
	return err
}

// closeUp takes out the templates' indentation and empty lines, a tenth of a
// large page. Nothing on the page keeps its white space.
func closeUp(page []byte) []byte {
	out := make([]byte, 0, len(page))
	for line := range bytes.Lines(page) {
		if line = bytes.TrimSpace(line); len(line) > 0 {
			out = append(append(out, line...), '\n')
		}
	}
	return out
}

// parse reads the templates. It is done for each page: a report is written
// once, and a package without state needs no care.
func parse(t tongue) (*template.Template, error) {
	css, err := fs.ReadFile(files, "style/page.css")
	if err != nil {
		return nil, err
	}
	return template.New("report").Funcs(Funcs(t.Language)).Funcs(template.FuncMap{
		"css": func() template.CSS { return template.CSS(look.FontCSS() + look.CSS() + string(css)) },
	}).ParseFS(files, "templates/*.html")
}
