package report

import (
	"bytes"
	"html/template"

	"golang.org/x/sync/errgroup"

	"railtally/internal/chart"
	"railtally/internal/tally"
)

// The two layouts of every chart. The style sheet shows the one that suits the
// width; the other is not displayed, so nothing reads it out.
const (
	pageWidth  = 820
	phoneWidth = 328
)

// picture is a chart in both layouts, with what explains it below.
type picture struct {
	Wide, Narrow template.HTML
	Explained    string
}

// draw makes a picture, in both layouts at once. The id makes the identifiers
// inside it unlike those of any other on the page.
func (t tongue) draw(id string, chartOf func(chart.Options) (*chart.Drawing, error)) (*picture, error) {
	p := &picture{}
	var both errgroup.Group
	both.Go(func() error {
		d, svg, err := drawn(chartOf, chart.Options{Width: pageWidth, Inline: true, Bare: true, ID: id + "--wide", Language: t.Language})
		if err == nil {
			p.Wide, p.Explained = svg, t.prose(d.Explained)
		}
		return err
	})
	both.Go(func() (err error) {
		_, p.Narrow, err = drawn(chartOf, chart.Options{Width: phoneWidth, Inline: true, Bare: true, ID: id + "--narrow", Language: t.Language})
		return err
	})
	return p, both.Wait()
}

// drawn draws and writes one layout.
func drawn(chartOf func(chart.Options) (*chart.Drawing, error), o chart.Options) (*chart.Drawing, template.HTML, error) {
	d, err := chartOf(o)
	if err != nil {
		return nil, "", err
	}
	var b bytes.Buffer
	if err := d.WriteSVG(&b); err != nil {
		return nil, "", err
	}
	return d, template.HTML(b.String()), nil // the drawing escapes every name that it writes
}

func (a *assembler) totalsChart() (*picture, error) {
	return a.draw(a.anchors.part("totals chart"), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Totals(a.t, o)
	})
}

func (a *assembler) lanesChart(s *tally.State) (*picture, error) {
	return a.draw(a.anchors.part("lanes chart", s.Board.Name, s.State.Name), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Lanes(a.t, s.On(), o)
	})
}

func (a *assembler) stackChart(b *tally.Board) (*picture, error) {
	return a.draw(a.anchors.part("stack chart", b.Name), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Stack(a.t, b.Name, o)
	})
}

func (a *assembler) differencesChart() (*picture, error) {
	if len(a.t.Differences) == 0 {
		return nil, nil
	}
	return a.draw(a.anchors.part("differences chart"), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Differences(a.t, o)
	})
}
