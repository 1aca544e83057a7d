package chart

import (
	"fmt"
	"strings"

	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"railtally/internal/look"
)

// Heights of the typeface in parts of its size, from its OS/2 and hhea tables.
const (
	capHeight = 0.66
	xHeight   = 0.486
	descent   = 0.21
	leading   = 1.32 // distance of baselines in running text
)

// typeface measures text. It is read from look's files when a chart is drawn,
// not when the program starts.
type typeface struct {
	regular, bold *opentype.Font
	buf           sfnt.Buffer
	plain         [2][128]float64 // advances of ASCII, regular and bold; 0: not asked for yet
	advances      map[advanceKey]float64
}

type advanceKey struct {
	r    rune
	bold bool
}

func newTypeface() (*typeface, error) {
	t := &typeface{advances: map[advanceKey]float64{}}
	var err error
	if t.regular, err = opentype.Parse(look.TTF(look.Regular)); err != nil {
		return nil, fmt.Errorf("chart: typeface: %w", err)
	}
	if t.bold, err = opentype.Parse(look.TTF(look.SemiBold)); err != nil {
		return nil, fmt.Errorf("chart: typeface: %w", err)
	}
	return t, nil
}

func (t *typeface) font(bold bool) *opentype.Font {
	if bold {
		return t.bold
	}
	return t.regular
}

// width of a text, without kerning, which hardly matters and only narrows. A
// letter that the typeface lacks counts as one em, for what stands in is at
// most that wide.
func (t *typeface) width(text string, size float64, bold bool) float64 {
	w := 0.0
	for _, r := range text {
		w += t.advance(r, bold)
	}
	return w * size
}

func (t *typeface) advance(r rune, bold bool) float64 {
	if uint32(r) < 128 {
		weight := 0
		if bold {
			weight = 1
		}
		a := &t.plain[weight][r]
		if *a == 0 {
			*a = t.measure(r, bold)
		}
		return *a
	}
	k := advanceKey{r, bold}
	a, ok := t.advances[k]
	if !ok {
		a = t.measure(r, bold)
		t.advances[k] = a
	}
	return a
}

func (t *typeface) measure(r rune, bold bool) float64 {
	f, a := t.font(bold), 1.0
	if g, err := f.GlyphIndex(&t.buf, r); err == nil && g != 0 {
		em := fixed.Int26_6(f.UnitsPerEm()) // at this size 1/64 pixel is a font unit
		if adv, err := f.GlyphAdvance(&t.buf, g, em, 0); err == nil {
			a = float64(adv) / float64(em)
		}
	}
	return a
}

// known replaces letters that the typeface lacks by a box.
func (t *typeface) known(text string) string {
	return strings.Map(func(r rune) rune {
		if g, err := t.regular.GlyphIndex(&t.buf, r); err != nil || g == 0 {
			return '□'
		}
		return r
	}, text)
}

// clip shortens a text to a width, with an ellipsis.
func (t *typeface) clip(text string, width, size float64, bold bool) string {
	width += 0.01 // a text fits its own width, however that was summed
	if t.width(text, size, bold) <= width {
		return text
	}
	runes := []rune(text)
	for n := len(runes) - 1; n > 0; n-- {
		s := strings.TrimRight(string(runes[:n]), " ,.;:–-") + "…"
		if t.width(s, size, bold) <= width {
			return s
		}
	}
	return "…"
}

// wrap breaks a text at spaces into at most the given lines; the last one is
// clipped.
func (t *typeface) wrap(text string, width, size float64, bold bool, lines int) []string {
	var out []string
	words := strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' })
	for len(words) > 0 {
		n := 1
		for n < len(words) && t.width(strings.Join(words[:n+1], " "), size, bold) <= width+0.01 {
			n++
		}
		if len(out) == lines-1 {
			n = len(words)
		}
		out = append(out, t.clip(strings.Join(words[:n], " "), width, size, bold))
		words = words[n:]
	}
	return out
}

// balance wraps a text like wrap, into lines of about one length.
func (t *typeface) balance(text string, width, size float64, bold bool, lines int) []string {
	best := t.wrap(text, width, size, bold, lines)
	for w := width; len(best) > 1 && w > width/2; w -= size {
		next := t.wrap(text, w, size, bold, lines)
		if len(next) != len(best) || strings.Join(next, " ") != strings.Join(best, " ") {
			break
		}
		best = next
	}
	return best
}

// clipOrNothing shortens a text of ordinary weight to a width; a few letters
// say nothing and are left out.
func (t *typeface) clipOrNothing(text string, width, size float64) string {
	s := t.clip(text, width, size, false)
	if s != text && len([]rune(s)) < 6 {
		return ""
	}
	return s
}
