package chart

import (
	"fmt"
	"math"

	"railtally/internal/phrase"
)

// Options say how large a chart is and what surrounds it. The zero value is a
// light chart for a page, 720 wide and as high as its content.
type Options struct {
	// Width in CSS pixels, 720 when 0. Below 520 the layout is the narrow one,
	// with labels above what they label.
	Width float64
	// Height in CSS pixels; 0: as high as the content. A larger height spreads
	// the rows, a smaller one shrinks the type; one that cannot hold the content
	// is an error.
	Height float64
	// Type is the size of ordinary text; 0 chooses it by the width.
	Type float64

	// Dark draws with look.Dark instead of look.Light.
	Dark bool
	// Inline makes an SVG that stands in a page: its colours are the page's
	// custom properties (look.CSS), its ground is the page's, and it grows with
	// the column. PNG and PDF take the colours of Dark.
	Inline bool
	// EmbedFont puts the typeface into an SVG file, about 60 kB, so that it
	// looks the same everywhere.
	EmbedFont bool
	// ID begins the identifiers inside an SVG; a page with several charts gives
	// each its own. Empty: made from the chart's kind and subject.
	ID string

	// Language is what the chart says everything in; nil: English. Title and
	// Footer come from outside and are in it already.
	Language *phrase.Language

	// Title is drawn above the chart; empty: none, as where the page has its own.
	Title string
	// Subtitle explains the chart and its tolerance; empty: the chart's own words.
	Subtitle string
	// Footer names the study and the date, below the chart; empty: none.
	Footer string
	// Bare leaves out title, subtitle and footer. The page must then say what
	// the subtitle would have said (Drawing.Explained).
	Bare bool

	w words // Language, English where it was nil
}

// Frame returns options for a 16:9 frame of 1920 by 1080 pixels.
func Frame(title string) Options { return Options{Width: 1920, Height: 1080, Title: title} }

// Limits of the sizes that are drawn.
const (
	minWidth  = 240
	maxWidth  = 8000
	minType   = 7
	narrowing = 520 // the width, at ordinary type, below which the layout is narrow
)

// settle checks the options and fills in the sizes left open.
func (o Options) settle() (Options, error) {
	for _, v := range []struct {
		name string
		x    float64
	}{{"width", o.Width}, {"height", o.Height}, {"type size", o.Type}} {
		if math.IsNaN(v.x) || math.IsInf(v.x, 0) || v.x < 0 {
			return o, fmt.Errorf("chart: %s %g: a positive number is accepted, or 0", v.name, v.x)
		}
	}
	if o.w.Language = o.Language; o.w.Language == nil {
		o.w.Language = phrase.English()
	}
	if o.Width == 0 {
		o.Width = 720
	}
	if o.Width < minWidth || o.Width > maxWidth {
		return o, fmt.Errorf("chart: width %g: %d to %d pixels are accepted", o.Width, minWidth, maxWidth)
	}
	if o.Height > maxWidth {
		return o, fmt.Errorf("chart: height %g: up to %d pixels are accepted", o.Height, maxWidth)
	}
	if o.Type == 0 {
		switch {
		case o.Width < narrowing:
			o.Type = 13
		case o.Height > 0: // a frame is looked at from afar
			o.Type = math.Max(14, o.Width/64)
		default:
			o.Type = 14
		}
	}
	if o.Type < minType || o.Type > o.Width/12 {
		return o, fmt.Errorf("chart: type size %g: %d to %.0f is accepted at this width", o.Type, minType, o.Width/12)
	}
	return o, nil
}

// narrow tells whether labels stand above what they label.
func (o Options) narrow() bool { return o.Width < narrowing*o.Type/14 }
