package bundle_test

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"image"
	"image/jpeg"
	"io"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"railtally/internal/bundle"
	"railtally/internal/example"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/table"
)

const program = "railtally 1.0"

func heron(t testing.TB) *study.Study {
	t.Helper()
	s, _, err := studyfile.Open("testdata/heron.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func packed(t testing.TB, c bundle.Contents) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := bundle.Pack(&b, c); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func open(t testing.TB, archive []byte) *bundle.Bundle {
	t.Helper()
	b, err := bundle.Open("heron.zip", bytes.NewReader(archive), int64(len(archive)))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func verify(t testing.TB, archive []byte, by string) *bundle.Verification {
	t.Helper()
	v, err := open(t, archive).Verify(by)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// contents has a photograph and a trace besides the study.
func contents(t testing.TB) bundle.Contents {
	t.Helper()
	var photo bytes.Buffer
	if err := jpeg.Encode(&photo, image.NewRGBA(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	return bundle.Contents{
		Study: heron(t), Program: program,
		Photos: []bundle.Photo{{Board: "Heron", Side: "front", Type: "image/jpeg", Bytes: photo.Bytes(), Pins: []bundle.Pin{{Role: "opening", Rail: "core", X: 0.5, Y: 0.25}}}},
		Traces: []bundle.Trace{{Name: "core while busy", Open: func() (io.Reader, error) { return strings.NewReader("PAR1 as it were PAR1"), nil }}},
	}
}

// edit unpacks an archive by the standard library, changes its files, and packs
// them again as somebody would who knows the form: with a manifest that fits
// when it is mended.
func edit(t testing.TB, archive []byte, mend bool, change func(files map[string]string)) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(text)
	}
	change(files)
	if mend {
		files["manifest.json"] = mended(t, files)
	}
	return zipped(t, files)
}

func mended(t testing.TB, files map[string]string) string {
	t.Helper()
	var m bundle.Manifest
	if err := json.Unmarshal([]byte(files["manifest.json"]), &m); err != nil {
		t.Fatal(err)
	}
	m.Files = nil
	for _, n := range slices.Sorted(maps.Keys(files)) {
		if n != "manifest.json" {
			sum := sha256.Sum256([]byte(files[n]))
			m.Files = append(m.Files, bundle.Entry{Name: n, Size: int64(len(files[n])), SHA256: hex.EncodeToString(sum[:])})
		}
	}
	text, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func zipped(t testing.TB, files map[string]string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, n := range slices.Sorted(maps.Keys(files)) {
		f, err := w.Create(n)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(f, files[n]); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// change replaces the first place where old stands in a file.
func change(t testing.TB, files map[string]string, name, old, by string) {
	t.Helper()
	if !strings.Contains(files[name], old) {
		t.Fatalf("%s does not contain %q", name, old)
	}
	files[name] = strings.Replace(files[name], old, by, 1)
}

func kinds(v *bundle.Verification) string {
	seen := map[string]bool{}
	for _, p := range v.Problems {
		seen[string(p.Kind)] = true
	}
	return strings.Join(slices.Sorted(maps.Keys(seen)), ", ")
}

func TestSameStudySameBytes(t *testing.T) {
	first := packed(t, contents(t))
	time.Sleep(2 * time.Millisecond) // nothing of it may show in the bytes
	if !bytes.Equal(first, packed(t, contents(t))) {
		t.Error("the same study gives two archives")
	}
	// Read from the bundle and packed again, it is the same too.
	c := contents(t)
	var err error
	if c.Study, err = open(t, first).TrueStudy(); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first, packed(t, c)) {
		t.Error("the bundle's own study gives another archive")
	}
}

func TestWorkedExampleVerifies(t *testing.T) {
	s, _, err := studyfile.Read("otter.yaml", example.New(example.Seed).Text)
	if err != nil {
		t.Fatal(err)
	}
	archive := packed(t, bundle.Contents{Study: s, Program: program})
	v := verify(t, archive, program)
	if !v.Holds || v.PageCompared != "whole" || v.Readings < 100 || v.Figures < 100 {
		t.Errorf("%+v", v)
	}
	if v := verify(t, archive, "railtally 2.0"); !v.Holds || v.PageCompared != "figures" {
		t.Errorf("by another version: %+v", v)
	}
}

func TestVerifyHolds(t *testing.T) {
	archive := packed(t, contents(t))
	v := verify(t, archive, program)
	if !v.Holds {
		t.Errorf("%+v", v.Problems)
	}
	if want := len(table.Readings(heron(t))); v.Readings != want {
		t.Errorf("%d readings compared, want %d", v.Readings, want)
	}
	// What another program packs again, unchanged, holds as well.
	if v := verify(t, edit(t, archive, false, func(map[string]string) {}), program); !v.Holds {
		t.Errorf("packed again: %+v", v.Problems)
	}
}

var someDigit = regexp.MustCompile(`\d`)

// Any one digit of any one reading: changed in the study with the manifest
// mended, the reading is named; changed in the study and the table of readings
// alike, the figures are, unless none of them changes in a stated digit.
func TestEveryDigitOfEveryReading(t *testing.T) {
	archive := packed(t, contents(t))
	for _, r := range table.Readings(heron(t)) {
		written := r.Written()
		at := someDigit.FindAllStringIndex(written, -1)
		last := at[len(at)-1][0]
		digit := byte('0' + (written[last]-'0'+1)%10)
		other := written[:last] + string(digit) + written[last+1:]
		v := verify(t, edit(t, archive, true, func(f map[string]string) { change(t, f, "study.yaml", written, other) }), program)
		named := false
		for _, p := range v.Problems {
			named = named || p.Kind == bundle.ReadingChanged && p.Name == r.Place() && p.Published == written && p.Recomputed == other
		}
		if v.Holds || !named {
			t.Errorf("%s: %s changed to %s: %s", r.Place(), written, other, kinds(v))
		}
	}
}

// A changed reading is named with the figures it goes into, and no others.
func TestReadingIsFollowedToItsFigures(t *testing.T) {
	archive := packed(t, contents(t))
	v := verify(t, edit(t, archive, true, func(f map[string]string) { change(t, f, "study.yaml", "151.8 mV", "161.8 mV") }), program)
	var p bundle.Problem
	for _, x := range v.Problems {
		if x.Kind == bundle.ReadingChanged {
			p = x
		}
	}
	if p.Name != "Heron 2026-05-09, step 2, idle: current of core" {
		t.Fatalf("%+v", v.Problems)
	}
	for _, want := range []string{"current Heron idle core", "power Heron idle core", "total Heron idle", "difference Heron busy against Heron idle"} {
		if !slices.Contains(p.Feeds, want) {
			t.Errorf("it does not say that the reading goes into %s: %q", want, p.Feeds)
		}
	}
	for _, f := range p.Feeds {
		if strings.HasPrefix(f, "total Heron busy") || strings.Contains(f, "idle io") || strings.HasPrefix(f, "voltage") {
			t.Errorf("%s does not depend on the reading", f)
		}
	}
	for _, x := range v.Problems {
		if x.Kind == bundle.FigureChanged && x.Name == "current Heron idle core" && (x.Published == x.Recomputed || x.Published == "") {
			t.Errorf("%+v", x)
		}
	}
}

// What was changed is named, whatever it is, and nothing else is.
func TestChangesAreNamed(t *testing.T) {
	archive := packed(t, contents(t))
	for name, c := range map[string]struct {
		mend    bool
		by      string // empty: the program that packed
		change  func(files map[string]string)
		kinds   string
		mention string
	}{
		"photo": {false, "", func(f map[string]string) { f["photos/01-heron-front.jpg"] += "x" }, "file changed", "photos/01-heron-front.jpg was changed"},
		"trace": {false, "", func(f map[string]string) { change(t, f, "traces/01-core-while-busy.parquet", "were", "wear") }, "file changed", "traces/01-core"},
		"lost":  {false, "", func(f map[string]string) { delete(f, "tables/rails.csv") }, "file missing", "tables/rails.csv is missing"},
		"added": {false, "", func(f map[string]string) { f["extra.txt"] = "x" }, "file added", "extra.txt was added"},
		"figure": {true, "", func(f map[string]string) { change(t, f, "figures.json", "2.558 ± 0.071 W", "2.458 ± 0.071 W") }, "figure changed",
			"total Heron busy is published as 2.458 ± 0.071 W; from the readings follows 2.558 ± 0.071 W."},
		"figure's value": {true, "", func(f map[string]string) { change(t, f, "figures.json", `"value": 1.88`, `"value": 1.89`) }, "figure changed", "total Heron idle is stated as it follows"},
		"figure left out": {true, "", func(f map[string]string) {
			f["figures.json"] = strings.Replace(f["figures.json"], `"name": "total Heron busy"`, `"name": "total Heron lazy"`, 1)
		}, "figure changed", "total Heron lazy is published as 2.558 ± 0.071 W; the study has no such figure."},
		"page":                   {true, "", func(f map[string]string) { change(t, f, "report.html", "2.558", "2.458") }, "page changed", "2.458"},
		"page, another version":  {true, "railtally 2.0", func(f map[string]string) { change(t, f, "report.html", "2.558", "2.458") }, "page changed", "2.458 ± 0.071"},
		"sentence of the page":   {true, "", func(f map[string]string) { change(t, f, "report.html", "the chip draws less", "the chip draws more") }, "page changed", "“"},
		"table":                  {true, "", func(f map[string]string) { change(t, f, "tables/rails.csv", "1.003,", "1.004,") }, "table changed", "tables/rails.csv does not follow"},
		"table, another version": {true, "railtally 2.0", func(f map[string]string) { change(t, f, "tables/rails.csv", "1.003,", "1.004,") }, "table changed", "published 1.004, recomputed 1.003"},
		"parquet":                {true, "", func(f map[string]string) { f["tables/readings.parquet"] += "x" }, "table changed", "tables/readings.parquet"},
		"results for programs": {true, "", func(f map[string]string) {
			change(t, f, "tally.json", `"verdict": "resolved"`, `"verdict": "not resolved"`)
		}, "table changed", "verdict: published not resolved, recomputed resolved"},
		"row of the readings":     {true, "", func(f map[string]string) { change(t, f, "tables/readings.csv", "12..14 mV", "12..15 mV") }, "reading changed", "tables/readings.csv says 12..15 mV"},
		"study cannot be read":    {true, "", func(f map[string]string) { f["study.yaml"] = "study: [" }, "unreadable", "nothing can be computed"},
		"readings cannot be read": {true, "", func(f map[string]string) { f["tables/readings.csv"] = "a,b\n\"" }, "unreadable", "table of readings cannot be read"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			by := program
			if c.by != "" {
				by = c.by
			}
			v := verify(t, edit(t, archive, c.mend, c.change), by)
			var texts []string
			for _, p := range v.Problems {
				texts = append(texts, p.Text)
			}
			if v.Holds || kinds(v) != c.kinds {
				t.Errorf("%s, want %s\n%s", kinds(v), c.kinds, strings.Join(texts, "\n"))
			}
			if !strings.Contains(strings.Join(texts, "\n"), c.mention) {
				t.Errorf("%q is not mentioned in\n%s", c.mention, strings.Join(texts, "\n"))
			}
		})
	}
}

// What the instruments or the taps say is no reading; its figures are named.
func TestChangedInstrument(t *testing.T) {
	archive := packed(t, contents(t))
	v := verify(t, edit(t, archive, true, func(f map[string]string) { change(t, f, "study.yaml", "±(1.5 %", "±(1.0 %") }), program)
	if v.Holds || !strings.Contains(kinds(v), "figure changed") || strings.Contains(kinds(v), "reading changed") {
		t.Errorf("%s", kinds(v))
	}
}

func TestUnpack(t *testing.T) {
	archive := packed(t, contents(t))
	b := open(t, archive)
	dir := filepath.Join(t.TempDir(), "a", "heron")
	if err := b.Unpack(dir); err != nil {
		t.Fatal(err)
	}
	for _, n := range b.Names() {
		want := ""
		edit(t, archive, false, func(f map[string]string) { want = f[n] })
		got, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(n)))
		if err != nil || string(got) != want {
			t.Errorf("%s: %v", n, err)
		}
	}
	if err := b.Unpack(dir); err == nil || !strings.Contains(err.Error(), "not empty") {
		t.Errorf("a second time: %v", err)
	}
	left, err := os.ReadDir(filepath.Dir(dir))
	if err != nil || len(left) != 1 {
		t.Errorf("left behind: %v %v", left, err)
	}
}
