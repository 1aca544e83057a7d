package web

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"railtally/internal/notebook"
)

// exif makes an Exif segment with an orientation and a secret, as a camera would
// (Exif 2.3, 4.5; TIFF 6.0).
func exif(orientation uint16, secret string) []byte {
	var t bytes.Buffer
	t.WriteString("MM\x00*")
	put := func(vs ...any) {
		for _, v := range vs {
			_ = binary.Write(&t, binary.BigEndian, v) // a buffer takes everything
		}
	}
	put(uint32(8), uint16(2))
	put(uint16(0x0112), uint16(3), uint32(1), orientation, uint16(0))
	put(uint16(0x010e), uint16(2), uint32(len(secret)), uint32(8+2+24+4))
	put(uint32(0))
	t.WriteString(secret)
	body := append([]byte("Exif\x00\x00"), t.Bytes()...)
	head := []byte{0xff, 0xe1, 0, 0}
	binary.BigEndian.PutUint16(head[2:], uint16(len(body)+2))
	return append(head, body...)
}

// withExif puts a segment behind the start of a JPEG.
func withExif(src, segment []byte) []byte {
	return append(append(append([]byte{}, src[:2]...), segment...), src[2:]...)
}

// quarters is a picture whose quarters are red, green, blue and white, from the
// upper left by rows.
func quarters(w, h int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := [...]color.RGBA{{200, 0, 0, 255}, {0, 200, 0, 255}, {0, 0, 200, 255}, {250, 250, 250, 255}}[2*(2*y/h)+2*x/w]
			img.Set(x, y, c)
		}
	}
	return img
}

func jpegOf(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// corner names the colour of a quarter.
func corner(img image.Image, right, low bool) string {
	b := img.Bounds()
	x, y := b.Dx()/4, b.Dy()/4
	if right {
		x = b.Dx() * 3 / 4
	}
	if low {
		y = b.Dy() * 3 / 4
	}
	r, g, bl, _ := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
	switch {
	case r > 0x9000 && g > 0x9000:
		return "white"
	case r > 0x9000:
		return "red"
	case g > 0x9000:
		return "green"
	case bl > 0x9000:
		return "blue"
	}
	return "none"
}

// The eight orientations of Exif 2.3, table of tag 0x0112: where the 0th row and
// the 0th column of the stored picture are to be seen. Stored here is red green /
// blue white.
func TestPhotoIsTurned(t *testing.T) {
	for o, want := range map[uint16]string{
		1: "red green blue white", // row at the top, column at the left
		2: "green red white blue", // top, right
		3: "white blue green red", // bottom, right
		4: "blue white red green", // bottom, left
		5: "red blue green white", // left, top
		6: "blue red white green", // right, top
		7: "white green blue red", // right, bottom
		8: "green white red blue", // left, bottom
	} {
		src := withExif(jpegOf(t, quarters(80, 40)), exif(o, "at 51.5 north"))
		p, err := cleanPhoto(src)
		if err != nil {
			t.Fatal(err)
		}
		img, err := jpeg.Decode(bytes.NewReader(p.Bytes))
		if err != nil {
			t.Fatal(err)
		}
		got := strings.Join([]string{corner(img, false, false), corner(img, true, false), corner(img, false, true), corner(img, true, true)}, " ")
		w, h := 80, 40
		if o >= 5 {
			w, h = 40, 80
		}
		if got != want || p.Width != w || p.Height != h {
			t.Errorf("orientation %d: %s, %d × %d; want %s, %d × %d", o, got, p.Width, p.Height, want, w, h)
		}
		if bytes.Contains(p.Bytes, []byte("north")) || bytes.Contains(p.Bytes, []byte("Exif")) {
			t.Errorf("orientation %d: the place is still in the picture", o)
		}
	}
}

// What is no picture, or too large a one, is refused before its pixels are made.
func TestPhotoRefused(t *testing.T) {
	bomb := func() []byte { // a PNG that says it has 50000 × 50000 pixels (PNG, 11.2.2)
		var b bytes.Buffer
		if err := png.Encode(&b, quarters(2, 2)); err != nil {
			t.Fatal(err)
		}
		src := b.Bytes()
		binary.BigEndian.PutUint32(src[16:], 50000)
		binary.BigEndian.PutUint32(src[20:], 50000)
		binary.BigEndian.PutUint32(src[29:], crcPNG(src[12:29]))
		return src
	}
	whole := jpegOf(t, quarters(160, 160))
	for name, x := range map[string]struct {
		src  []byte
		says string
	}{
		"text":     {[]byte("a letter"), "no picture"},
		"nothing":  {nil, "no picture"},
		"svg":      {[]byte("<svg onload=alert(1)>"), "no picture"},
		"too many": {bomb(), "megapixels"},
		"half":     {whole[:len(whole)-40], "damaged"},
	} {
		if _, err := cleanPhoto(x.src); err == nil || !strings.Contains(err.Error(), x.says) {
			t.Errorf("%s: %v, want it to say %q", name, err, x.says)
		}
	}
}

// crcPNG is the check sum of a chunk (PNG, annex D).
func crcPNG(b []byte) uint32 {
	crc := ^uint32(0)
	for _, c := range b {
		crc ^= uint32(c)
		for range 8 {
			if crc&1 == 1 {
				crc = crc>>1 ^ 0xedb88320
			} else {
				crc >>= 1
			}
		}
	}
	return ^crc
}

func TestPhotoIsReduced(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, quarters(2600, 260)); err != nil {
		t.Fatal(err)
	}
	p, err := cleanPhoto(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if p.Width != photoSide || p.Height != photoSide/10 || p.Type != "image/jpeg" {
		t.Errorf("%d × %d, %s", p.Width, p.Height, p.Type)
	}
}

func FuzzCleanPhoto(f *testing.F) {
	f.Add(withExif(jpegOf(f, quarters(16, 8)), exif(6, "x")))
	f.Add(exif(3, ""))
	f.Add([]byte{0xff, 0xd8, 0xff, 0xe1, 0, 20, 'E', 'x', 'i', 'f', 0, 0, 'I', 'I', '*', 0, 255, 255, 255, 255, 0, 0})
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) > 1<<16 {
			return
		}
		if o := orientation(append([]byte{0xff, 0xd8}, src...)); o < 1 || o > 8 {
			t.Errorf("orientation %d", o)
		}
		p, err := cleanPhoto(src)
		if err == nil && (p.Width > photoSide || p.Height > photoSide || len(p.Bytes) == 0) {
			t.Errorf("%d × %d pixels in %d bytes", p.Width, p.Height, len(p.Bytes))
		}
	})
}

// upload sends a photograph as a form does.
func upload(t testing.TB, s *Server, path string, src []byte, fields map[string]string) *httptest.ResponseRecorder {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for k, v := range fields {
		if err := m.WriteField(k, v); err != nil {
			t.Fatal(err)
		}
	}
	file, err := m.CreateFormFile("photo", "board.jpg")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := file.Write(src); err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("POST", path, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Host, r.RemoteAddr = "127.0.0.1:7417", "127.0.0.1:50000"
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

// A photograph with its pins: kept, served, moved, taken off; and what is sent
// twice is kept once.
func TestPhotoAndPins(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	path := at("studies", id, "photos")
	src := withExif(boardPhoto(600, 400), exif(1, "a secret place"))
	fields := map[string]string{"board": "Otter", "side": "front", "key": "photo-1"}
	w := upload(t, s, path, src, fields)
	contains(t, w, 303)
	page := w.Header().Get("Location")
	contains(t, upload(t, s, path, src, fields), 303)
	photos, err := nb.Photos(t.Context(), id)
	if err != nil || len(photos) != 1 {
		t.Fatalf("%d photographs, %v", len(photos), err)
	}
	got := ask(t, s, "GET", photoPath(id, &photos[0]), nil)
	contains(t, got, 200, "!secret")
	if got.Header().Get("Content-Type") != "image/jpeg" || !strings.Contains(got.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("headers %v", got.Header())
	}
	contains(t, ask(t, s, "GET", at("studies", id+1, "photos", photos[0].SHA256), nil), 404)
	contains(t, ask(t, s, "GET", page, nil), 200, "core, opening", "io a, probe", "None yet")

	spot := url.Values{"place": {placeValue(&notebook.Spot{Role: notebook.Opening, Rail: "core"})}, "x": {"0.25"}, "y": {"0.5"}, "number": {"1"}, "note": {"left leg"}, "key": {"pin-1"}}
	first := said1[kept](t, askJSON(t, s, page+"/pins", spot))
	if again := said1[kept](t, askJSON(t, s, page+"/pins", spot)); !again.Again {
		t.Errorf("sent again: %+v", again)
	}
	spot.Set("x", "0.3")
	spot.Set("key", "pin-2")
	moved := said1[kept](t, askJSON(t, s, page+"/pins/"+itoa(first.ID), spot))
	spot.Set("key", "pin-3")
	late := askJSON(t, s, page+"/pins/"+itoa(first.ID), spot)
	if k := said1[kept](t, late); late.Code != 409 || k.Error == "" {
		t.Errorf("moved from where it no longer is: %d %+v", late.Code, k)
	}
	for _, bad := range []url.Values{{"x": {"1.5"}, "y": {"0.5"}, "number": {"2"}}, {"x": {"left"}, "y": {"0"}, "number": {"2"}}, {"x": {"0"}, "y": {"0"}, "number": {"many"}}} {
		if w := askJSON(t, s, page+"/pins", bad); w.Code/100 != 4 {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
	contains(t, ask(t, s, "GET", page, nil), 200, "left leg", `data-x="0.3"`)
	contains(t, ask(t, s, "POST", page+"/pins/"+itoa(moved.ID), url.Values{"remove": {"yes"}}), 303)
	contains(t, ask(t, s, "GET", page, nil), 200, "None yet")
	contains(t, ask(t, s, "POST", page+"/remove", url.Values{}), 303)
	contains(t, ask(t, s, "GET", page, nil), 404)

	contains(t, upload(t, s, path, []byte("a letter"), fields), 422, "no picture")
	contains(t, upload(t, s, path, make([]byte, photoBytes+bodyLimit+1), fields), 413)
}

// A photograph of a step at the bench belongs to the step.
func TestPhotoOfAStep(t *testing.T) {
	d := newDesk(t)
	v := readEntry(visitKey(d.sitting, "bare", 1), "current", "core", "mV", "345")
	v.Set("key", "k")
	askJSON(t, d.s, d.base+"/entries", v)
	var step int64
	for _, e := range currentEntries(t, d, notebook.Step) {
		step = e.First
	}
	w := upload(t, d.s, at("studies", d.id, "photos"), boardPhoto(300, 200), map[string]string{"step": itoa(step), "sitting": itoa(d.sitting)})
	contains(t, w, 303)
	photos, err := d.nb.Photos(t.Context(), d.id)
	if err != nil || len(photos) != 1 || photos[0].Step != step {
		t.Errorf("%+v, %v", photos, err)
	}
	contains(t, ask(t, d.s, "GET", d.base, nil), 200, photoPath(d.id, &photos[0]))
}
