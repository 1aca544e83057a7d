package web

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"

	"golang.org/x/image/draw"

	"railtally/internal/notebook"
)

// The limits of a photograph: 20 MiB sent, 60 megapixels decoded (a picture of
// 240 MB in memory), 2400 pixels kept along the longer side, which shows a
// solder joint on a board of 20 cm.
const (
	photoBytes  = 20 << 20
	photoPixels = 60_000_000
	photoSide   = 2400
	photoGrade  = 86
)

// cleanPhoto decodes a JPEG or PNG and writes it anew, so that nothing is left
// of it but the picture: no place, time or camera. A JPEG is first turned the way
// its orientation says. What is no such picture, or too large, is refused before
// its pixels are decoded.
func cleanPhoto(src []byte) (notebook.Picture, error) {
	if len(src) > photoBytes {
		return notebook.Picture{}, fmt.Errorf("the picture has more than %d MiB", photoBytes>>20)
	}
	decode, lossless := jpeg.Decode, false
	head, err := jpeg.DecodeConfig(bytes.NewReader(src))
	if err != nil {
		decode, lossless = png.Decode, true
		if head, err = png.DecodeConfig(bytes.NewReader(src)); err != nil {
			return notebook.Picture{}, errors.New("this is no picture in JPEG or PNG")
		}
	}
	if head.Width <= 0 || head.Height <= 0 || head.Width > photoPixels/head.Height {
		return notebook.Picture{}, fmt.Errorf("the picture has %d × %d pixels; up to %d megapixels are taken", head.Width, head.Height, photoPixels/1_000_000)
	}
	img, err := decode(bytes.NewReader(src))
	if err != nil {
		return notebook.Picture{}, fmt.Errorf("the picture is damaged: %w", err)
	}
	img = reduced(img)
	if !lossless {
		img = turned(img, orientation(src))
	}
	var out bytes.Buffer
	p := notebook.Picture{Type: "image/jpeg", Width: img.Bounds().Dx(), Height: img.Bounds().Dy()}
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: photoGrade}); err != nil {
		return notebook.Picture{}, err
	}
	p.Bytes = out.Bytes()
	return p, nil
}

// reduced brings a picture down to photoSide along its longer side, on white
// where it was transparent.
func reduced(img image.Image) image.Image {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	if longer := max(w, h); longer > photoSide {
		w, h = max(1, w*photoSide/longer), max(1, h*photoSide/longer)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Bounds(), image.White, image.Point{}, draw.Src)
	if w == b.Dx() && h == b.Dy() {
		draw.Draw(out, out.Bounds(), img, b.Min, draw.Over)
		return out
	}
	draw.ApproxBiLinear.Scale(out, out.Bounds(), img, b, draw.Over, nil)
	return out
}

// turned applies an orientation of Exif 2.3 (tag 0x0112): 1 as it is, 2 mirrored,
// 3 upside down, 4 mirrored and upside down, 5 to 8 with rows and columns
// exchanged.
func turned(img image.Image, o int) image.Image {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	if o < 2 || o > 8 {
		return img
	}
	size := image.Rect(0, 0, w, h)
	if o >= 5 {
		size = image.Rect(0, 0, h, w)
	}
	out := image.NewRGBA(size)
	for y := range h {
		for x := range w {
			tx, ty := x, y
			switch o {
			case 2:
				tx = w - 1 - x
			case 3:
				tx, ty = w-1-x, h-1-y
			case 4:
				ty = h - 1 - y
			case 5:
				tx, ty = y, x
			case 6:
				tx, ty = h-1-y, x
			case 7:
				tx, ty = h-1-y, w-1-x
			case 8:
				tx, ty = y, w-1-x
			}
			out.Set(tx, ty, img.At(b.Min.X+x, b.Min.Y+y))
		}
	}
	return out
}

// orientation reads the orientation from a JPEG's Exif segment (Exif 2.3,
// 4.5.2; TIFF 6.0 for the directory); 1 where there is none or it is odd.
func orientation(src []byte) int {
	for at := 2; at+4 <= len(src) && src[at] == 0xff; {
		kind, size := src[at+1], int(binary.BigEndian.Uint16(src[at+2:]))
		if kind == 0xda || size < 2 || at+2+size > len(src) {
			return 1
		}
		if body := src[at+4 : at+2+size]; kind == 0xe1 && bytes.HasPrefix(body, []byte("Exif\x00\x00")) {
			return tiffOrientation(body[6:])
		}
		at += 2 + size
	}
	return 1
}

func tiffOrientation(t []byte) int {
	var order binary.ByteOrder = binary.BigEndian
	switch {
	case len(t) < 8:
		return 1
	case bytes.HasPrefix(t, []byte("II*\x00")):
		order = binary.LittleEndian
	case !bytes.HasPrefix(t, []byte("MM\x00*")):
		return 1
	}
	at := int(order.Uint32(t[4:]))
	if at < 8 || at+2 > len(t) {
		return 1
	}
	n := int(order.Uint16(t[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > len(t) {
			return 1
		}
		if order.Uint16(t[e:]) == 0x0112 && order.Uint16(t[e+2:]) == 3 {
			if o := int(order.Uint16(t[e+8:])); o >= 1 && o <= 8 {
				return o
			}
		}
	}
	return 1
}
