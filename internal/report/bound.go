package report

import (
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// isBounded tells that a rail was not opened: its current is known only to lie
// between two limits.
func isBounded(r *study.Rail) bool { return r.Bound != nil && len(r.Taps) == 0 }

// bound gives the limits of a bounded rail's current in amperes.
func bound(r *study.Rail) (lo, hi float64) {
	e := *r.Bound
	switch {
	case e.Tol != nil:
		return e.Value() - e.Tol.Minus, e.Value() + e.Tol.Plus
	case e.Kind == quantity.Band:
		return e.Values[0], e.Values[1]
	}
	return e.Value(), e.Value()
}

// inWords is an entry as it was written, for running text: its band says "to",
// and only a list of repeats may break over a line.
func (t tongue) inWords(e quantity.Entry) string {
	text := written(e)
	switch e.Kind {
	case quantity.Band:
		from, to, _ := strings.Cut(text, "..")
		return t.firm(t.Text("%s to %s", from, to))
	case quantity.Repeats:
		return minus(t.prose(t.Number(text)))
	}
	return t.firm(text)
}

// nominalText is a rail's nominal voltage as it was written.
func (t tongue) nominalText(r *study.Rail) string { return t.firm(written(r.Nominal)) }

// written is an entry in the tester's own words, or in the program's where it
// was not typed.
func written(e quantity.Entry) string {
	if e.Text != "" {
		return e.Text
	}
	return e.String()
}
