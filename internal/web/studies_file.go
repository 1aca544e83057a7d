package web

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"strings"

	"railtally/internal/studyfile"
)

// importLimit holds the largest study file and what a form adds to it.
const importLimit = 3 * studyfile.MaxSize

type importView struct {
	Text     field
	TooLarge string
	Faults   []faultLine
	More     int
	Key      string
}

// oversize is a study's text that is larger than any study.
type oversize struct {
	what  string // the text or the file
	bytes int64
}

func (o *oversize) Error() string {
	return fmt.Sprintf("%s has %.1f MiB; a study has at most %d MiB", o.what, float64(o.bytes)/(1<<20), studyfile.MaxSize>>20)
}

// faultLine is one thing wrong with a study's text, with the line it is in.
type faultLine struct {
	Line, Column           int
	Field, Message, Accept string
	Source                 string // the line as it was written
}

const faultsShown = 40

func (s *Server) askImport(w http.ResponseWriter, r *http.Request) error {
	return s.showImport(w, r, importView{}, "", 0)
}

func (s *Server) showImport(w http.ResponseWriter, r *http.Request, v importView, text string, status int) error {
	v.Text = field{Name: "text", Label: "The study's text", Kind: "area", Rows: 24, Required: true, Wide: true, Value: text,
		Hint: "A study in its text form (YAML), typed or pasted here."}
	return s.render(w, r, "import", page{Status: status, Title: "Take in a study", Data: v})
}

// importStudy takes in a study from a text field or a file, or from a bundle.
// What is wrong is shown with its line, and the text is kept.
func (s *Server) importStudy(w http.ResponseWriter, r *http.Request) error {
	text, name, file, head, err := importText(r)
	if r.MultipartForm != nil {
		defer func() { _ = r.MultipartForm.RemoveAll() }()
	}
	var large *oversize
	switch {
	case errors.As(err, &large):
		return s.showImport(w, r, importView{TooLarge: large.Error()}, text, http.StatusRequestEntityTooLarge)
	case err != nil:
		return err
	case file != nil:
		defer file.Close()
		return s.importBundle(w, r, file, head)
	}
	x, _, err := studyfile.Read(name, []byte(text))
	var faults *studyfile.Faults
	switch {
	case errors.As(err, &faults):
		return s.showImport(w, r, faultLines(text, faults), text, http.StatusUnprocessableEntity)
	case err != nil:
		return err
	}
	p, err := s.nb.Import(r.Context(), x, s.origin(r, "taken in from "+name))
	if err != nil {
		return err
	}
	flash(w, "The study was taken in.")
	return seeOther(w, r, at("studies", p.StudyID))
}

// importText returns the text that was sent, from the file if there is one. Of
// a bundle it returns the file itself, to be closed. Where one is larger than a
// study the error is an *oversize, and the text is what was typed.
func importText(r *http.Request) (text, name string, bundle multipart.File, head *multipart.FileHeader, err error) {
	if mt, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); mt != "multipart/form-data" {
		r.Body = http.MaxBytesReader(nil, r.Body, importLimit)
		if err := r.ParseForm(); err != nil {
			return "", "", nil, nil, err
		}
		text, err = typedText(r)
		return text, "text", nil, nil, err
	}
	// Files that are larger than that wait on the disk; typed text may not be.
	if err := r.ParseMultipartForm(importLimit); err != nil {
		if errors.Is(err, multipart.ErrMessageTooLarge) {
			err = &http.MaxBytesError{Limit: studyfile.MaxSize}
		}
		return "", "", nil, nil, err
	}
	f, head, err := r.FormFile("file")
	if errors.Is(err, http.ErrMissingFile) || err == nil && head.Size == 0 {
		text, err = typedText(r)
		return text, "text", nil, nil, err
	}
	if err != nil {
		return "", "", nil, nil, err
	}
	if isBundle(f) {
		return "", "", f, head, nil
	}
	defer f.Close()
	if head.Size > studyfile.MaxSize {
		return r.PostForm.Get("text"), "", nil, nil, &oversize{"the file " + head.Filename, head.Size}
	}
	b, err := io.ReadAll(f)
	return string(b), head.Filename, nil, nil, err
}

// typedText is the text of the form.
func typedText(r *http.Request) (string, error) {
	text := r.PostForm.Get("text")
	if len(text) > studyfile.MaxSize {
		return text, &oversize{"the text", int64(len(text))}
	}
	return text, nil
}

func faultLines(text string, faults *studyfile.Faults) importView {
	var v importView
	lines := strings.Split(text, "\n")
	for i, f := range faults.List {
		if i == faultsShown {
			v.More = len(faults.List) - faultsShown
			break
		}
		row := faultLine{Line: f.Line, Column: f.Column, Field: f.Field, Message: f.Message, Accept: f.Accept}
		if n := f.Line - 1; n >= 0 && n < len(lines) {
			row.Source = strings.TrimSpace(clipped(lines[n], 120))
		}
		v.Faults = append(v.Faults, row)
	}
	return v
}

// clipped shortens a text to n characters.
func clipped(text string, n int) string {
	if r := []rune(text); len(r) > n {
		return string(r[:n]) + "…"
	}
	return text
}

func (s *Server) exportStudy(w http.ResponseWriter, r *http.Request) error {
	o, err := s.studyFromPath(r)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := studyfile.Write(&b, o.Record.Study); err != nil {
		return &problem{http.StatusConflict, "This study cannot be written yet", err.Error(), "Finish its plan first."}
	}
	w.Header().Set("Content-Disposition", attachment(o.Question, "yaml"))
	return send(w, r, http.StatusOK, "application/yaml; charset=utf-8", b.Bytes())
}

// attachment names a file to be saved after what it is about.
func attachment(title, ext string) string {
	return mime.FormatMediaType("attachment", map[string]string{"filename": fileName(title) + "." + ext})
}

// fileName is a title as a file name: letters and figures, joined by hyphens.
func fileName(title string) string {
	words := strings.FieldsFunc(strings.ToLower(title), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	})
	name := strings.Join(words, "-")
	if len(name) > 60 {
		name = strings.TrimRight(name[:60], "-")
	}
	if name == "" {
		return "study"
	}
	return name
}
