package report

import (
	"railtally/internal/chart"
	"railtally/internal/phrase"
)

// Picture draws a chart in both layouts, for the template "picture". The id must
// be unlike those of the page's other pictures.
func Picture(id string, chartOf func(chart.Options) (*chart.Drawing, error)) (any, error) {
	return english().draw(id, chartOf)
}

// Prose sets a sentence so that no figure is parted from its unit.
func Prose[T ~string](s T) string { return english().prose(string(s)) }

// Tell says a phrase in English so that no figure is parted from its unit.
func Tell(p phrase.Phrase) string { return english().tell(p) }
