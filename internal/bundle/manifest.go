package bundle

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"

	"railtally/internal/phrase"
	"railtally/internal/report"
)

// Format names the form of a bundle and its version. A new version is due when
// something changes its meaning or goes; files and keys may be added without one.
const Format = "railtally bundle 1"

// The files that every bundle has, and where the others are.
const (
	manifestName  = "manifest.json"
	aboutName     = "about.txt"
	studyName     = "study.yaml"
	figuresName   = "figures.json"
	tallyName     = "tally.json"
	reportName    = "report.html"
	tablesFolder  = "tables/"
	readingsName  = tablesFolder + "readings.csv"
	parquetName   = tablesFolder + "readings.parquet"
	photosName    = "photos.json"
	photosFolder  = "photos/"
	tracesName    = "traces.json"
	tracesFolder  = "traces/"
	maxManifest   = 4 << 20
	formatsAsText = "railtally bundle "
)

// Manifest says what is in a bundle and what made it.
type Manifest struct {
	Format  string `json:"format"`
	Program string `json:"program"` // name and version of what packed it
	Study   string `json:"study"`   // the question
	// Formats are the versions of the JSON forms inside.
	Formats []string `json:"formats"`
	// Page is how the page was asked for, so that it can be set again.
	Page Page `json:"page,omitzero"`
	// Withheld names what was left out before publishing: "names".
	Withheld []string `json:"withheld,omitempty"`
	Files    []Entry  `json:"files"`
}

// Page is what the page in a bundle carries; the zero value is the whole page in
// English.
type Page struct {
	Language string   `json:"language,omitempty"` // tag
	Length   string   `json:"length,omitempty"`
	Sections []string `json:"sections,omitempty"`
}

// options are those of package report.
func (p Page) options(program string, photos []report.Photo) (report.Options, error) {
	tag := p.Language
	if tag == "" {
		tag = phrase.English().Tag()
	}
	l, err := phrase.Find(tag)
	if err != nil {
		return report.Options{}, err
	}
	o := report.Options{Program: program, Language: l, Length: report.Length(p.Length), Sections: p.Sections, Photos: photos}
	return o, o.Check()
}

// Entry is one file of a bundle.
type Entry struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
}

var hexSum = regexp.MustCompile(`^[0-9a-f]{64}$`)

// readManifest reads a manifest and checks that it makes sense by itself.
func readManifest(text []byte) (*Manifest, error) {
	if len(text) > maxManifest {
		return nil, fmt.Errorf("%s has more than %d bytes", manifestName, maxManifest)
	}
	var m Manifest
	if err := json.Unmarshal(text, &m); err != nil {
		return nil, fmt.Errorf("%s: %w", manifestName, err)
	}
	if m.Format != Format {
		if len(m.Format) > len(formatsAsText) && m.Format[:len(formatsAsText)] == formatsAsText {
			return nil, fmt.Errorf("it was packed as %q by a later version of the program; this one reads %q", m.Format, Format)
		}
		return nil, fmt.Errorf("%s does not say that its format is %q", manifestName, Format)
	}
	seen := map[string]bool{}
	for _, e := range m.Files {
		switch {
		case checkName(e.Name) != nil:
			return nil, fmt.Errorf("%s: %w", manifestName, checkName(e.Name))
		case e.Name == manifestName || seen[e.Name]:
			return nil, fmt.Errorf("%s names %s twice", manifestName, e.Name)
		case e.Size < 0 || !hexSum.MatchString(e.SHA256):
			return nil, fmt.Errorf("%s: %s has no sound size and SHA-256", manifestName, e.Name)
		}
		seen[e.Name] = true
	}
	if !seen[studyName] {
		return nil, errors.New("the manifest names no " + studyName)
	}
	return &m, nil
}

// entry is a file's line, or nil.
func (m *Manifest) entry(name string) *Entry {
	for i := range m.Files {
		if m.Files[i].Name == name {
			return &m.Files[i]
		}
	}
	return nil
}
