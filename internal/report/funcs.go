package report

import (
	"html/template"
	"regexp"
	"strings"

	"railtally/internal/phrase"
)

// Funcs are the functions that the templates call, in a language: join puts
// texts together; say sets a message of the catalogue with its arguments; rich
// sets one that carries marks, *x* for a letter of a formula, ~n~ for an
// index and [words](#anchor) for a link; space stands between a number and its
// unit; has tells that a section of the page is there.
func Funcs(l *phrase.Language) template.FuncMap {
	t := tongue{l}
	return template.FuncMap{
		"join":  func(s ...string) string { return strings.Join(s, "") },
		"say":   t.say,
		"rich":  t.rich,
		"space": l.Space,
		"has":   func(string) bool { return true },
	}
}

// english is what the notebook's pages are written in.
func english() tongue { return tongue{phrase.English()} }

var (
	letterMark = regexp.MustCompile(`\*(\pL)\*`)
	indexMark  = regexp.MustCompile(`~(\pL)~`)
	linkMark   = regexp.MustCompile(`\[([^\]]+)\]\((#[a-z-]+)\)`)
)

func (t tongue) rich(message string, args ...any) template.HTML {
	s := template.HTMLEscapeString(t.say(message, args...))
	s = letterMark.ReplaceAllString(s, "<var>$1</var>")
	s = indexMark.ReplaceAllString(s, "<sub>$1</sub>")
	return template.HTML(linkMark.ReplaceAllString(s, `<a href="$2">$1</a>`))
}
