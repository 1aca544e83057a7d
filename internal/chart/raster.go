package chart

import (
	"fmt"
	"io"
	"math"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"

	"railtally/internal/look"
)

// maxPixels bounds a picture to what any screen or page can use.
const maxPixels = 100_000_000

// WritePNG writes the drawing as PNG with the given number of pixels to each
// CSS pixel: 1 for a frame, 2 or more for print.
func (d *Drawing) WritePNG(w io.Writer, scale float64) error {
	dpi := math.Round(72 * scale)
	if !(dpi >= 1) || d.Width*d.Height*scale*scale > maxPixels {
		return fmt.Errorf("chart: scale %g: accepted is what gives up to %d million pixels", scale, maxPixels/1_000_000)
	}
	palette := d.palette()
	c := vgimg.NewWith(
		vgimg.UseWH(vg.Length(d.Width), vg.Length(d.Height)),
		vgimg.UseDPI(int(dpi)),
		vgimg.UseBackgroundColor(palette.Of(look.Paper).Color()),
	)
	d.draw(c, palette)
	_, err := vgimg.PngCanvas{Canvas: c}.WriteTo(w)
	return err
}

// draw puts the marks on a canvas of package vg, whose points are our CSS
// pixels and whose y runs upwards.
func (d *Drawing) draw(c vg.Canvas, palette *look.Palette) {
	for _, m := range d.marks {
		if m.shape != nil {
			d.drawShape(c, palette, m.shape)
		}
		if m.label != nil {
			d.drawLabel(c, palette, m.label)
		}
	}
}

func (d *Drawing) drawShape(c vg.Canvas, palette *look.Palette, s *shape) {
	p := d.vgPath(s.path)
	if s.fill.on {
		c.SetColor(palette.Of(s.fill.role).Color())
		c.Fill(p)
	}
	if s.stroke.on {
		dash := make([]vg.Length, len(s.dash))
		for i, v := range s.dash {
			dash[i] = vg.Length(v)
		}
		c.SetColor(palette.Of(s.stroke.role).Color())
		c.SetLineWidth(vg.Length(s.width))
		c.SetLineDash(dash, 0)
		c.Stroke(p)
	}
}

func (d *Drawing) drawLabel(c vg.Canvas, palette *look.Palette, l *label) {
	put := func(x float64, text string, size float64, bold bool, r look.Role) {
		c.SetColor(palette.Of(r).Color())
		c.FillString(font.Face{
			Font: font.Font{Typeface: look.Family, Size: vg.Length(size)},
			Face: d.face.font(bold),
		}, d.vgPoint(point{x, l.y}), text)
	}
	x0, _, _, _ := l.box()
	put(x0, l.text, l.size, l.bold, l.role)
	if l.tail != "" {
		put(x0+l.lead, l.tail, l.tailSize, false, look.Muted)
	}
}

func (d *Drawing) vgPoint(p point) vg.Point {
	return vg.Point{X: vg.Length(p.x), Y: vg.Length(d.Height - p.y)}
}

func (d *Drawing) vgPath(p path) vg.Path {
	var out vg.Path
	pts := p.points
	for _, v := range p.verbs {
		switch v {
		case moveTo:
			out.Move(d.vgPoint(pts[0]))
			pts = pts[1:]
		case lineTo:
			out.Line(d.vgPoint(pts[0]))
			pts = pts[1:]
		case curveTo:
			out.CubeTo(d.vgPoint(pts[0]), d.vgPoint(pts[1]), d.vgPoint(pts[2]))
			pts = pts[3:]
		case closePath:
			out.Close()
		}
	}
	return out
}
