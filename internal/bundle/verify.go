package bundle

import (
	"bytes"
	"fmt"
	"io"
	"slices"

	"railtally/internal/cooling"
	"railtally/internal/report"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Kind says what is wrong with a bundle.
type Kind string

// The kinds of problem.
const (
	FileChanged    Kind = "file changed"    // its bytes are not those that the manifest names
	FileMissing    Kind = "file missing"    // the manifest names it
	FileAdded      Kind = "file added"      // the manifest does not name it
	ReadingChanged Kind = "reading changed" // the study's text and the table of readings disagree
	FigureChanged  Kind = "figure changed"  // it does not follow from the readings
	TableChanged   Kind = "table changed"   // something else in it does not follow
	PageChanged    Kind = "page changed"    // the page says something that does not follow
	Unreadable     Kind = "unreadable"      // what is needed to verify cannot be read
)

// Problem is one thing that does not hold.
type Problem struct {
	Kind Kind   `json:"kind"`
	File string `json:"file,omitempty"`
	// Name is the figure or the reading, under the name by which it is known.
	Name       string `json:"name,omitempty"`
	Published  string `json:"published,omitempty"`
	Recomputed string `json:"recomputed,omitempty"`
	// Feeds are the published figures that a changed reading goes into.
	Feeds []string `json:"feeds,omitempty"`
	// Text says it in a sentence.
	Text string `json:"text"`
}

// Verification is what came out of verifying a bundle.
type Verification struct {
	Format   string   `json:"format"` // VerificationFormat
	File     string   `json:"file"`
	Study    string   `json:"study"`
	PackedBy string   `json:"packed_by"`
	Withheld []string `json:"withheld,omitempty"`
	Holds    bool     `json:"holds"`
	// How many of each were compared.
	Files    int `json:"files"`
	Readings int `json:"readings"`
	Figures  int `json:"figures"`
	Tables   int `json:"tables"`
	// PageCompared tells how the page was compared: "whole", where the program
	// that packed it is the one that verifies, else "figures".
	PageCompared string    `json:"page_compared"`
	Problems     []Problem `json:"problems"`
	Notes        []string  `json:"notes,omitempty"`
}

// VerificationFormat names the JSON form of a verification and its version.
const VerificationFormat = "railtally verification 1"

// verifier gathers what is found.
type verifier struct {
	*Verification
	b    *Bundle
	same bool // the program that packed is this one
}

func (v *verifier) problem(p Problem) { v.Problems = append(v.Problems, p) }

func (v *verifier) note(format string, args ...any) {
	v.Notes = append(v.Notes, fmt.Sprintf(format, args...))
}

// Verify computes everything in the bundle anew and compares. program is the
// name and version of the program that verifies. An error means that the archive
// itself could not be read to the end; everything else is a problem.
func (b *Bundle) Verify(program string) (*Verification, error) {
	v := &verifier{b: b, same: b.Manifest.Program == program, Verification: &Verification{
		Format: VerificationFormat, File: b.name, Study: b.Manifest.Study, PackedBy: b.Manifest.Program, Withheld: b.Manifest.Withheld, Problems: []Problem{},
	}}
	if err := v.files(); err != nil {
		return nil, err
	}
	s, err := b.Study()
	if err != nil {
		v.problem(Problem{Kind: Unreadable, File: studyName, Text: fmt.Sprintf("The study cannot be read, so nothing can be computed: %v", err)})
		return v.Verification, nil
	}
	t, err := tallied(s)
	if err != nil {
		v.problem(Problem{Kind: Unreadable, File: studyName, Text: fmt.Sprintf("The study cannot be computed: %v", err)})
		return v.Verification, nil
	}
	changed := v.readings(s)
	v.figures(t)
	v.attribute(s, t, changed)
	if err := v.derived(t); err != nil {
		return nil, err
	}
	v.Holds = len(v.Problems) == 0
	return v.Verification, nil
}

// files compares every file with its line of the manifest.
func (v *verifier) files() error {
	for _, e := range v.b.Manifest.Files {
		if v.b.files[e.Name] == nil {
			v.problem(Problem{Kind: FileMissing, File: e.Name, Text: e.Name + " is missing: the manifest names it."})
			continue
		}
		v.Files++
		sum, n, err := v.b.sum(e.Name)
		switch {
		case err != nil:
			v.problem(Problem{Kind: FileChanged, File: e.Name, Text: fmt.Sprintf("%s is damaged: %v.", e.Name, err)})
		case sum != e.SHA256 || n != e.Size:
			v.problem(Problem{Kind: FileChanged, File: e.Name, Published: e.SHA256, Recomputed: sum,
				Text: e.Name + " was changed since it was packed: its bytes are not those that the manifest names."})
		}
	}
	for _, n := range v.b.order {
		if n != manifestName && v.b.Manifest.entry(n) == nil {
			v.problem(Problem{Kind: FileAdded, File: n, Text: n + " was added: the manifest does not name it."})
		}
	}
	return nil
}

// figures compares every published figure with the one that follows, to the
// last digit.
func (v *verifier) figures(t *tally.Tally) {
	text, err := v.b.Read(figuresName)
	var published *Figures
	if err == nil {
		published, err = readFigures(text)
	}
	if err != nil {
		v.problem(Problem{Kind: Unreadable, File: figuresName, Text: fmt.Sprintf("The published figures cannot be read: %v.", err)})
		return
	}
	follow := map[string]Stated{}
	for _, f := range FiguresOf(t).Figures {
		follow[f.Name] = f
	}
	if published.Level != t.Level {
		v.problem(Problem{Kind: FigureChanged, File: figuresName, Name: "level", Published: fmt.Sprint(published.Level), Recomputed: fmt.Sprint(t.Level),
			Text: fmt.Sprintf("The figures are stated for a coverage probability of %g; the study says %g.", published.Level, t.Level)})
	}
	seen := map[string]bool{}
	for _, f := range published.Figures {
		v.Figures++
		again, ok := follow[f.Name]
		switch {
		case seen[f.Name]:
			v.problem(Problem{Kind: FigureChanged, File: figuresName, Name: f.Name, Published: f.Stated, Text: fmt.Sprintf("%s is published twice.", f.Name)})
		case !ok:
			v.problem(Problem{Kind: FigureChanged, File: figuresName, Name: f.Name, Published: f.Stated,
				Text: fmt.Sprintf("%s is published as %s; the study has no such figure.", f.Name, f.Stated)})
		case f.Stated != again.Stated:
			v.problem(Problem{Kind: FigureChanged, File: figuresName, Name: f.Name, Published: f.Stated, Recomputed: again.Stated,
				Text: fmt.Sprintf("%s is published as %s; from the readings follows %s.", f.Name, f.Stated, again.Stated)})
		case f.Unit != again.Unit || !alike(f.Value, again.Value) || !alike(f.U, again.U) || !alike(f.Expanded, again.Expanded):
			v.problem(Problem{Kind: FigureChanged, File: figuresName, Name: f.Name, Published: fmt.Sprintf("%.12g", f.Value), Recomputed: fmt.Sprintf("%.12g", again.Value),
				Text: fmt.Sprintf("%s is stated as it follows, but its unrounded value, uncertainty or unit is not what follows.", f.Name)})
		}
		seen[f.Name] = true
	}
	for _, f := range FiguresOf(t).Figures {
		if !seen[f.Name] && v.same {
			v.problem(Problem{Kind: FigureChanged, File: figuresName, Name: f.Name, Recomputed: f.Stated,
				Text: fmt.Sprintf("%s follows from the readings as %s and is not among the published figures.", f.Name, f.Stated)})
		}
	}
}

// derived compares every other file that follows from the study.
func (v *verifier) derived(t *tally.Tally) error {
	opt, err := v.b.Manifest.Page.options(v.PackedBy, v.photos())
	if err != nil {
		v.problem(Problem{Kind: Unreadable, File: manifestName, Text: fmt.Sprintf("How the page was asked for cannot be understood: %v.", err)})
		return nil
	}
	again, err := made(t, opt)
	if err != nil {
		v.problem(Problem{Kind: Unreadable, File: reportName, Text: fmt.Sprintf("What follows from the study cannot be made: %v.", err)})
		return nil
	}
	for _, m := range again {
		if v.b.files[m.name] == nil || slices.Contains([]string{studyName, figuresName, readingsName}, m.name) {
			continue
		}
		published, err := v.b.Read(m.name)
		if err != nil {
			continue // said among the files
		}
		r, err := m.open()
		if err != nil {
			return err
		}
		follows, err := io.ReadAll(r)
		if err != nil {
			return err
		}
		if m.name == reportName {
			v.page(published, follows)
			continue
		}
		v.Tables++
		if bytes.Equal(published, follows) {
			continue
		}
		d, err := v.compare(m.name, published, follows)
		switch {
		case err != nil:
			v.problem(Problem{Kind: Unreadable, File: m.name, Text: fmt.Sprintf("%s cannot be read: %v.", m.name, err)})
		case d != "":
			v.problem(Problem{Kind: TableChanged, File: m.name, Text: fmt.Sprintf("%s does not follow from the study: %s.", m.name, d)})
		}
	}
	if !v.same {
		v.note("packed by %s: what only its form differs in, such as columns that came or went, was not compared", v.PackedBy)
	}
	return nil
}

// photos are the photographs as the page shows them. What cannot be read is told.
func (v *verifier) photos() []report.Photo {
	list, err := v.b.photos()
	if err != nil {
		v.problem(Problem{Kind: Unreadable, File: photosName, Text: fmt.Sprintf("The photographs cannot be read: %v.", err)})
		return nil
	}
	c := Contents{Photos: list}
	if err := c.bare(); err != nil {
		v.problem(Problem{Kind: Unreadable, File: photosName, Text: fmt.Sprintf("The photographs cannot be read: %v.", err)})
		return nil
	}
	return c.PagePhotos()
}

// restored computes the figures of a study with one of its readings as it was
// published.
func restored(s *study.Study, c changedReading) (map[string]string, error) {
	now := *c.entry
	*c.entry = c.published
	defer func() { *c.entry = now }()
	t, err := tally.Run(s, tally.Options{Temperature: cooling.Claimed})
	if err != nil {
		return nil, err
	}
	return statedByName(t), nil
}

func statedByName(t *tally.Tally) map[string]string {
	out := map[string]string{}
	for _, f := range FiguresOf(t).Figures {
		out[f.Name] = f.Stated
	}
	return out
}
