package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"railtally/internal/cooling"
	"slices"
	"strings"

	"railtally/internal/bundle"
	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// source is how a command line names a study: a study's text file, a bundle, or
// a study of the notebook by its number, its question or a part of that.
type source struct {
	name     string
	notebook string    // the notebook's file; empty: the usual one
	told     io.Writer // hears which readings of a notebook's study are not complete yet; nil: nobody
}

// found is the study that a source leads to.
type found struct {
	Study *study.Study
	// Kept is the number of a study of the notebook; 0: it is not from there.
	Kept int64
	// Left are the readings of a study of the notebook that are not complete yet,
	// and so are not in Study.
	Left []notebook.Unfinished
}

// open reads the study. What is there as a file is that file; a notebook is
// looked into only where there is none.
func (s source) open(ctx context.Context) (*found, error) {
	info, err := os.Stat(s.name)
	switch {
	case err == nil && info.IsDir():
		return nil, fmt.Errorf("%s is a folder: a study's text file is accepted, or the name of a study of the notebook", s.name)
	case err == nil:
		st, err := readFile(s.name)
		return &found{Study: st}, err
	case !errors.Is(err, fs.ErrNotExist) || s.isFileName():
		return nil, err
	}
	return s.fromNotebook(ctx)
}

// readFile reads a study's text file, or the study of a bundle.
func readFile(path string) (*study.Study, error) {
	if !bundle.IsArchive(path) {
		s, _, err := studyfile.Open(path)
		return s, err
	}
	b, file, err := bundle.OpenFile(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return b.TrueStudy()
}

// isFileName tells whether a name can only be meant as that of a file.
func (s source) isFileName() bool {
	if strings.ContainsRune(s.name, filepath.Separator) {
		return true
	}
	switch strings.ToLower(filepath.Ext(s.name)) {
	case ".yaml", ".yml", ".zip":
		return true
	}
	return false
}

func (s source) fromNotebook(ctx context.Context) (*found, error) {
	path, err := notebookPath(s.notebook)
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: there is no such file, and no notebook in %s to look for a study of that name", s.name, path)
	}
	nb, err := openNotebook(ctx, path, true)
	if err != nil {
		return nil, err
	}
	defer nb.Close()
	sum, err := nb.Find(ctx, s.name)
	if notebook.CodeOf(err) == notebook.NotFound {
		return nil, fmt.Errorf("%s: there is no such file, and no study of that name in %s%s", s.name, path, kept(ctx, nb, s.name))
	}
	if err != nil {
		return nil, hinted(err)
	}
	st, err := nb.Study(ctx, sum.ID)
	if err != nil {
		return nil, hinted(err)
	}
	f := &found{Kept: sum.ID}
	f.Study, f.Left = notebook.Finished(st)
	f.tell(s.told, st)
	if faults := study.Check(f.Study); len(faults) > 0 {
		lines := []string{fmt.Sprintf("the study %q is not complete yet:", sum.Question)}
		for _, x := range faults {
			lines = append(lines, "  "+x.Error())
		}
		return nil, errors.New(strings.Join(lines, "\n"))
	}
	return f, nil
}

// keptShown is how many studies are named to somebody who named none of them.
const keptShown = 8

// kept lists the studies of a notebook, for somebody who named none of them:
// those whose name is most like the one given first.
func kept(ctx context.Context, nb *notebook.Notebook, name string) string {
	all, err := nb.Studies(ctx)
	if err != nil || len(all) == 0 {
		return ""
	}
	slices.SortStableFunc(all, func(a, b notebook.Summary) int {
		return likeness(name, b.Question) - likeness(name, a.Question)
	})
	text := "\n  It holds:"
	for i, s := range all {
		if i == keptShown {
			return text + fmt.Sprintf("\n  … and %d more", len(all)-i)
		}
		text += fmt.Sprintf("\n  %d: %s", s.ID, s.Question)
		if s.Archived {
			text += " (archived)"
		}
	}
	return text
}

// likeness counts the groups of three characters that two names share, which a
// slip of the finger leaves mostly alone.
func likeness(a, b string) (n int) {
	x, y := []rune(strings.ToLower(a)), strings.ToLower(b)
	for i := 0; i+3 <= len(x); i++ {
		if strings.Contains(y, string(x[i:i+3])) {
			n++
		}
	}
	return n
}

// leftShown is how many readings that are not complete are named one by one.
const leftShown = 6

// tell says which readings are not complete yet, and so do not count.
func (f *found) tell(w io.Writer, whole *study.Study) {
	n := len(f.Left)
	if n == 0 || w == nil {
		return
	}
	fmt.Fprintf(w, "railtally: %s not complete yet and %s not count:\n", plural(n, "reading is", "readings are"), map[bool]string{true: "does", false: "do"}[n == 1])
	for i, x := range f.Left {
		if i == leftShown && n > leftShown+1 {
			fmt.Fprintf(w, "  … and %d more\n", n-i)
			return
		}
		sit := whole.Sittings[x.Sitting]
		fmt.Fprint(w, wrap("  ", fmt.Sprintf("%s, %s: %s lacks %s", sit.Name, sit.Steps[x.Step].State, x.Rail, x.Lacks), textWidth))
	}
}

// tally reads the study and tallies it, with advice on what is not settled.
func (s source) tally(ctx context.Context, level float64) (*tally.Tally, error) {
	f, err := s.open(ctx)
	if err != nil {
		return nil, err
	}
	return f.tally(ctx, level)
}

// tally computes what was found, with predictions and with advice.
func (f *found) tally(ctx context.Context, level float64) (*tally.Tally, error) {
	t, err := tally.Run(f.Study, tally.Options{Level: level, Temperature: cooling.Claimed})
	if err != nil {
		return nil, err
	}
	return t, plan.Advise(ctx, t)
}
