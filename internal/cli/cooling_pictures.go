package cli

import (
	"fmt"

	"railtally/internal/chart"
	"railtally/internal/cooling"
)

// mapCells is how many powers and rooms a map has.
const mapCells = 60

// coolingPictures draws, for each board, the way of the heat, the rise over
// power, the map of the point that decides, and how series of readings settle.
func coolingPictures(c *cooling.Cooling) ([]picture, error) {
	var out []picture
	for _, b := range c.Boards {
		add := func(name, title string, draw func(chart.Options) (*chart.Drawing, error)) error {
			d, err := draw(chart.Options{Title: title, Footer: c.Tally.Study.Question, EmbedFont: true})
			if err != nil {
				return fmt.Errorf("chart %s: %w", name, err)
			}
			out = append(out, picture{name + "-" + slug(b.Name), d})
			return nil
		}
		h, err := c.Path(b)
		if err != nil {
			return nil, err
		}
		if h != nil {
			if err := add("heat", "Way of the heat on "+b.Name, func(o chart.Options) (*chart.Drawing, error) { return chart.Ladder(h, c.Level, o) }); err != nil {
				return nil, err
			}
		}
		if err := add("rise", "Rise over the room on "+b.Name, func(o chart.Options) (*chart.Drawing, error) { return chart.Rise(c, b, o) }); err != nil {
			return nil, err
		}
		if p := c.Deciding(b); p != nil {
			m := c.MapOf(b, p, mapCells)
			title := fmt.Sprintf("Temperature of the %s on %s", p.Name, b.Name)
			if err := add("map", title, func(o chart.Options) (*chart.Drawing, error) { return chart.ThermalMap(m, o) }); err != nil {
				return nil, err
			}
		}
		for _, p := range b.Points {
			for i, r := range p.Readings {
				if len(r.Seconds) == 0 {
					continue
				}
				name := fmt.Sprintf("settling-%s-%d", slug(p.Name), i+1)
				if err := add(name, "How "+p.Name+" settles in "+r.On.String(), func(o chart.Options) (*chart.Drawing, error) { return chart.Settle(r, c.Level, o) }); err != nil {
					return nil, err
				}
			}
		}
	}
	return out, nil
}

// writeCoolingPictures writes every chart as SVG and PNG.
func writeCoolingPictures(dir string, c *cooling.Cooling) error {
	list, err := coolingPictures(c)
	if err != nil {
		return err
	}
	_, err = saved(dir, list)
	return err
}
