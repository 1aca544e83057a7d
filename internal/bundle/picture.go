package bundle

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	_ "image/jpeg" // photographs are JPEG
	_ "image/png"  // or PNG
)

// maxPixels is how many pixels a photograph may have: 60 million, 240 MB in memory.
const maxPixels = 60_000_000

// bare returns a picture without anything that is not needed to show it: no
// place, time, camera, comment or preview, and nothing behind its end. Its pixels
// stay as they are.
func bare(kind string, picture []byte) ([]byte, error) {
	head, _, err := image.DecodeConfig(bytes.NewReader(picture))
	switch {
	case err != nil:
		return nil, errPicture
	case head.Width <= 0 || head.Height <= 0 || head.Width > maxPixels/head.Height:
		return nil, fmt.Errorf("the picture has %d × %d pixels; up to %d million are taken", head.Width, head.Height, maxPixels/1_000_000)
	}
	if kind == "image/png" {
		return barePNG(picture)
	}
	return bareJPEG(picture)
}

var errPicture = errors.New("the picture is damaged")

// bareJPEG keeps of a JPEG what decoding needs (ITU-T T.81 Annex B): tables,
// frame and scans. Of the application segments only Adobe's is kept, which says
// how colours are coded (T.872 6.5.3).
func bareJPEG(p []byte) ([]byte, error) {
	if !bytes.HasPrefix(p, []byte{0xff, 0xd8}) {
		return nil, errPicture
	}
	out := []byte{0xff, 0xd8}
	for at := 2; ; {
		for at+1 < len(p) && p[at] == 0xff && p[at+1] == 0xff {
			at++ // fill bytes
		}
		if at+4 > len(p) || p[at] != 0xff {
			if at+2 <= len(p) && p[at] == 0xff && p[at+1] == 0xd9 {
				return append(out, 0xff, 0xd9), nil
			}
			return nil, errPicture
		}
		marker := p[at+1]
		if marker == 0xd9 {
			return append(out, 0xff, 0xd9), nil
		}
		end := at + 2 + int(binary.BigEndian.Uint16(p[at+2:]))
		if end > len(p) || end < at+4 {
			return nil, errPicture
		}
		if marker == 0xda {
			end = scanEnd(p, end)
		}
		if hidden := marker >= 0xe0 && marker <= 0xef && marker != 0xee || marker == 0xfe; !hidden {
			out = append(out, p[at:end]...)
		}
		at = end
	}
}

// scanEnd is where the coded data that begins at a place ends: at the next
// marker that is no restart and no stuffed byte.
func scanEnd(p []byte, at int) int {
	for ; at+1 < len(p); at++ {
		if p[at] == 0xff && p[at+1] != 0 && !(p[at+1] >= 0xd0 && p[at+1] <= 0xd7) && p[at+1] != 0xff {
			return at
		}
	}
	return len(p)
}

// pngNeeds are the chunks that say how a PNG looks (PNG, third edition, 11).
var pngNeeds = []string{"IHDR", "PLTE", "IDAT", "IEND", "tRNS", "gAMA", "cHRM", "sRGB", "sBIT"}

// barePNG keeps of a PNG the chunks that say how it looks.
func barePNG(p []byte) ([]byte, error) {
	const mark = "\x89PNG\r\n\x1a\n"
	if !bytes.HasPrefix(p, []byte(mark)) {
		return nil, errPicture
	}
	out := []byte(mark)
	for at := len(mark); at+12 <= len(p); {
		n := int64(binary.BigEndian.Uint32(p[at:]))
		end := int64(at) + 12 + n
		if end > int64(len(p)) {
			return nil, fmt.Errorf("%w: it is cut", errPicture)
		}
		kind := string(p[at+4 : at+8])
		for _, k := range pngNeeds {
			if k == kind {
				out = append(out, p[at:end]...)
			}
		}
		if kind == "IEND" {
			return out, nil
		}
		at = int(end)
	}
	return nil, errPicture
}
