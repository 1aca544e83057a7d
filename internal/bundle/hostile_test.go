package bundle_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"railtally/internal/bundle"
)

// raw packs files in order, names as they are given.
func raw(t testing.TB, heads ...*zip.FileHeader) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, h := range heads {
		f, err := w.CreateHeader(h)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasSuffix(h.Name, "/") {
			if _, err := io.WriteString(f, "x"); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func named(names ...string) []*zip.FileHeader {
	var out []*zip.FileHeader
	for _, n := range names {
		out = append(out, &zip.FileHeader{Name: n, NonUTF8: false})
	}
	return out
}

func withMode(name string, mode fs.FileMode) *zip.FileHeader {
	h := &zip.FileHeader{Name: name}
	h.SetMode(mode)
	return h
}

// Whatever could do harm where it is unpacked is refused before anything of it
// is read; the message says what it is.
func TestHostileNames(t *testing.T) {
	for name, want := range map[string]string{
		"../evil":                      "leaves its folder",
		"a/../../evil":                 "leaves its folder",
		"a/./b":                        "leaves its folder",
		"a//b":                         "leaves its folder",
		"/etc/passwd":                  "begins at the root",
		"c:/evil":                      "begins with a drive",
		"c:evil":                       "begins with a drive",
		`a\b`:                          "has a backslash",
		`..\evil`:                      "has a backslash",
		"con":                          "device",
		"a/nul.txt":                    "device",
		"com1.yaml":                    "device",
		"lpt9":                         "device",
		"README.md":                    "capital letter",
		"study.yaml ":                  "which no bundle has",
		"ab:c":                         "which no bundle has",
		"a\x00b":                       "which no bundle has",
		"stüdy.yaml":                   "which no bundle has",
		"a\u202eb":                     "which no bundle has",
		"a.":                           "point",
		".hidden":                      "point",
		"a/.git/config":                "point",
		strings.Repeat("a", 200):       "more than 160 bytes",
		strings.Repeat("a/", 100):      "more than 160 bytes",
		"a\xffb":                       "not UTF-8",
		"":                             "no name",
		"photos/" + "..":               "leaves its folder",
		"tables/../study.yaml":         "leaves its folder",
		"tables/" + `..\..\study.yaml`: "has a backslash",
	} {
		archive := raw(t, named(name)...)
		if _, err := bundle.Open("x.zip", bytes.NewReader(archive), int64(len(archive))); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", name, err, want)
		}
	}
}

func TestHostileArchives(t *testing.T) {
	good := packed(t, contents(t))
	end := len(good) - 22
	patched := func(at int, by ...byte) []byte {
		out := bytes.Clone(good)
		copy(out[at:], by)
		return out
	}
	many := make([]string, bundle.MaxFiles+1)
	for i := range many {
		many[i] = fmt.Sprintf("f%d", i)
	}
	encrypted := raw(t, &zip.FileHeader{Name: "a"})
	directory := bytes.LastIndex(encrypted, []byte("PK\x01\x02"))
	encrypted[directory+8] |= 1
	bzipped := raw(t, &zip.FileHeader{Name: "a"})
	bzipped[bytes.LastIndex(bzipped, []byte("PK\x01\x02"))+10] = 12
	first := bytes.Index(good, []byte("PK\x03\x04"))
	localLiar := bytes.Clone(good)
	copy(localLiar[first+30:], "manifest.jsox")

	for name, c := range map[string]struct {
		archive []byte
		want    string
	}{
		"empty":                {nil, "too short"},
		"text":                 {[]byte(strings.Repeat("not a zip ", 10)), "no zip archive"},
		"cut":                  {good[:len(good)-1], "no zip archive"},
		"something behind":     {append(bytes.Clone(good), "#!/bin/sh"...), "no zip archive"},
		"something before":     {append([]byte("#!/bin/sh\n"), good...), "does not stand where"},
		"in parts":             {patched(end+4, 1), "several parts"},
		"comment":              {append(patched(end+20, 1), 'x'), "no zip archive"},
		"huge directory":       {patched(end+12, 0xff, 0xff, 0xff, 0x7f), "too large"},
		"shifted directory":    {patched(end+16, 1, 0, 0, 0), "does not stand where"},
		"too many files":       {raw(t, named(many...)...), "more than 4096 files"},
		"twice":                {raw(t, named("a", "a")...), `"a" is there twice`},
		"link":                 {raw(t, withMode("a", 0o777|fs.ModeSymlink)), "link or a device"},
		"device":               {raw(t, withMode("a", fs.ModeDevice)), "link or a device"},
		"encrypted":            {encrypted, "encrypted"},
		"other method":         {bzipped, "method 12"},
		"file and folder":      {raw(t, named("a", "a/b")...), "file and a folder"},
		"no manifest":          {raw(t, named("a")...), "manifest.json is missing"},
		"two names":            {localLiar, "another name at its place"},
		"manifest of nonsense": {raw(t, named("manifest.json")...), "manifest.json"},
		"bomb":                 {bomb(t), "200 times its size"},
		"oversize":             {oversize(t), "has more than"},
		"overlap":              {overlapping(t), "lies within another"},
	} {
		if _, err := bundle.Open("x.zip", bytes.NewReader(c.archive), int64(len(c.archive))); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

// bomb is an archive in which 32 MiB of nothing take 32 KiB.
func bomb(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	f, err := w.Create("zeros")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write(make([]byte, 32<<20)); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// oversize says of a file that it has more bytes than are taken.
func oversize(t testing.TB) []byte {
	t.Helper()
	archive := raw(t, &zip.FileHeader{Name: "a", Method: zip.Store})
	binary.LittleEndian.PutUint32(archive[bytes.LastIndex(archive, []byte("PK\x01\x02"))+24:], bundle.MaxText+1)
	return archive
}

// overlapping gives two names of the directory the same bytes, as the bombs do
// that need no nesting (D. Fifield, 2019).
func overlapping(t testing.TB) []byte {
	t.Helper()
	archive := raw(t, named("a", "b")...)
	second := bytes.LastIndex(archive, []byte("PK\x01\x02"))
	binary.LittleEndian.PutUint32(archive[second+42:], 0)
	return archive
}

// A manifest that makes no sense is refused.
func TestHostileManifests(t *testing.T) {
	good := packed(t, contents(t))
	for name, c := range map[string]struct{ old, by, want string }{
		"later version": {"railtally bundle 1", "railtally bundle 2", "later version"},
		"other form":    {"railtally bundle 1", "something else", "format"},
		"bad name":      {`"about.txt"`, `"../about.txt"`, "leaves its folder"},
		"twice":         {`"about.txt"`, `"study.yaml"`, "twice"},
		"bad sum":       {`"sha256": "`, `"sha256": "xyz`, "no sound size and SHA-256"},
		"no study":      {`"study.yaml"`, `"stud.yaml"`, "names no study.yaml"},
	} {
		archive := edit(t, good, false, func(f map[string]string) { change(t, f, "manifest.json", c.old, c.by) })
		_, err := bundle.Open("x.zip", bytes.NewReader(archive), int64(len(archive)))
		var refused *bundle.RefusedError
		if !errors.As(err, &refused) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

// A file whose bytes are damaged is named; verifying goes on.
func TestDamagedFile(t *testing.T) {
	archive := packed(t, contents(t))
	at := bytes.Index(archive, []byte("PAR1 as it were"))
	archive[at+6] ^= 1
	v := verify(t, archive, program)
	if v.Holds || kinds(v) != "file changed" || !strings.Contains(v.Problems[0].Text, "is damaged") {
		t.Errorf("%+v", v.Problems)
	}
	if err := open(t, archive).Unpack(filepath.Join(t.TempDir(), "x")); err == nil {
		t.Error("a damaged archive is unpacked")
	}
}

func TestOpenFileRefuses(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "story.zip")
	if err := os.WriteFile(text, []byte("Once upon a time there was no archive."), 0o644); err != nil {
		t.Fatal(err)
	}
	var refused *bundle.RefusedError
	if _, _, err := bundle.OpenFile(text); !errors.As(err, &refused) {
		t.Errorf("%v", err)
	}
	if _, _, err := bundle.OpenFile(dir); !errors.As(err, &refused) {
		t.Errorf("%v", err)
	}
	if _, _, err := bundle.OpenFile(filepath.Join(dir, "none.zip")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v", err)
	}
}

// Nothing that is read makes the reader fall over, and what it lets through has
// only names that are safe, each once.
func FuzzOpen(f *testing.F) {
	files := map[string]string{"study.yaml": "study: Why?\n", "about.txt": "x", "manifest.json": `{"format":"railtally bundle 1"}`}
	files["manifest.json"] = mended(f, files)
	f.Add(zipped(f, files))
	f.Add(raw(f, named("../a", "b/")...))
	f.Add(raw(f, named("a", "a/b", "c")...))
	f.Add(overlapping(f))
	f.Fuzz(func(t *testing.T, archive []byte) {
		b, err := bundle.Open("x.zip", bytes.NewReader(archive), int64(len(archive)))
		if err != nil {
			return
		}
		seen := map[string]bool{}
		for _, n := range b.Names() {
			if seen[n] || !filepath.IsLocal(n) || n != strings.ToLower(n) || strings.ContainsAny(n, `\:`) {
				t.Fatalf("%q is let through", n)
			}
			seen[n] = true
			if text, err := b.Read(n); err == nil && len(text) > bundle.MaxText {
				t.Fatalf("%s has %d bytes", n, len(text))
			}
		}
		if _, err := b.TrueStudy(); err != nil {
			return
		}
	})
}
