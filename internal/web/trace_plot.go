package web

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"

	"railtally/internal/notebook"
)

// The plot that a page shows without a script, in its own units.
const (
	plotWidth, plotHeight = 900.0, 300.0
	plotLeft, plotBottom  = 64.0, 30.0
	plotPixels            = 836
)

// drawTrace draws a view as SVG: the band from least to greatest, the mean in it, and the window.
func drawTrace(pixels []notebook.Pixel, show, window [2]float64, factor float64, title string) template.HTML {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range pixels {
		if p.N > 0 {
			lo, hi = min(lo, p.Min*factor), max(hi, p.Max*factor)
		}
	}
	if lo > hi {
		return ""
	}
	if pad := (hi - lo) * 0.05; pad > 0 {
		lo, hi = lo-pad, hi+pad
	} else {
		lo, hi = lo-math.Abs(lo)*0.01-1e-9, hi+math.Abs(hi)*0.01+1e-9
	}
	span := max(show[1]-show[0], 1e-9)
	x := func(t float64) float64 { return plotLeft + (t-show[0])/span*(plotWidth-plotLeft) }
	y := func(v float64) float64 { return (hi - v) / (hi - lo) * (plotHeight - plotBottom) }
	var b, band, back, mean strings.Builder
	fmt.Fprintf(&b, `<svg class="trace-svg" viewBox="0 0 %g %g" role="img" aria-label="%s">`, plotWidth, plotHeight, html.EscapeString(title))
	a, z := x(max(window[0], show[0])), x(min(window[1], show[1]))
	if z > a {
		fmt.Fprintf(&b, `<rect class="trace-window" x="%.1f" y="0" width="%.1f" height="%g"></rect>`, a, z-a, plotHeight-plotBottom)
	}
	for _, v := range ticks(lo, hi, 5) {
		fmt.Fprintf(&b, `<path class="trace-grid" d="M%g %.1fH%g"></path><text x="%g" y="%.1f" text-anchor="end">%s</text>`, plotLeft, y(v), plotWidth, plotLeft-8, y(v)+5, tickText(v, lo, hi))
	}
	for _, t := range ticks(show[0], show[1], 7) {
		fmt.Fprintf(&b, `<path class="trace-grid" d="M%.1f 0V%g"></path><text x="%.1f" y="%g" text-anchor="middle">%s</text>`, x(t), plotHeight-plotBottom, x(t), plotHeight-8, tickText(t, show[0], show[1]))
	}
	// Pixels in which nothing is finite part the band.
	var run []notebook.Pixel
	flush := func() {
		if len(run) == 0 {
			return
		}
		band.Reset()
		back.Reset()
		mean.Reset()
		for i, p := range run {
			letter := "L"
			if i == 0 {
				letter = "M"
			}
			fmt.Fprintf(&band, "%s%.1f %.1f", letter, x(p.From/2+p.To/2), y(p.Max*factor))
			fmt.Fprintf(&mean, "%s%.1f %.1f", letter, x(p.From/2+p.To/2), y(p.Mean*factor))
		}
		for i := len(run) - 1; i >= 0; i-- {
			fmt.Fprintf(&back, "L%.1f %.1f", x(run[i].From/2+run[i].To/2), y(run[i].Min*factor))
		}
		fmt.Fprintf(&b, `<path class="trace-band" d="%s%sZ"></path><path class="trace-mean" d="%s"></path>`, band.String(), back.String(), mean.String())
		run = run[:0]
	}
	for _, p := range pixels {
		if p.N == 0 {
			flush()
			continue
		}
		run = append(run, p)
	}
	flush()
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// ticks are round values between lo and hi, about n of them.
func ticks(lo, hi float64, n int) (out []float64) {
	step := tickStep(lo, hi, n)
	for k := math.Ceil(lo / step); k*step <= hi && len(out) < 4*n; k++ {
		out = append(out, k*step)
	}
	return out
}

func tickStep(lo, hi float64, n int) float64 {
	raw := max((hi-lo)/float64(n), 1e-300)
	p := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*p >= raw {
			return m * p
		}
	}
	return 10 * p
}

// tickText writes a tick with the decimals that tell neighbours apart.
func tickText(v, lo, hi float64) string {
	decimals := max(0, -int(math.Floor(math.Log10(tickStep(lo, hi, 7)*1.0000001))))
	if math.Abs(v) < (hi-lo)*1e-9 {
		v = 0
	}
	return strings.Replace(strconv.FormatFloat(v, 'f', decimals, 64), "-", "−", 1)
}
