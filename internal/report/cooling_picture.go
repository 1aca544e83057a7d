package report

import "railtally/internal/chart"

// Picture draws a chart in both layouts, for the template "picture". The id must
// be unlike those of the page's other pictures.
func Picture(id string, chartOf func(chart.Options) (*chart.Drawing, error)) (any, error) {
	return draw(id, chartOf)
}

// Prose sets a sentence so that no figure is parted from its unit.
func Prose(s string) string { return prose(s) }
