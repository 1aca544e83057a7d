package report

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"slices"
	"strings"
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
	// Length is how much the page carries; empty: Full.
	Length Length
	// Sections are those that the page has, or with a plus or minus what is added
	// to those of its length or taken out of them; empty: those of its length.
	Sections []string
	// Photos are the boards as they were photographed.
	Photos []Photo
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
	sections, err := opt.sections()
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	v, err := assemble(t, opt, sections)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	set, err := parse(opt.tongue(), v, sections)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	var page bytes.Buffer
	if err := set.ExecuteTemplate(&page, "page.html", v); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	out := closeUp(page.Bytes())
	if len(sections) < len(SectionNames()) {
		out = unlinked(out)
	}
	_, err = w.Write(out)
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
func parse(t tongue, v *view, sections []string) (*template.Template, error) {
	css, err := fs.ReadFile(files, "style/page.css")
	if err != nil {
		return nil, err
	}
	return template.New("report").Funcs(Funcs(t.Language)).Funcs(template.FuncMap{
		"css": func() template.CSS { return template.CSS(look.FontCSS() + look.CSS() + string(css) + runningHeads(v)) },
		"has": func(name string) bool { return slices.Contains(sections, name) },
	}).ParseFS(files, "templates/*.html")
}

// runningHeads puts the question at the head of every printed page but the
// first, and what was measured and when at its foot.
func runningHeads(v *view) string {
	return "@page { @top-left { content: " + cssString(clipped(v.Title, 90)) + "; font: 8pt var(--sans); color: #555; width: 100%; } @bottom-left { content: " +
		cssString(clipped(v.Subject, 110)) + "; font: 8pt var(--sans); color: #555; width: 85%; } }\n@page :first { @top-left { content: none; } }\n"
}

// cssString is a text as a string of CSS, which cannot end the string, the rule
// or the style element.
func cssString(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		if r < ' ' || strings.ContainsRune(`"\\<>&{};`, r) {
			fmt.Fprintf(&b, `\%x `, r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String() + `"`
}

// clipped shortens a text at a word.
func clipped(s string, letters int) string {
	if r := []rune(s); len(r) > letters {
		s = string(r[:letters])
		if i := strings.LastIndexAny(s, " \u00a0"); i > letters/2 {
			s = s[:i]
		}
		return strings.TrimRight(s, " ,.;:") + "…"
	}
	return s
}
