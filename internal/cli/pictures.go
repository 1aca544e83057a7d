package cli

import (
	"io"
	"path/filepath"

	"railtally/internal/chart"
	"railtally/internal/cooling"
	"railtally/internal/tally"
)

// picture is one chart of a study with the name of its file.
type picture struct {
	name    string
	drawing *chart.Drawing
}

// pictures draws what a study's folder holds: every chart but the lanes of
// states that are not the fullest. c is nil where the cooling is left out.
func pictures(t *tally.Tally, c *cooling.Cooling) ([]picture, error) {
	list, err := chart.Gallery(t, c, nil)
	if err != nil {
		return nil, err
	}
	var out []picture
	for _, x := range list {
		if x.Further {
			continue
		}
		o := chart.Options{EmbedFont: true}
		if x.Name == "card" {
			o.Width = cardWidth
		}
		d, err := x.Draw(o)
		if err != nil {
			return nil, err
		}
		out = append(out, picture{x.Name, d})
	}
	return out, nil
}

// cardWidth is the width of a card that is no frame.
const cardWidth = 1280

// saved writes pictures as SVG and PNG to a folder and returns the SVGs' paths.
func saved(dir string, list []picture) ([]string, error) {
	var out []string
	for _, p := range list {
		svg := filepath.Join(dir, p.name+".svg")
		if err := writeFile(svg, p.drawing.WriteSVG); err != nil {
			return nil, err
		}
		png := filepath.Join(dir, p.name+".png")
		if err := writeFile(png, func(w io.Writer) error { return p.drawing.WritePNG(w, 2) }); err != nil {
			return nil, err
		}
		out = append(out, svg)
	}
	return out, nil
}

// slug makes a name fit for a file name.
func slug(name string) string { return chart.Slug(name) }
