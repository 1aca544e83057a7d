package cli

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"unicode"

	"railtally/internal/chart"
	"railtally/internal/tally"
)

// picture is one chart of a study with the name of its file.
type picture struct {
	name    string
	drawing *chart.Drawing
}

// pictures draws what a study's folder holds: totals, differences and effects,
// and for each board the rail stack, the lanes and the parts of its fullest
// state, the steps to it, and each state against each.
func pictures(t *tally.Tally) ([]picture, error) {
	var out []picture
	add := func(name, title string, draw func(chart.Options) (*chart.Drawing, error)) error {
		d, err := draw(chart.Options{Title: title, Footer: t.Study.Question, EmbedFont: true})
		if err != nil {
			return fmt.Errorf("chart %s: %w", name, err)
		}
		out = append(out, picture{name, d})
		return nil
	}
	if err := add("totals", "Power of the chip by state", func(o chart.Options) (*chart.Drawing, error) { return chart.Totals(t, o) }); err != nil {
		return nil, err
	}
	if err := add("differences", "What differs", func(o chart.Options) (*chart.Drawing, error) { return chart.Differences(t, o) }); err != nil {
		return nil, err
	}
	if len(t.Study.Factors) > 0 {
		if err := add("effects", "What each factor adds", func(o chart.Options) (*chart.Drawing, error) { return chart.Effects(t, o) }); err != nil {
			return nil, err
		}
	}
	for _, b := range t.Boards {
		if err := add("rails-"+slug(b.Name), "What each rail draws on "+b.Name, func(o chart.Options) (*chart.Drawing, error) { return chart.Stack(t, b.Name, o) }); err != nil {
			return nil, err
		}
		full := tally.Fullest(b)
		if full == nil {
			continue
		}
		if err := add("lanes-"+slug(b.Name), full.On().String(), func(o chart.Options) (*chart.Drawing, error) { return chart.Lanes(t, full.On(), o) }); err != nil {
			return nil, err
		}
		if err := add("shares-"+slug(b.Name), "The part of each rail in "+full.On().String(), func(o chart.Options) (*chart.Drawing, error) { return chart.Shares(t, full.On(), o) }); err != nil {
			return nil, err
		}
		if len(b.Steps) > 0 {
			if err := add("steps-"+slug(b.Name), "Step by step on "+b.Name, func(o chart.Options) (*chart.Drawing, error) { return chart.Waterfall(t, b.Name, o) }); err != nil {
				return nil, err
			}
		}
		if len(b.States) > 1 {
			if err := add("matrix-"+slug(b.Name), "Each state against each on "+b.Name, func(o chart.Options) (*chart.Drawing, error) { return chart.Matrix(t, b.Name, o) }); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

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

// slug makes a name fit for a file name: lower case, letters, digits and
// hyphens.
func slug(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case unicode.IsLetter(r), unicode.IsDigit(r):
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if s := strings.TrimSuffix(b.String(), "-"); s != "" {
		return s
	}
	return "board"
}
