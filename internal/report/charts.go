package report

import (
	"bytes"
	"html/template"

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
// any other on the page.
func draw(id string, chartOf func(chart.Options) (*chart.Drawing, error)) (*picture, error) {
	p := &picture{}
	for _, layout := range []struct {
		into  *template.HTML
		width float64
		name  string
	}{{&p.Wide, pageWidth, "wide"}, {&p.Narrow, phoneWidth, "narrow"}} {
		d, err := chartOf(chart.Options{Width: layout.width, Inline: true, Bare: true, ID: id + "--" + layout.name})
		if err != nil {
			return nil, err
		}
		var b bytes.Buffer
		if err := d.WriteSVG(&b); err != nil {
			return nil, err
		}
		// The drawing escapes every name that it writes.
		*layout.into = template.HTML(b.String())
		p.Explained = prose(d.Explained)
	}
	return p, nil
}

func (a *assembler) totalsChart() (*picture, error) {
	return draw(a.anchors.part("totals chart"), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Totals(a.t, o)
	})
}

func (a *assembler) lanesChart(s *tally.State) (*picture, error) {
	return draw(a.anchors.part("lanes chart", s.Board.Name, s.State.Name), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Lanes(a.t, s.On(), o)
	})
}

func (a *assembler) stackChart(b *tally.Board) (*picture, error) {
	return draw(a.anchors.part("stack chart", b.Name), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Stack(a.t, b.Name, o)
	})
}

func (a *assembler) differencesChart() (*picture, error) {
	if len(a.t.Differences) == 0 {
		return nil, nil
	}
	return draw(a.anchors.part("differences chart"), func(o chart.Options) (*chart.Drawing, error) {
		return chart.Differences(a.t, o)
	})
}
