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

// draw makes a picture. The id makes the identifiers inside it unlike those of
// any other on the page. The layouts are composed one after the other, because
// composing may ask the tally for more figures; then they are written at once.
func (t tongue) draw(id string, chartOf func(chart.Options) (*chart.Drawing, error)) (*picture, error) {
	wide, err := chartOf(chart.Options{Width: pageWidth, Inline: true, Bare: true, ID: id + "--wide", Language: t.Language})
	if err != nil {
		return nil, err
	}
	narrow, err := chartOf(chart.Options{Width: phoneWidth, Inline: true, Bare: true, ID: id + "--narrow", Language: t.Language})
	if err != nil {
		return nil, err
	}
	p := &picture{Explained: t.prose(wide.Explained)}
	var both errgroup.Group
	both.Go(func() (err error) { p.Wide, err = inline(wide); return err })
	both.Go(func() (err error) { p.Narrow, err = inline(narrow); return err })
	return p, both.Wait()
}

// inline is a drawing as it stands in a page.
func inline(d *chart.Drawing) (template.HTML, error) {
	var b bytes.Buffer
	if err := d.WriteSVG(&b); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil // the drawing escapes every name that it writes
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
