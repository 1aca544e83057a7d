package web

import (
	"bytes"
	"fmt"

	"railtally/internal/chart"
	"railtally/internal/cooling"
	"railtally/internal/tally"
)

// chartFiles are the addresses of one chart's files.
type chartFiles struct{ Title, SVG, PNG, Frame string }

// publishable is one chart that can be saved.
type publishable struct {
	name, title string
	draw        func(chart.Options) (*chart.Drawing, error)
}

// chartsOf lists the charts of a tally: totals and differences, and for each
// board its rails and the lanes of its fullest state.
func chartsOf(t *tally.Tally) []publishable {
	var out []publishable
	for i, b := range t.Boards {
		if len(b.States) == 0 {
			continue
		}
		n := fmt.Sprintf("-%d-%s", i+1, fileName(b.Name))
		out = append(out, publishable{stackName(i, b), "What each rail draws on " + b.Name, func(o chart.Options) (*chart.Drawing, error) { return chart.Stack(t, b.Name, o) }})
		if full := tally.Fullest(b); full != nil {
			out = append(out, publishable{"lanes" + n, full.On().String(), func(o chart.Options) (*chart.Drawing, error) { return chart.Lanes(t, full.On(), o) }})
		}
	}
	if len(out) == 0 {
		return nil
	}
	for i, name := range cooledBoards(t.Study) {
		of := func(draw func(*cooling.Cooling, *cooling.Board, chart.Options) (*chart.Drawing, error)) func(chart.Options) (*chart.Drawing, error) {
			return func(o chart.Options) (*chart.Drawing, error) {
				c, err := cooling.Run(t, cooling.Options{Board: name})
				if err != nil {
					return nil, err
				}
				if len(c.Boards) == 0 {
					return nil, notFound("nothing is known of the cooling of " + name)
				}
				return draw(c, c.Boards[0], o)
			}
		}
		n := fmt.Sprintf("-%d-%s", i+1, fileName(name))
		out = append(out, publishable{"heat" + n, "Way of the heat on " + name, of(func(c *cooling.Cooling, b *cooling.Board, o chart.Options) (*chart.Drawing, error) {
			h, err := c.Path(b)
			if err != nil {
				return nil, err
			}
			return chart.Ladder(h, c.Level, o)
		})}, publishable{"rise" + n, "Rise over the room on " + name, of(chart.Rise)},
			publishable{"map" + n, "Power and room on " + name, of(func(c *cooling.Cooling, b *cooling.Board, o chart.Options) (*chart.Drawing, error) {
				p := c.Deciding(b)
				if p == nil {
					return nil, notFound("no temperature of " + name + " can be predicted")
				}
				return chart.ThermalMap(c.MapOf(b, p, mapCells), o)
			})})
	}
	first := []publishable{{"totals", "Power of the chip by state", func(o chart.Options) (*chart.Drawing, error) { return chart.Totals(t, o) }}}
	if len(t.Differences) > 0 {
		first = append(first, publishable{"differences", "What differs", func(o chart.Options) (*chart.Drawing, error) { return chart.Differences(t, o) }})
	}
	return append(first, out...)
}

// stackName names the chart of the rails of the i-th board.
func stackName(i int, b *tally.Board) string {
	return fmt.Sprintf("rails-%d-%s", i+1, fileName(b.Name))
}

// picture draws a chart; a page's PNG has two pixels for each of the screen's.
func (t *tallied) picture(c publishable, o chart.Options, ext string) ([]byte, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	d, err := c.draw(o)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	switch {
	case ext == ".svg":
		err = d.WriteSVG(&b)
	case o.Height > 0:
		err = d.WritePNG(&b, 1)
	default:
		err = d.WritePNG(&b, 2)
	}
	return b.Bytes(), err
}
