package redact

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"railtally/internal/cooling"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// Kind is what can be left out.
type Kind string

// The kinds, in the order in which they are offered.
const (
	Names   Kind = "names"   // who worked and who calibrated
	Serials Kind = "serials" // serial numbers of instruments
	Place   Kind = "place"   // words that the author names
	Notes   Kind = "notes"   // every note
)

// Kinds lists them.
var Kinds = []Kind{Names, Serials, Place, Notes}

// Options say what is left out.
type Options struct {
	Kinds []Kind
	// Words are left out wherever they stand, as whole words, in capital or small
	// letters. Place needs some.
	Words []string
	// Key makes aliases that are the same in every study published with it, so
	// that others can tell that two studies shared an instrument; nil: aliases are
	// counted, and say nothing outside the study.
	Key []byte
}

// Result is a study without what was to be left out.
type Result struct {
	Study *study.Study
	// Kinds are what was left out, for the reader of what is published.
	Kinds []string
	// Told says to the author what was replaced and where.
	Told []string

	words []replacement
	notes bool
}

// Study leaves things out of a copy of a sound study. An error says why that
// cannot be done.
func Study(s *study.Study, o Options) (*Result, error) {
	if slices.Contains(o.Kinds, Place) && len(o.Words) == 0 {
		return nil, errors.New("a study has no field for its place: name the words that tell it")
	}
	words, err := wordsOf(s, o)
	if err != nil {
		return nil, err
	}
	r := &Result{words: words, notes: slices.Contains(o.Kinds, Notes)}
	for _, k := range o.Kinds {
		r.Kinds = append(r.Kinds, string(k))
	}
	if len(o.Words) > 0 && !slices.Contains(o.Kinds, Place) {
		r.Kinds = append(r.Kinds, "words")
	}
	if r.Study, err = copied(s); err != nil {
		return nil, err
	}
	r.walk()
	r.Study.NameSittings()
	if faults := study.Check(r.Study); len(faults) > 0 {
		return nil, fmt.Errorf("with that left out the study is not sound any more, because two names become one: %w", faults[0])
	}
	// The text form is what is published; what it makes of the study counts.
	if r.Study, err = copied(r.Study); err != nil {
		return nil, err
	}
	return r, sameFigures(s, r.Study)
}

// copied is a study read from its own text.
func copied(s *study.Study) (*study.Study, error) {
	var b bytes.Buffer
	if err := studyfile.Write(&b, s); err != nil {
		return nil, err
	}
	c, _, err := studyfile.Read("study", b.Bytes())
	return c, err
}

// sameFigures makes sure that leaving something out changed no total and no
// difference.
func sameFigures(before, after *study.Study) error {
	a, err := tally.Run(before, tally.Options{Temperature: cooling.Claimed})
	if err != nil {
		return err
	}
	b, err := tally.Run(after, tally.Options{Temperature: cooling.Claimed})
	if err != nil {
		return err
	}
	x, y := figures(a), figures(b)
	if !slices.Equal(x, y) {
		return errors.New("with that left out other figures follow: a word to be left out stands where it means something")
	}
	return nil
}

// figures are a study's totals and differences with their uncertainties.
func figures(t *tally.Tally) (out []float64) {
	for _, b := range t.Boards {
		for _, s := range b.States {
			out = append(out, s.Total.Estimate, s.Total.U)
		}
	}
	for _, d := range t.Differences {
		out = append(out, d.Difference.Estimate, d.Difference.U)
	}
	return out
}
