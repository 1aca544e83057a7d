package across

import (
	"fmt"

	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// Format names the JSON form of a comparison and its version.
const Format = "railtally comparison 1"

// Document is the JSON form of a comparison. docs/compare.md describes it.
type Document struct {
	Format string  `json:"format"`
	First  string  `json:"first"` // how the studies are told apart
	Second string  `json:"second"`
	Level  float64 `json:"level"`
	// Differences are the second study less the first.
	Differences []tally.DocDifference `json:"differences"`
	Boards      []tally.DocBoard      `json:"boards"`
	Shared      []string              `json:"shared_instruments"`
	Sittings    tally.DocSittings     `json:"sittings"`
	Notes       []string              `json:"notes"`
}

// Document builds the JSON form; t is the tally of the merged study.
func (m *Merged) Document(t *tally.Tally) (*Document, error) {
	d, err := t.Document(nil)
	if err != nil {
		return nil, err
	}
	out := &Document{Format: Format, First: m.Labels[0], Second: m.Labels[1], Level: t.Level, Differences: d.Differences, Boards: d.Boards,
		Shared: m.Shared, Sittings: d.Sittings, Notes: append([]string{m.SittingsText(t)}, m.Notes...)}
	if out.Shared == nil {
		out.Shared = []string{}
	}
	return out, nil
}

// SittingsText says what is known of how far another sitting alone moves the
// power. Between two studies every difference is one of sittings.
func (m *Merged) SittingsText(t *tally.Tally) string {
	x := t.Sittings
	if !x.Assessed && x.Carried == nil {
		return "How far another sitting alone moves the power is not assessed: no state was measured in two sittings of one study. A difference between the studies may be no more than that, and no interval here contains it."
	}
	from := "from states that were measured in several sittings"
	if x.Carried != nil {
		from = "from " + x.Carried.Source()
		if x.Assessed {
			from += " and these sittings"
		}
	}
	return fmt.Sprintf("Another sitting alone moves the power by %s (one standard deviation with %.3g degrees of freedom, %s); each sitting's part is in every difference.",
		quantity.Format(x.SD, quantity.Watt, 2), x.DOF, from)
}
