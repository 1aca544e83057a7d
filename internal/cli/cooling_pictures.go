package cli

import (
	"strings"

	"railtally/internal/chart"
	"railtally/internal/cooling"
)

// writeCoolingPictures writes every chart of the cooling as SVG and PNG.
func writeCoolingPictures(dir string, c *cooling.Cooling) error {
	list, err := chart.Gallery(c.Tally, c, nil)
	if err != nil {
		return err
	}
	var out []picture
	for _, x := range list {
		if !strings.HasPrefix(x.Name, "heat-") && !strings.HasPrefix(x.Name, "rise-") && !strings.HasPrefix(x.Name, "map-") && !strings.HasPrefix(x.Name, "settling-") {
			continue
		}
		d, err := x.Draw(chart.Options{EmbedFont: true})
		if err != nil {
			return err
		}
		out = append(out, picture{x.Name, d})
	}
	_, err = saved(dir, out)
	return err
}
