package bundle_test

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io"
	"strings"
	"testing"

	"railtally/internal/bundle"
	"railtally/internal/redact"
	"railtally/internal/studyfile"
)

// secrets are what must not be found in what is published, in small letters.
var secrets = []string{"exampletown", "ada sample", "sample and sons", "bo other", "qx-77031", "meter 5521"}

// hidden gives a picture hidden data of every usual kind: in a JPEG an Exif
// segment, a comment and something behind the end; in a PNG a text.
func hidden(t *testing.T) (jpg, pic []byte) {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 16, 16))
	img.Set(3, 4, color.RGBA{200, 10, 10, 255})
	var j, p bytes.Buffer
	if err := jpeg.Encode(&j, img, nil); err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(&p, img); err != nil {
		t.Fatal(err)
	}
	segment := func(marker byte, text string) []byte {
		out := []byte{0xff, marker, 0, 0}
		binary.BigEndian.PutUint16(out[2:], uint16(len(text)+2))
		return append(out, text...)
	}
	jpg = append([]byte{0xff, 0xd8}, segment(0xe1, "Exif\x00\x00MM by Ada Sample in Exampletown")...)
	jpg = append(jpg, segment(0xfe, "taken at Exampletown")...)
	jpg = append(jpg, j.Bytes()[2:]...)
	jpg = append(jpg, "behind the end: Exampletown"...)

	const body = "tEXtAuthor\x00Ada Sample"
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(body)-4))
	chunk = append(chunk, body...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE([]byte(body)))
	const head = 8 + 25 // mark and IHDR
	pic = append(bytes.Clone(p.Bytes()[:head]), chunk...)
	return jpg, append(pic, p.Bytes()[head:]...)
}

// Names, serial numbers and the place are in no file of the bundle, nor in its
// names, nor in the hidden data of photographs; and it still verifies.
func TestWithout(t *testing.T) {
	s, _, err := studyfile.Open("../redact/testdata/marked.yaml")
	if err != nil {
		t.Fatal(err)
	}
	jpg, pic := hidden(t)
	c := bundle.Contents{
		Study: s, Program: program,
		Photos: []bundle.Photo{
			{Board: "Heron Exampletown", Side: "front", Note: "by Ada Sample", Type: "image/jpeg", Bytes: jpg, Pins: []bundle.Pin{{Role: "opening", Rail: "core", Note: "Bo Other's joint"}}},
			{Board: "Heron Exampletown", Side: "back", Type: "image/png", Bytes: pic},
		},
		Traces: []bundle.Trace{{Name: "Exampletown, busy", About: map[string]string{"file": "ada sample.csv"}, Open: func() (io.Reader, error) { return strings.NewReader("PAR1"), nil }}},
	}
	open := packed(t, c)
	for _, w := range []string{"exampletown", "ada sample", "qx-77031"} {
		if !found(t, open, w) {
			t.Fatalf("%s is not found in what is published openly: the search finds nothing", w)
		}
	}
	o := redact.Options{Kinds: []redact.Kind{redact.Names, redact.Serials, redact.Place}, Words: []string{"Exampletown"}}
	without, told, err := c.Without(o)
	if err != nil {
		t.Fatal(err)
	}
	if len(told.Told) == 0 {
		t.Error("nothing is told")
	}
	archive := packed(t, without)
	for _, w := range secrets {
		if found(t, archive, w) {
			t.Errorf("%s is still in the bundle", w)
		}
	}
	v := verify(t, archive, program)
	if !v.Holds || strings.Join(v.Withheld, ",") != "names,serials,place" {
		t.Errorf("%+v", v)
	}
	// Photographs look as they did.
	edit(t, archive, false, func(files map[string]string) {
		for name, was := range map[string][]byte{"photos/01-heron-withheld-front.jpg": jpg, "photos/02-heron-withheld-back.png": pic} {
			if !samePixels(t, []byte(files[name]), was) {
				t.Errorf("%s looks otherwise", name)
			}
		}
	})
}

// Photographs are stripped even where nothing is to be left out.
func TestPhotosAreAlwaysBare(t *testing.T) {
	c := contents(t)
	jpg, _ := hidden(t)
	c.Photos[0].Bytes = jpg
	if archive := packed(t, c); found(t, archive, "exampletown") {
		t.Error("a photograph tells its place")
	}
	c.Photos[0].Bytes = []byte("no picture")
	if err := bundle.Pack(io.Discard, c); err == nil || !strings.Contains(err.Error(), "photo 1: the picture is damaged") {
		t.Errorf("%v", err)
	}
}

// A photograph on the page is another one when it looks otherwise, not when its
// bytes do.
func TestPhotoOnThePage(t *testing.T) {
	archive := packed(t, contents(t))
	other := func(grade int, c color.Color) string {
		img := image.NewRGBA(image.Rect(0, 0, 8, 8))
		draw.Draw(img, img.Bounds(), image.NewUniform(c), image.Point{}, draw.Src)
		var b bytes.Buffer
		if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: grade}); err != nil {
			t.Fatal(err)
		}
		return base64.StdEncoding.EncodeToString(b.Bytes())
	}
	for name, c := range map[string]struct {
		picture string
		holds   bool
	}{"other bytes": {other(40, color.Black), true}, "another": {other(80, color.White), false}} {
		v := verify(t, edit(t, archive, true, func(f map[string]string) {
			const mark = "data:image/jpeg;base64,"
			at := strings.Index(f["report.html"], mark) + len(mark)
			end := at + strings.IndexByte(f["report.html"][at:], '"')
			f["report.html"] = f["report.html"][:at] + c.picture + f["report.html"][end:]
		}), program)
		if v.Holds != c.holds {
			t.Errorf("%s: %+v", name, v.Problems)
		}
	}
}

// What would let a word through is not packed.
func TestFindStopsPacking(t *testing.T) {
	c := contents(t)
	c.Find = func(content []byte) []string {
		if bytes.Contains(content, []byte("core while busy")) {
			return []string{"core while busy"}
		}
		return nil
	}
	if err := bundle.Pack(io.Discard, c); err == nil || !strings.Contains(err.Error(), "traces.json would hold what is to be left out") {
		t.Errorf("%v", err)
	}
}

// found looks for a word, in capital or small letters, in the archive's bytes,
// and in every file of it unpacked.
func found(t *testing.T, archive []byte, word string) bool {
	t.Helper()
	in := func(text string) bool { return strings.Contains(strings.ToLower(text), word) }
	any := in(string(archive))
	edit(t, archive, false, func(files map[string]string) {
		for name, text := range files {
			any = any || in(name) || in(text)
		}
	})
	return any
}

func samePixels(t *testing.T, a, b []byte) bool {
	t.Helper()
	x, _, err := image.Decode(bytes.NewReader(a))
	if err != nil {
		t.Fatal(err)
	}
	y, _, err := image.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	if x.Bounds() != y.Bounds() {
		return false
	}
	for i := range x.Bounds().Dx() {
		for j := range x.Bounds().Dy() {
			if x.At(i, j) != y.At(i, j) {
				return false
			}
		}
	}
	return true
}
