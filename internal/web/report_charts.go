package web

import (
	"bytes"
	"errors"
	"strings"

	"railtally/internal/chart"
	"railtally/internal/cooling"
	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
)

// reportFiles are the addresses of one chart's files.
type reportFiles struct{ Title, SVG, PNG, Frame, Fine string }

// pictureSize is a size that charts are saved in, by the end of the file's name.
type pictureSize struct {
	suffix string
	shape  chart.Options
	scale  float64
}

// pictureSizes are the sizes, the longest suffix first.
func pictureSizes() []pictureSize {
	return []pictureSize{
		{"-1080p.png", chart.Options{Width: 1920, Height: 1080}, 1},
		{"-4k.png", chart.Options{Width: 3840, Height: 2160}, 1},
		{".svg", chart.Options{}, 1},
		{".png", chart.Options{}, 2},
	}
}

// gallery lists the charts of the results; a cooling that cannot be worked out
// has none. Hold mu.
func (t *tallied) gallery(l *phrase.Language) ([]chart.Choice, error) {
	c, err := cooling.Run(t.Tally, cooling.Options{})
	var cannot heat.Problems
	switch {
	case errors.As(err, &cannot):
		c = nil
	case err != nil:
		return nil, err
	}
	return chart.Gallery(t.Tally, c, l)
}

// reportFiles lists what can be saved: the most telling charts. Hold mu.
func (t *tallied) reportFiles(id int64, l *phrase.Language, dark bool) ([]reportFiles, error) {
	measured := false
	for _, b := range t.Tally.Boards {
		measured = measured || len(b.States) > 0
	}
	if !measured {
		return nil, nil
	}
	list, err := t.gallery(l)
	if err != nil {
		return nil, err
	}
	var out []reportFiles
	for _, c := range list {
		if c.Further {
			continue
		}
		title := c.Title
		if c.Name == "card" {
			title = "Card with the one figure, for a thumbnail"
		}
		file := func(suffix string) string {
			return at("studies", id, "report", "files", c.Name+suffix) + asQuery(l.Tag(), dark)
		}
		out = append(out, reportFiles{title, file(".svg"), file(".png"), file("-1080p.png"), file("-4k.png")})
	}
	return out, nil
}

// reportPicture draws the chart that a file's name stands for.
func (t *tallied) reportPicture(file string, l *phrase.Language, dark bool) ([]byte, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	list, err := t.gallery(l)
	if err != nil {
		return nil, err
	}
	for _, size := range pictureSizes() {
		name, ok := strings.CutSuffix(file, size.suffix)
		if !ok {
			continue
		}
		for _, c := range list {
			if c.Name != name {
				continue
			}
			o := size.shape
			o.Dark, o.EmbedFont = dark, true
			if name == "card" && o.Width == 0 {
				o.Width, size.scale = 1280, 1
			}
			d, err := c.Draw(o)
			if err != nil {
				return nil, err
			}
			var b bytes.Buffer
			if size.suffix == ".svg" {
				err = d.WriteSVG(&b)
			} else {
				err = d.WritePNG(&b, size.scale)
			}
			return b.Bytes(), err
		}
	}
	return nil, notFound("the report has no file called " + file)
}
