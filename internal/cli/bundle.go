package cli

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"railtally/internal/bundle"
	"railtally/internal/phrase"
	"railtally/internal/redact"
	"railtally/internal/report"
)

// packFlags are what goes into a bundle.
type packFlags struct {
	to, notebook   string
	without, words []string
	key            string
	page           reportFlags // only how the page is set
}

func newPack() *cobra.Command {
	var f packFlags
	c := &cobra.Command{
		Use:   "pack STUDY",
		Short: "one file that others can check: readings, page, every figure",
		Long: `pack writes a study as a bundle, a zip archive that others can check: the
study's text, its readings and results as tables, every published figure as it is
stated, the page, and a manifest with the SHA-256 of each file. Of a study in the
notebook its photographs go in too.

The same study packed by the same program gives the same bytes. 'railtally verify'
computes a bundle anew and says whether each figure follows from the readings.

With --without things are left out of every file before it is packed: names (who
worked and who calibrated), serials (serial numbers), place (the words given with
--word), notes. A name or number stays told apart by an alias, so that a reader
sees what two sittings shared. What was replaced outside its own field is listed;
a file in which a word still stood would not be packed.`,
		Example: `  railtally pack otter.yaml -o otter.zip
  railtally pack otter.yaml -o otter.zip --without names,serials
  railtally pack otter.yaml -o otter.zip --without place --word Exampletown
  railtally pack "bridge chip" -o otter.zip`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runPack(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], f)
		},
	}
	notebookFlag(c, &f.notebook)
	fl := c.Flags()
	fl.StringVarP(&f.to, "output", "o", "", "the file to write")
	fl.StringVar(&f.page.length, "length", "full", "of the page: full, or short without the proof")
	fl.StringVar(&f.page.language, "language", "en", "of the page: "+strings.Join(phrase.Tags(), ", "))
	fl.StringSliceVar(&f.page.sections, "sections", nil, "of the page: "+strings.Join(report.SectionNames(), ", "))
	fl.StringSliceVar(&f.without, "without", nil, "what is left out: names, serials, place, notes")
	fl.StringArrayVar(&f.words, "word", nil, "a word, or several, left out wherever it stands; again for others")
	fl.StringVar(&f.key, "alias-key", "", "a file with a secret of yours, made when missing: aliases are the same in all studies packed with it")
	return c
}

func runPack(ctx context.Context, out, errOut io.Writer, name string, f packFlags) error {
	if f.to == "" {
		return usage{errors.New("pack: name the file to write with -o")}
	}
	o, err := f.redaction()
	if err != nil {
		return err
	}
	c, done, err := contents(ctx, source{name, f.notebook, errOut})
	if err != nil {
		return err
	}
	defer done()
	if c.Page, err = f.choice(c.Page); err != nil {
		return err
	}
	var left *redact.Result
	if len(o.Kinds)+len(o.Words) > 0 {
		if c, left, err = c.Without(o); err != nil {
			return fmt.Errorf("pack: %w", err)
		}
	}
	if err := writeFile(f.to, func(w io.Writer) error { return bundle.Pack(w, c) }); err != nil {
		return err
	}
	b, file, err := bundle.OpenFile(f.to)
	if err != nil {
		return err
	}
	defer file.Close()
	fmt.Fprintf(out, "packed: %s, %d files\n", f.to, len(b.Names()))
	if n := len(c.Unfinished); n > 0 {
		fmt.Fprint(out, wrap("  ", plural(n, "rail that was not read to the end", "rails that were not read to the end")+" did not go in.", textWidth))
	}
	if left != nil {
		fmt.Fprint(out, wrap("  ", "left out: "+strings.Join(left.Kinds, ", "), textWidth))
		for _, told := range left.Told {
			fmt.Fprint(out, wrap("  replaced  ", told, textWidth))
		}
	}
	fmt.Fprintf(out, "  Whoever has it can check it with 'railtally verify %s'.\n", filepath.Base(f.to))
	return nil
}

// contents gathers what is packed of a study; done is called when it is packed.
func contents(ctx context.Context, s source) (c bundle.Contents, done func() error, err error) {
	done = func() error { return nil }
	if bundle.IsArchive(s.name) {
		b, file, err := bundle.OpenFile(s.name)
		if err != nil {
			return c, done, err
		}
		if c, err = b.Contents(); err != nil {
			file.Close()
			return c, done, err
		}
		c.Program = program()
		return c, file.Close, nil
	}
	from, err := s.open(ctx)
	if err != nil {
		return c, done, err
	}
	c.Study = from.Study
	if from.Kept != 0 {
		nb, err := openNotebook(ctx, s.notebook, true)
		if err != nil {
			return c, done, err
		}
		done = nb.Close
		if c, err = bundle.FromNotebook(ctx, nb, from.Kept); err != nil {
			nb.Close()
			return c, done, hinted(err)
		}
	}
	c.Program = program()
	return c, done, nil
}

// choice is how the page is set; in a bundle that is packed again, as before
// where nothing else is asked for.
func (f packFlags) choice(before bundle.Page) (bundle.Page, error) {
	opt, err := f.page.options()
	if err != nil {
		return before, err
	}
	if opt.Length != report.Full {
		before.Length = string(opt.Length)
	}
	if tag := opt.Language.Tag(); tag != phrase.English().Tag() {
		before.Language = tag
	}
	if len(opt.Sections) > 0 {
		before.Sections = opt.Sections
	}
	return before, nil
}

// redaction reads what is to be left out.
func (f packFlags) redaction() (redact.Options, error) {
	o := redact.Options{Words: f.words}
	for _, w := range f.without {
		k := redact.Kind(strings.TrimSpace(w))
		if !slices.Contains(redact.Kinds, k) {
			return o, usage{fmt.Errorf("--without %s: names, serials, place and notes are accepted", w)}
		}
		o.Kinds = append(o.Kinds, k)
	}
	if slices.Contains(o.Kinds, redact.Place) && len(o.Words) == 0 {
		return o, usage{errors.New("--without place: a study has no field for its place, so name the words that tell it with --word")}
	}
	if f.key == "" {
		return o, nil
	}
	var err error
	o.Key, err = aliasKey(f.key)
	return o, err
}

// aliasKey reads the secret that aliases are made with, or makes one.
func aliasKey(path string) ([]byte, error) {
	const least = 16
	key, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		key = []byte(rand.Text() + "\n")
		return key, os.WriteFile(path, key, 0o600)
	case err != nil:
		return nil, err
	case len(key) < least || len(key) > 1<<16:
		return nil, fmt.Errorf("--alias-key %s: a file of %d bytes to 64 KiB that nobody else has is accepted", path, least)
	}
	return key, nil
}

func newUnpack() *cobra.Command {
	return &cobra.Command{
		Use:   "unpack FILE [FOLDER]",
		Short: "write the files of a bundle to a folder",
		Long: `unpack writes the files of a bundle to a folder, named like the bundle unless
another is named. The folder must not exist yet, or be empty. An archive that
could write elsewhere, or that is made to fill the disk, is refused.`,
		Example: `  railtally unpack otter.zip
  railtally unpack otter.zip /tmp/otter`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := strings.TrimSuffix(filepath.Base(args[0]), filepath.Ext(args[0]))
			if len(args) == 2 {
				dir = args[1]
			}
			b, file, err := bundle.OpenFile(args[0])
			if err != nil {
				return err
			}
			defer file.Close()
			if err := b.Unpack(dir); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "unpacked: %d files to %s\n", len(b.Names()), dir)
			return nil
		},
	}
}

func newVerify() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "verify FILE",
		Short: "compute a bundle anew: does every published figure follow?",
		Long: `verify looks into a bundle that somebody published and trusts nothing in it. It
compares every file with the manifest, computes everything anew from the
readings, and compares every published figure to the last digit, the tables and
the page. It names a changed file, a changed reading with the figures it goes
into, and a changed figure. It needs nothing but this program.

What it cannot tell is whether the readings were taken as they are written.

The exit code is 3 when something does not follow.`,
		Example: `  railtally verify otter.zip
  railtally verify otter.zip --json | jq '.problems[]'`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return runVerify(cmd.OutOrStdout(), args[0], asJSON)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

func runVerify(out io.Writer, path string, asJSON bool) error {
	b, file, err := bundle.OpenFile(path)
	var refused *bundle.RefusedError
	if errors.As(err, &refused) {
		return unmet{err}
	}
	if err != nil {
		return err
	}
	defer file.Close()
	v, err := b.Verify(program())
	if err != nil {
		return err
	}
	if asJSON {
		if err := writeJSON(out, v); err != nil {
			return err
		}
	} else {
		printVerification(out, v)
	}
	if !v.Holds {
		return unmet{fmt.Errorf("%s does not verify", path)}
	}
	return nil
}

func printVerification(w io.Writer, v *bundle.Verification) {
	fmt.Fprint(w, wrap("", v.Study, textWidth))
	fmt.Fprint(w, wrap("  ", fmt.Sprintf("packed by %s", v.PackedBy), textWidth))
	if len(v.Withheld) > 0 {
		fmt.Fprint(w, wrap("  ", "left out before publishing: "+strings.Join(v.Withheld, ", "), textWidth))
	}
	if v.Holds {
		heading(w, "It verifies")
	} else {
		heading(w, "It does not verify")
	}
	page := "the page says what the program would say"
	if v.PageCompared == "figures" {
		page = "every figure with a tolerance on the page is among those that follow"
	}
	wrong := map[bundle.Kind]int{}
	for _, p := range v.Problems {
		wrong[p.Kind]++
	}
	line := func(what, holds string, kinds ...bundle.Kind) {
		n := 0
		for _, k := range kinds {
			n += wrong[k]
		}
		if n > 0 {
			holds = plural(n, "problem", "problems") + ", see below"
		}
		fmt.Fprint(w, wrap(fmt.Sprintf("  %-9s ", what), holds, textWidth))
	}
	line("files", fmt.Sprintf("%d are as the manifest says", v.Files), bundle.FileChanged, bundle.FileMissing, bundle.FileAdded)
	if wrong[bundle.Unreadable] == 0 {
		line("readings", fmt.Sprintf("%d stand alike in the study and in the table of readings", v.Readings), bundle.ReadingChanged)
		line("figures", fmt.Sprintf("%d follow from the readings, to the last digit", v.Figures), bundle.FigureChanged)
		line("tables", fmt.Sprintf("%d follow", v.Tables), bundle.TableChanged)
		line("page", page, bundle.PageChanged)
	}
	kind := bundle.Kind("")
	shown := 0
	for _, p := range v.Problems {
		if p.Kind != kind {
			kind, shown = p.Kind, 0
			heading(w, "%s", capitalised(string(kind)))
		}
		if shown++; shown > problemsShown {
			continue
		}
		fmt.Fprint(w, wrap("  ", p.Text, textWidth))
		if shown == problemsShown && wrong[kind] > shown {
			fmt.Fprintf(w, "  … and %d more; --json lists them all\n", wrong[kind]-shown)
		}
	}
	for _, n := range v.Notes {
		fmt.Fprint(w, wrap("  note  ", n, textWidth))
	}
}

// problemsShown is how many problems of a kind are printed.
const problemsShown = 12

// capitalised begins a text with a capital letter.
func capitalised(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[n:]
}
