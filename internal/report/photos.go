package report

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"image/jpeg"
	_ "image/png" // photographs may be PNG
	"strings"

	"golang.org/x/image/draw"
)

// Photo is a board as it was photographed, with what is marked on it.
type Photo struct {
	Board   string
	Side    string // "front" or "back"; empty: not said
	Step    string // of which it is; empty: of the board
	Note    string
	Picture []byte // JPEG or PNG, cleaned of all that is not picture
	Pins    []Pin
}

// Pin is a place on a photo; X and Y run from its upper left corner, 0 to 1.
type Pin struct {
	Number           int
	X, Y             float64
	Opening, Probe   bool // where a rail is opened, where a voltage is read
	Rail, Tap, Point string
	Note             string
}

// photoView is a photo on the page.
type photoView struct {
	Source        template.URL
	Width, Height int
	Caption, Alt  string
	Pins          []pinView
}

type pinView struct {
	Number string
	X, Y   string // in percent
	Says   string
}

// photoWidth is how many pixels a photo on the page is wide at most: enough for
// the widest column on a screen of usual density, and little enough for a page
// of several photos to stay below a few megabytes.
const photoWidth = 1200

// photos sets the photos of a board.
func (a *assembler) photos(board string) ([]photoView, error) {
	var out []photoView
	for i, p := range a.opt.Photos {
		if p.Board != board {
			continue
		}
		img, _, err := image.Decode(bytes.NewReader(p.Picture))
		if err != nil {
			return nil, fmt.Errorf("photo %d of %s: %w", i+1, board, err)
		}
		img = narrowed(img, photoWidth)
		var b bytes.Buffer
		if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 80}); err != nil {
			return nil, fmt.Errorf("photo %d of %s: %w", i+1, board, err)
		}
		v := photoView{
			Source: template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(b.Bytes())),
			Width:  img.Bounds().Dx(), Height: img.Bounds().Dy(), Caption: a.caption(p), Alt: a.say("Photograph of %s", board),
		}
		for j, pin := range p.Pins {
			n := pin.Number
			if n == 0 {
				n = j + 1
			}
			v.Pins = append(v.Pins, pinView{fmt.Sprint(n), fmt.Sprintf("%.1f%%", 100*pin.X), fmt.Sprintf("%.1f%%", 100*pin.Y), a.pinned(pin)})
		}
		out = append(out, v)
	}
	return out, nil
}

// caption says what a photo shows.
func (a *assembler) caption(p Photo) string {
	parts := []string{p.Board}
	if p.Side != "" {
		side := a.say("front")
		if p.Side == "back" {
			side = a.say("back")
		}
		parts = append(parts, side)
	}
	if p.Step != "" {
		parts = append(parts, p.Step)
	}
	text := strings.Join(parts, ", ") + "."
	if p.Note != "" {
		text += " " + a.prose(p.Note)
	}
	return text
}

// pinned says what is at a pin.
func (a *assembler) pinned(p Pin) string {
	what := strings.TrimSpace(p.Rail + " " + p.Tap)
	if p.Point != "" {
		what = p.Point
	}
	text := what
	switch {
	case p.Opening && what != "":
		text = a.say("%s was opened here", what)
	case p.Probe && what != "":
		text = a.say("%s was read here", what)
	}
	switch {
	case text == "":
		return a.prose(p.Note)
	case p.Note != "":
		return text + ". " + a.prose(p.Note)
	}
	return text
}

// narrowed scales a picture down to a width; what is narrower stays.
func narrowed(img image.Image, width int) image.Image {
	from := img.Bounds()
	if from.Dx() <= width {
		return img
	}
	to := image.NewRGBA(image.Rect(0, 0, width, max(1, from.Dy()*width/from.Dx())))
	draw.CatmullRom.Scale(to, to.Bounds(), img, from, draw.Src, nil)
	return to
}
