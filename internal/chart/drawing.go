package chart

import (
	"math"

	"railtally/internal/look"
)

// Drawing is a finished chart. It is written with WriteSVG, WritePNG or
// WritePDF, in any number and order.
type Drawing struct {
	// Width and Height in CSS pixels.
	Width, Height float64
	// Title and Explained say in words what the drawing shows and how its
	// tolerance is to be read. They are its accessible name and part of its
	// accessible description, drawn or not.
	Title, Explained string
	// Summary gives the figures in words, the rest of the description.
	Summary string

	id    string
	opt   Options
	face  *typeface
	marks []mark
}

// palette is the colours that a picture without a page takes.
func (d *Drawing) palette() *look.Palette {
	if d.opt.Dark {
		return look.Dark()
	}
	return look.Light()
}

// labels lists every text that was placed.
func (d *Drawing) labels() []label {
	var out []label
	for _, m := range d.marks {
		if m.label != nil {
			out = append(out, *m.label)
		}
	}
	return out
}

func (d *Drawing) shape(s shape) { d.marks = append(d.marks, mark{shape: &s}) }

func (d *Drawing) fill(p path, r look.Role) { d.shape(shape{path: p, fill: ink(r)}) }

func (d *Drawing) stroke(p path, r look.Role, width float64, dash ...float64) {
	d.shape(shape{path: p, stroke: ink(r), width: width, dash: dash})
}

// group draws marks that belong together; pointing at one of them shows the tip.
func (d *Drawing) group(tip string, draw func()) {
	d.marks = append(d.marks, mark{begin: tip})
	draw()
	d.marks = append(d.marks, mark{end: true})
}

// text places a label and returns the x where it ends.
func (d *Drawing) text(l label) float64 {
	if l.text == "" {
		return l.x
	}
	l.width = d.face.width(l.text, l.size, l.bold)
	if l.tail != "" {
		l.lead = d.face.width(l.text+" ", l.size, l.bold)
		l.width = l.lead + d.face.width(l.tail, l.tailSize, false)
	}
	d.marks = append(d.marks, mark{label: &l})
	_, _, x1, _ := l.box()
	return x1
}

// hatch fills a rectangle with slanting lines, for what is only bounded.
func (d *Drawing) hatch(x, y, w, h, step float64, r look.Role, width float64) {
	var p path
	for c := step; c < w+h; c += step {
		// The line x' + y' = c inside 0..w by 0..h.
		x0, x1 := math.Max(0, c-h), math.Min(c, w)
		if x1-x0 > 0.1 {
			p.move(x+x0, y+c-x0).line(x+x1, y+c-x1)
		}
	}
	if len(p.verbs) > 0 {
		d.stroke(p, r, width)
	}
}
