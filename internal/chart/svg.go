package chart

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"strconv"
	"strings"

	"railtally/internal/look"
)

// WriteSVG writes the drawing as SVG. The same drawing gives the same bytes.
// Texts stay texts; the drawing carries a title and a description.
func (d *Drawing) WriteSVG(w io.Writer) error {
	s := &svgWriter{d: d, palette: d.palette()}
	s.head()
	for _, m := range d.marks {
		switch {
		case m.shape != nil:
			s.shape(m.shape)
		case m.label != nil:
			s.label(m.label)
		case m.end:
			s.b.WriteString("</g>\n")
		default:
			s.b.WriteString("<g><title>" + escape(m.begin) + "</title>\n")
		}
	}
	s.b.WriteString("</svg>\n")
	_, err := w.Write(s.b.Bytes())
	return err
}

type svgWriter struct {
	d       *Drawing
	palette *look.Palette
	b       bytes.Buffer
}

func (s *svgWriter) head() {
	d, width, height := s.d, number(s.d.Width), number(s.d.Height)
	s.b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg"`)
	if !d.opt.Inline {
		s.attr("width", width)
		s.attr("height", height)
	}
	s.attr("viewBox", "0 0 "+width+" "+height)
	s.attr("role", "img")
	s.attr("aria-labelledby", d.id+"-title "+d.id+"-desc")
	s.attr("font-family", strings.ReplaceAll(look.Families, `"`, "'"))
	s.b.WriteString(">\n")
	s.b.WriteString(`<title id="` + escape(d.id) + `-title">` + escape(d.Title) + "</title>\n")
	s.b.WriteString(`<desc id="` + escape(d.id) + `-desc">` + escape(strings.TrimSpace(d.Explained+" "+d.Summary)) + "</desc>\n")
	if d.opt.Inline {
		return // style and ground are the page's
	}
	s.b.WriteString("<style>")
	if d.opt.EmbedFont {
		s.b.WriteString("\n" + look.FontCSS())
	}
	s.b.WriteString("text { font-variant-numeric: lining-nums tabular-nums }</style>\n")
	s.b.WriteString(`<rect width="` + width + `" height="` + height + `" fill="` + s.color(look.Paper) + "\"/>\n")
}

func (s *svgWriter) attr(name, value string) {
	s.b.WriteString(" " + name + `="` + escape(value) + `"`)
}

func (s *svgWriter) color(r look.Role) string {
	if s.d.opt.Inline {
		return r.Var()
	}
	return s.palette.Of(r).Hex()
}

func (s *svgWriter) shape(sh *shape) {
	s.b.WriteString("<path")
	s.attr("d", pathData(sh.path))
	if sh.fill.on {
		s.attr("fill", s.color(sh.fill.role))
	} else {
		s.attr("fill", "none")
	}
	if sh.stroke.on {
		s.attr("stroke", s.color(sh.stroke.role))
		s.attr("stroke-width", number(sh.width))
		if len(sh.dash) > 0 {
			parts := make([]string, len(sh.dash))
			for i, v := range sh.dash {
				parts[i] = number(v)
			}
			s.attr("stroke-dasharray", strings.Join(parts, " "))
		}
	}
	s.b.WriteString("/>\n")
}

func (s *svgWriter) label(l *label) {
	s.b.WriteString("<text")
	s.attr("x", number(l.x))
	s.attr("y", number(l.y))
	switch l.anchor {
	case middle:
		s.attr("text-anchor", "middle")
	case end:
		s.attr("text-anchor", "end")
	}
	if !s.d.opt.Inline && !s.d.opt.EmbedFont {
		// Another typeface may stand in: the text keeps the width it was given.
		s.attr("textLength", number(l.width))
		s.attr("lengthAdjust", "spacingAndGlyphs")
	}
	if l.tail == "" {
		s.letters(l.size, l.bold, l.role)
		s.b.WriteString(">" + escape(l.text) + "</text>\n")
		return
	}
	s.b.WriteString("><tspan")
	s.letters(l.size, l.bold, l.role)
	s.b.WriteString(">" + escape(l.text) + " </tspan><tspan")
	s.letters(l.tailSize, false, look.Muted)
	s.b.WriteString(">" + escape(l.tail) + "</tspan></text>\n")
}

// letters writes how a text is set.
func (s *svgWriter) letters(size float64, bold bool, r look.Role) {
	s.attr("font-size", number(size))
	if bold {
		s.attr("font-weight", strconv.Itoa(look.SemiBold))
	}
	s.attr("fill", s.color(r))
}

func pathData(p path) string {
	var b strings.Builder
	pts := p.points
	put := func(letter string, n int) {
		b.WriteString(letter)
		for i, q := range pts[:n] {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(number(q.x))
			b.WriteByte(' ')
			b.WriteString(number(q.y))
		}
		pts = pts[n:]
	}
	for _, v := range p.verbs {
		switch v {
		case moveTo:
			put("M", 1)
		case lineTo:
			put("L", 1)
		case curveTo:
			put("C", 3)
		case closePath:
			b.WriteByte('Z')
		}
	}
	return b.String()
}

// number writes a coordinate with at most two decimals, the same everywhere.
func number(x float64) string {
	x = math.Round(x*100) / 100
	if x == 0 {
		return "0" // also for −0
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// escape makes a text fit for XML; nearly everything in a drawing is already.
func escape(text string) string {
	plain := true
	for i := range len(text) {
		switch c := text[i]; {
		case c < ' ' || c > '~' || c == '&' || c == '<' || c == '>' || c == '"' || c == '\'':
			plain = false
		}
	}
	if plain {
		return text
	}
	var b bytes.Buffer
	// Writing into a buffer cannot fail; runes that XML forbids become U+FFFD.
	_ = xml.EscapeText(&b, []byte(text))
	return b.String()
}
