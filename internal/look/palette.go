package look

import (
	"fmt"
	"image/color"
	"math"
)

// RGB is a colour as 0xRRGGBB.
type RGB uint32

// Hex returns the colour as CSS writes it: "#0f6d6a".
func (c RGB) Hex() string { return fmt.Sprintf("#%06x", uint32(c)) }

// Color returns the colour for Go's image packages, opaque.
func (c RGB) Color() color.NRGBA {
	return color.NRGBA{R: uint8(c >> 16), G: uint8(c >> 8), B: uint8(c), A: 0xff}
}

// Palette gives each role a colour.
type Palette [numRoles]RGB

// Of returns the colour of a role; an unknown role is Ink.
func (p *Palette) Of(r Role) RGB {
	if r >= numRoles {
		r = Ink
	}
	return p[r]
}

// On returns the role for text on an area: Ink or Paper, whichever stands out more.
func (p *Palette) On(area Role) Role {
	if Contrast(p.Of(Ink), p.Of(area)) >= Contrast(p.Of(Paper), p.Of(area)) {
		return Ink
	}
	return Paper
}

// Light returns the palette for paper and for bright rooms.
func Light() *Palette {
	return &Palette{
		Paper: 0xfbfaf6, Raised: 0xf3f1ea, Ink: 0x1f2a37, Muted: 0x5a6573, Line: 0xdedbd1, Edge: 0x858c93,
		Accent: 0x0f6d6a, OnAccent: 0xfbfaf6, AccentSoft: 0xbcd9d3, Focus: 0x0b4fa8,
		Good: 0x2c6430, Warn: 0x7d5000, Bad: 0xa1262b,
		GoodSoft: 0xe3eedd, WarnSoft: 0xf6e8c9, BadSoft: 0xf7dfdb,
		board1: 0x0f6d6a, board2: 0xb4621b, board3: 0x46285c, board4: 0x88929c,
		board1Soft: 0xbcd9d3, board2Soft: 0xf0d7bd, board3Soft: 0xd6cbdf, board4Soft: 0xdde1e4,
		rail1: 0x0f6d6a, rail2: 0xe6bd8e, rail3: 0x4b3b7a, rail4: 0xc6d196, rail5: 0x7c2c4d, rail6: 0xb2bfcb,
		rail7: 0x75471b, rail8: 0x8fc7c0, rail9: 0x49591f, rail10: 0xbdb3df, rail11: 0x34495e, rail12: 0xe4afc5,
	}
}

// Dark returns the palette for screens in dim rooms.
func Dark() *Palette {
	return &Palette{
		Paper: 0x151a20, Raised: 0x1e252d, Ink: 0xebe8df, Muted: 0xa3adb8, Line: 0x343d47, Edge: 0x6d7883,
		Accent: 0x5bbfb5, OnAccent: 0x10171b, AccentSoft: 0x24504d, Focus: 0x8fc0ff,
		Good: 0x8fc98a, Warn: 0xe6b95c, Bad: 0xf09a92,
		GoodSoft: 0x1f3322, WarnSoft: 0x3a2e14, BadSoft: 0x43211f,
		board1: 0x5bbfb5, board2: 0xc9803c, board3: 0xd9c4ef, board4: 0x66717c,
		board1Soft: 0x24504d, board2Soft: 0x543a20, board3Soft: 0x53485f, board4Soft: 0x2f373f,
		rail1: 0x5bbfb5, rail2: 0x7c5326, rail3: 0xb3a6e6, rail4: 0x55652a, rail5: 0xe093b3, rail6: 0x45566a,
		rail7: 0xe0ad75, rail8: 0x1d635f, rail9: 0xb9c77f, rail10: 0x54468a, rail11: 0xa9bbcc, rail12: 0x7f3756,
	}
}

// Luminance is the relative luminance of a colour, 0 to 1 (WCAG 2.2, definition
// of relative luminance, sRGB with the threshold 0.04045).
func Luminance(c RGB) float64 {
	linear := func(v uint32) float64 {
		x := float64(v&0xff) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(uint32(c)>>16) + 0.7152*linear(uint32(c)>>8) + 0.0722*linear(uint32(c))
}

// Contrast is the contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition
// of contrast ratio).
func Contrast(a, b RGB) float64 {
	la, lb := Luminance(a), Luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}
