package chart

import (
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"railtally/internal/look"
)

// pointsPerPixel turns CSS pixels (1/96 in) into points (1/72 in).
const pointsPerPixel = 0.75

// WritePDF writes the drawing as a PDF of one page of its own size. Texts stay
// texts, in the typeface. The same drawing gives the same bytes.
//
// It uses fpdf itself, not vg's PDF canvas, which can only write the letters
// of code page 1252 and so neither Ω nor a minus sign.
func (d *Drawing) WritePDF(w io.Writer) error {
	doc := fpdf.NewCustom(&fpdf.InitType{
		UnitStr: "pt",
		Size:    fpdf.SizeType{Wd: d.Width * pointsPerPixel, Ht: d.Height * pointsPerPixel},
	})
	epoch := time.Unix(0, 0).UTC() // no date: the bytes are to be the same tomorrow
	doc.SetCreationDate(epoch)
	doc.SetModificationDate(epoch)
	doc.SetCatalogSort(true)
	doc.SetTitle(d.face.known(d.Title), true)
	doc.SetSubject(d.face.known(d.Explained), true)
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	doc.AddUTF8FontFromBytes(look.Family, "", look.TTF(look.Regular))
	doc.AddUTF8FontFromBytes(look.Family, "B", look.TTF(look.SemiBold))
	doc.AddPage()

	p := pdfWriter{doc: doc, palette: d.palette(), face: d.face}
	p.shape(&shape{path: rectangle(0, 0, d.Width, d.Height), fill: ink(look.Paper)})
	for _, m := range d.marks {
		if m.shape != nil {
			p.shape(m.shape)
		}
		if m.label != nil {
			p.label(m.label)
		}
	}
	return doc.Output(w)
}

type pdfWriter struct {
	doc     *fpdf.Fpdf
	palette *look.Palette
	face    *typeface
}

func (p pdfWriter) shape(s *shape) {
	if s.fill.on {
		c := p.palette.Of(s.fill.role).Color()
		p.doc.SetFillColor(int(c.R), int(c.G), int(c.B))
		p.path(s.path)
		p.doc.DrawPath("f")
	}
	if s.stroke.on {
		c := p.palette.Of(s.stroke.role).Color()
		p.doc.SetDrawColor(int(c.R), int(c.G), int(c.B))
		p.doc.SetLineWidth(s.width * pointsPerPixel)
		dash := make([]float64, len(s.dash))
		for i, v := range s.dash {
			dash[i] = v * pointsPerPixel
		}
		p.doc.SetDashPattern(dash, 0)
		p.path(s.path)
		p.doc.DrawPath("D")
	}
}

func (p pdfWriter) path(q path) {
	const k = pointsPerPixel
	pts := q.points
	for _, v := range q.verbs {
		switch v {
		case moveTo:
			p.doc.MoveTo(pts[0].x*k, pts[0].y*k)
			pts = pts[1:]
		case lineTo:
			p.doc.LineTo(pts[0].x*k, pts[0].y*k)
			pts = pts[1:]
		case curveTo:
			p.doc.CurveBezierCubicTo(pts[0].x*k, pts[0].y*k, pts[1].x*k, pts[1].y*k, pts[2].x*k, pts[2].y*k)
			pts = pts[3:]
		case closePath:
			p.doc.ClosePath()
		}
	}
}

func (p pdfWriter) label(l *label) {
	put := func(x float64, text string, size float64, bold bool, r look.Role) {
		style := ""
		if bold {
			style = "B"
		}
		c := p.palette.Of(r).Color()
		p.doc.SetFont(look.Family, style, size*pointsPerPixel)
		p.doc.SetTextColor(int(c.R), int(c.G), int(c.B))
		p.doc.Text(x*pointsPerPixel, l.y*pointsPerPixel, p.face.known(text))
	}
	x0, _, _, _ := l.box()
	put(x0, l.text, l.size, l.bold, l.role)
	if l.tail != "" {
		put(x0+l.lead, l.tail, l.tailSize, false, look.Muted)
	}
}
