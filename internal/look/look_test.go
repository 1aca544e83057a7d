package look

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

func themes() map[string]*Palette { return map[string]*Palette{"light": Light(), "dark": Dark()} }

// WCAG 2.2, 1.4.3: 4.5:1 for text; 1.4.11: 3:1 for outlines and graphics.
func TestContrast(t *testing.T) {
	for name, p := range themes() {
		text := []struct{ fg, bg Role }{
			{Ink, Paper}, {Ink, Raised}, {Muted, Paper}, {Muted, Raised},
			{Accent, Paper}, {Accent, Raised}, {OnAccent, Accent}, {Ink, AccentSoft},
			{Good, Paper}, {Warn, Paper}, {Bad, Paper}, {Good, Raised}, {Warn, Raised}, {Bad, Raised},
			{Good, GoodSoft}, {Warn, WarnSoft}, {Bad, BadSoft},
			{Ink, GoodSoft}, {Ink, WarnSoft}, {Ink, BadSoft}, {Focus, Paper}, {Focus, Raised},
		}
		for i := range Rails {
			text = append(text, struct{ fg, bg Role }{p.On(Rail(i)), Rail(i)})
		}
		for _, c := range text {
			if got := Contrast(p.Of(c.fg), p.Of(c.bg)); got < 4.5 {
				t.Errorf("%s: %v on %v has %.2f, text needs 4.5", name, c.fg, c.bg, got)
			}
		}
		graphic := []Role{Edge, Accent}
		for i := range Boards {
			graphic = append(graphic, Board(i))
		}
		for _, r := range graphic {
			if got := Contrast(p.Of(r), p.Of(Paper)); got < 3 {
				t.Errorf("%s: %v on paper has %.2f, graphics need 3", name, r, got)
			}
		}
	}
}

// The two ends of WCAG's scale, and the grey whose contrast with white is the
// 4.48 that web authors know as just too little (#777777; from memory).
func TestContrastRatio(t *testing.T) {
	for _, c := range []struct {
		a, b RGB
		want float64
	}{{0x000000, 0xffffff, 21}, {0xffffff, 0xffffff, 1}, {0x777777, 0xffffff, 4.48}} {
		if got := Contrast(c.a, c.b); math.Abs(got-c.want) > 0.005 {
			t.Errorf("contrast of %s and %s: got %.3f, want %.2f", c.a.Hex(), c.b.Hex(), got, c.want)
		}
	}
}

// lightness is CIE L*, 0 to 100 (CIE 15, from memory): what a copier leaves.
func lightness(c RGB) float64 {
	y := Luminance(c)
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return 116*math.Cbrt(y) - 16
}

// A picture that takes its colours from the page has one role for the text on
// each rail, whether the page is light or dark.
func TestTextOnRailsIsOneRole(t *testing.T) {
	for i := range Rails {
		if l, d := Light().On(Rail(i)), Dark().On(Rail(i)); l != d {
			t.Errorf("rail %d: %v in the light, %v in the dark", i+1, l, d)
		}
	}
}

// Boards also have a mark of their own shape; rails a label in their place.
func TestTellApartInGrey(t *testing.T) {
	for name, p := range themes() {
		for i := range Boards {
			for j := range i {
				if d := math.Abs(lightness(p.Of(Board(i))) - lightness(p.Of(Board(j)))); d < 8 {
					t.Errorf("%s: boards %d and %d differ by %.1f in lightness, want 8", name, j+1, i+1, d)
				}
			}
		}
		for i := range Rails {
			j := (i + 1) % Rails
			if d := math.Abs(lightness(p.Of(Rail(i))) - lightness(p.Of(Rail(j)))); d < 25 {
				t.Errorf("%s: rails %d and %d are neighbours and differ by %.1f in lightness, want 25", name, i+1, j+1, d)
			}
		}
	}
}

// linearRGB undoes sRGB's curve.
func linearRGB(c RGB) [3]float64 {
	var out [3]float64
	for i, shift := range []uint{16, 8, 0} {
		x := float64(uint32(c)>>shift&0xff) / 255
		if x <= 0.04045 {
			out[i] = x / 12.92
		} else {
			out[i] = math.Pow((x+0.055)/1.055, 2.4)
		}
	}
	return out
}

// oklab is Ottosson's perceptual space (2020, from memory); distances of about
// 0.02 are just noticeable.
func oklab(v [3]float64) [3]float64 {
	l := math.Cbrt(math.Max(0, 0.4122214708*v[0]+0.5363325363*v[1]+0.0514459929*v[2]))
	m := math.Cbrt(math.Max(0, 0.2119034982*v[0]+0.6806995451*v[1]+0.1073969566*v[2]))
	s := math.Cbrt(math.Max(0, 0.0883024619*v[0]+0.2817188376*v[1]+0.6299787005*v[2]))
	return [3]float64{
		0.2104542553*l + 0.7936177850*m - 0.0040720468*s,
		1.9779984951*l - 2.4285922050*m + 0.4505937099*s,
		0.0259040371*l + 0.7827717662*m - 0.8086757660*s,
	}
}

// Full protanopia, deuteranopia and tritanopia in linear RGB, after Machado,
// Oliveira and Fernandes 2009 (severity 1; from memory).
var blindness = map[string][3][3]float64{
	"protanopia":   {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanopia":   {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

func TestTellApartColourBlind(t *testing.T) {
	see := func(c RGB, m [3][3]float64) [3]float64 {
		v := linearRGB(c)
		var out [3]float64
		for i := range out {
			out[i] = m[i][0]*v[0] + m[i][1]*v[1] + m[i][2]*v[2]
		}
		return oklab(out)
	}
	for name, p := range themes() {
		for eye, m := range blindness {
			apart := func(what string, a, b Role, least float64) {
				t.Helper()
				x, y := see(p.Of(a), m), see(p.Of(b), m)
				d := math.Sqrt(math.Pow(x[0]-y[0], 2) + math.Pow(x[1]-y[1], 2) + math.Pow(x[2]-y[2], 2))
				if d < least {
					t.Errorf("%s, %s: %s %v and %v are %.3f apart, want %.2f", name, eye, what, a, b, d, least)
				}
			}
			for i := range Boards {
				for j := range i {
					apart("boards", Board(i), Board(j), 0.08)
				}
			}
			for i := range Rails {
				apart("rails", Rail(i), Rail((i+1)%Rails), 0.2)
			}
		}
	}
}

func TestCSSNamesEveryRole(t *testing.T) {
	css := CSS()
	for _, r := range Roles() {
		if n := strings.Count(css, "--"+r.String()+": #"); n != 3 {
			t.Errorf("%v is defined %d times, want once for light and twice for dark", r, n)
		}
	}
	if strings.Count(css, "{") != strings.Count(css, "}") {
		t.Error("braces do not match")
	}
}

func TestFonts(t *testing.T) {
	for _, w := range []int{Regular, SemiBold} {
		if f := TTF(w); !bytes.HasPrefix(f, []byte{0, 1, 0, 0}) {
			t.Errorf("weight %d: no TrueType file", w)
		}
		if f := WOFF2(w); !bytes.HasPrefix(f, []byte("wOF2")) {
			t.Errorf("weight %d: no WOFF2 file", w)
		}
	}
	if bytes.Equal(TTF(Regular), TTF(SemiBold)) {
		t.Error("both weights are the same file")
	}
	if !strings.Contains(FontLicence(), "SIL OPEN FONT LICENSE Version 1.1") {
		t.Error("the licence is missing")
	}
	css := FontCSS()
	if strings.Count(css, "@font-face") != 2 || strings.Contains(css, "http") {
		t.Error("want two faces and no address in the font rules")
	}
}
