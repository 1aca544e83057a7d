package bundle

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"railtally/internal/cooling"
	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/report"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/table"
	"railtally/internal/tally"
)

// Contents is what is packed.
type Contents struct {
	Study    *study.Study // sound
	Photos   []Photo
	Traces   []Trace
	Page     Page     // how the page is set
	Program  string   // name and version of the program that packs
	Withheld []string // what was left out of all the others
	// Unfinished are the rails of a study in the notebook that were not read to
	// the end yet, and so are not in Study.
	Unfinished []notebook.Unfinished
	// Find looks for words that must not be published; nil: there are none. A
	// file in which it finds one is not packed.
	Find func(content []byte) []string
}

// Photo is a photograph of a board's side, or of a step, cleaned of everything
// that is not picture.
type Photo struct {
	Board string `json:"board,omitempty"`
	Side  string `json:"side,omitempty"`
	Step  string `json:"step,omitempty"` // which step it is of, in words
	Note  string `json:"note,omitempty"`
	File  string `json:"file"` // set by Pack
	Pins  []Pin  `json:"pins,omitempty"`

	Type  string `json:"type"` // "image/jpeg", "image/png"
	Bytes []byte `json:"-"`
}

// Pin marks a place on a photograph.
type Pin struct {
	Number int     `json:"number,omitempty"`
	Role   string  `json:"role"`
	Rail   string  `json:"rail,omitempty"`
	Tap    string  `json:"tap,omitempty"`
	Point  string  `json:"point,omitempty"`
	X      float64 `json:"x"` // from the left, 0 to 1
	Y      float64 `json:"y"` // from the top
	Note   string  `json:"note,omitempty"`
}

// Trace is a logged time series, as Parquet.
type Trace struct {
	Name string `json:"name"`
	File string `json:"file"` // set by Pack
	Note string `json:"note,omitempty"`
	// About is where it comes from: source, file and its SHA-256, and the time
	// that times count from.
	About   map[string]string `json:"about,omitempty"`
	Columns []Column          `json:"columns,omitempty"` // besides the times, t_s

	// Open gives the Parquet file, the same each time. It is read to its end, or
	// closed if it can be.
	Open func() (io.Reader, error) `json:"-"`
}

// Pack writes a bundle. The same contents give the same bytes.
func Pack(w io.Writer, c Contents) error {
	t, err := tallied(c.Study)
	if err != nil {
		return err
	}
	if err := c.bare(); err != nil {
		return err
	}
	opt, err := c.Page.options(c.Program, c.PagePhotos())
	if err != nil {
		return err
	}
	members, err := made(t, opt)
	if err != nil {
		return err
	}
	more, err := c.photos()
	if err != nil {
		return err
	}
	members = append(members, more...)
	if more, err = c.traces(); err != nil {
		return err
	}
	members = append(members, more...)
	members = append(members, whole(aboutName, []byte(about(c))))
	slices.SortFunc(members, func(a, b member) int { return strings.Compare(a.name, b.name) })
	m := &Manifest{Format: Format, Program: c.Program, Study: c.Study.Question, Formats: formats(), Page: c.Page, Withheld: c.Withheld}
	for _, x := range members {
		if err := c.search(x); err != nil {
			return err
		}
		e, err := x.entry()
		if err != nil {
			return err
		}
		m.Files = append(m.Files, e)
	}
	text, err := indented(m)
	if err != nil {
		return err
	}
	if err := c.search(whole(manifestName, text)); err != nil {
		return err
	}
	return writeArchive(w, append([]member{whole(manifestName, text)}, members...))
}

// encoded is a picture or a typeface within a page, in which any short word can
// be found.
var encoded = regexp.MustCompile(`;base64,[A-Za-z0-9+/=]+`)

// search refuses a file in which a word stands that must not be published, in
// its content or in its name. Photographs were stripped of all text, and traces
// hold numbers under the keys that traces.json lists.
func (c *Contents) search(m member) error {
	if c.Find == nil {
		return nil
	}
	found := c.Find([]byte(m.name))
	if len(found) == 0 && (strings.HasPrefix(m.name, photosFolder) || strings.HasPrefix(m.name, tracesFolder)) {
		return nil
	}
	r, err := m.open()
	if err != nil {
		return fmt.Errorf("%s: %w", m.name, err)
	}
	for overlap := []byte(nil); len(found) == 0; {
		block, err := io.ReadAll(io.LimitReader(r, 16<<20))
		if err != nil {
			return fmt.Errorf("%s: %w", m.name, err)
		}
		if len(block) == 0 {
			break
		}
		block = append(overlap, block...)
		found = c.Find(encoded.ReplaceAll(block, nil))
		overlap = bytes.Clone(block[max(0, len(block)-1024):])
	}
	if len(found) > 0 {
		return fmt.Errorf("%s would hold what is to be left out: %s", m.name, strings.Join(found, ", "))
	}
	return nil
}

func formats() []string {
	return []string{tally.DocumentFormat, FiguresFormat, table.Format}
}

// tallied computes a study as the other commands do, with predictions and advice.
func tallied(s *study.Study) (*tally.Tally, error) {
	t, err := tally.Run(s, tally.Options{Temperature: cooling.Claimed})
	if err != nil {
		return nil, err
	}
	return t, plan.Advise(context.Background(), t)
}

// made makes the files that follow from the study and its photographs. They are
// what Verify makes again.
func made(t *tally.Tally, page report.Options) ([]member, error) {
	var out []member
	var failed error
	file := func(name string, write func(io.Writer) error) {
		var b bytes.Buffer
		if err := write(&b); err != nil && failed == nil {
			failed = fmt.Errorf("%s: %w", name, err)
		}
		out = append(out, whole(name, b.Bytes()))
	}
	file(studyName, func(w io.Writer) error { return studyfile.Write(w, t.Study) })
	file(figuresName, func(w io.Writer) error { return writeJSON(w, FiguresOf(t)) })
	file(tallyName, func(w io.Writer) error {
		doc, err := t.Document(nil)
		if err != nil {
			return err
		}
		return writeJSON(w, doc)
	})
	for _, name := range table.Names() {
		tb, err := table.Of(t, name)
		if err != nil {
			return nil, err
		}
		file(tablesFolder+name+".csv", func(w io.Writer) error { return tb.CSV(w, table.CSVOptions{}) })
		if name == "readings" {
			file(parquetName, func(w io.Writer) error { return tb.Parquet(w, nil) })
		}
	}
	file(reportName, func(w io.Writer) error { return report.Page(w, t, page) })
	return out, failed
}

// bare strips the photographs of everything that is not picture.
func (c *Contents) bare() error {
	c.Photos = slices.Clone(c.Photos)
	for i := range c.Photos {
		var err error
		if c.Photos[i].Bytes, err = bare(c.Photos[i].Type, c.Photos[i].Bytes); err != nil {
			return fmt.Errorf("photo %d: %w", i+1, err)
		}
	}
	return nil
}

// photos names the photographs by what they show.
func (c *Contents) photos() ([]member, error) {
	if len(c.Photos) == 0 {
		return nil, nil
	}
	var out []member
	list := slices.Clone(c.Photos)
	for i := range list {
		p := &list[i]
		ext, ok := map[string]string{"image/jpeg": ".jpg", "image/png": ".png"}[p.Type]
		if !ok {
			return nil, fmt.Errorf("photo %d is of the type %q: image/jpeg and image/png are accepted", i+1, p.Type)
		}
		p.File = photosFolder + fmt.Sprintf("%02d", i+1) + dashed(p.Board, p.Side, p.Step) + ext
		out = append(out, whole(p.File, p.Bytes))
	}
	text, err := indented(map[string]any{"format": PhotosFormat, "photos": list})
	return append(out, whole(photosName, text)), err
}

// PhotosFormat and TracesFormat name the JSON forms of the lists of photographs
// and of traces.
const (
	PhotosFormat = "railtally photos 1"
	TracesFormat = "railtally traces 1"
)

func (c *Contents) traces() ([]member, error) {
	if len(c.Traces) == 0 {
		return nil, nil
	}
	var out []member
	list := slices.Clone(c.Traces)
	for i := range list {
		x := &list[i]
		x.File = tracesFolder + fmt.Sprintf("%02d", i+1) + dashed(x.Name) + ".parquet"
		out = append(out, member{x.File, x.Open})
	}
	text, err := indented(map[string]any{"format": TracesFormat, "traces": list})
	return append(out, whole(tracesName, text)), err
}

// dashed joins what can be made a file name of, each behind a hyphen.
func dashed(titles ...string) string {
	out := ""
	for _, t := range titles {
		if n := fileName(t); n != "" {
			out += "-" + n
		}
	}
	return out
}

// about tells somebody who was handed a bundle what it is.
func about(c Contents) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\nThis is a bundle of railtally: what was measured, what it was measured with, and what follows from it.\n\n", c.Study.Question)
	b.WriteString("report.html    the page to read, whole in one file\n" +
		"study.yaml     the study: instruments, boards, states and every reading\n" +
		"tables/        the same as tables, and what was computed from it\n" +
		"figures.json   every published figure as it is stated\n" +
		"tally.json     all results for programs\n")
	if len(c.Photos) > 0 {
		b.WriteString("photos/        photographs; photos.json says of what\n")
	}
	if len(c.Traces) > 0 {
		b.WriteString("traces/        logged series; traces.json says of what\n")
	}
	b.WriteString("manifest.json  size and SHA-256 of each file\n\n" +
		"'railtally verify' with the name of the archive computes everything anew from the readings and\n" +
		"says whether each published figure follows from them.\n")
	if len(c.Withheld) > 0 {
		fmt.Fprintf(&b, "\nLeft out before publishing: %s.\n", strings.Join(c.Withheld, ", "))
	}
	return b.String()
}

func writeJSON(w io.Writer, v any) error {
	text, err := indented(v)
	if err == nil {
		_, err = w.Write(text)
	}
	return err
}

func indented(v any) ([]byte, error) {
	text, err := json.MarshalIndent(v, "", "  ")
	return append(text, '\n'), err
}
