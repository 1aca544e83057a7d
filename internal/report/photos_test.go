package report

import (
	"bytes"
	"encoding/base64"
	"image"
	"image/png"
	"strings"
	"testing"
)

// A photograph stands in the method, small enough, inside the page, with its
// pins where they were set and what they say below.
func TestPhotos(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewRGBA(image.Rect(0, 0, 2400, 1600))); err != nil {
		t.Fatal(err)
	}
	opt := made
	opt.Photos = []Photo{
		{Board: "Otter", Side: "back", Note: "After the <b>loops</b>", Picture: b.Bytes(), Pins: []Pin{{Number: 3, X: 0.25, Y: 0.5, Opening: true, Rail: "core"}, {X: 1, Y: 0, Probe: true, Rail: "core", Point: "C7"}}},
		{Board: "Nobody", Picture: b.Bytes()},
	}
	x := run(t, readStudy(t, "otter.yaml"))
	root := parsePage(t, render(t, x, opt))
	imgs := root.id(t, "method").named("img")
	if len(imgs) != 1 || len(root.named("img")) != 1 {
		t.Fatalf("%d photographs", len(imgs))
	}
	data, ok := strings.CutPrefix(imgs[0].attr["src"], "data:image/jpeg;base64,")
	raw, err := base64.StdEncoding.DecodeString(data)
	if !ok || err != nil {
		t.Fatalf("the picture is not in the page: %.40s, %v", imgs[0].attr["src"], err)
	}
	if c, _, err := image.DecodeConfig(bytes.NewReader(raw)); err != nil || c.Width != photoWidth || c.Height != photoWidth*2/3 {
		t.Errorf("%+v, %v", c, err)
	}
	text := root.class("photo")[0].text()
	for _, want := range []string{"Otter, back. After the <b>loops</b>", "core was opened here", "C7 was read here"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q lacks %q", text, want)
		}
	}
	if c := root.class("pins")[0].named("circle"); len(c) != 2 || c[0].attr["cx"] != "25.0%" || c[0].attr["cy"] != "50.0%" {
		t.Errorf("%d pins", len(c))
	}
	opt.Photos[0].Picture = []byte("no picture")
	if err := Page(&b, x, opt); err == nil || !strings.Contains(err.Error(), "photo 1 of Otter") {
		t.Errorf("%v", err)
	}
}
