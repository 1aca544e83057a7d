package bundle

import (
	"encoding/json"
	"fmt"

	"railtally/internal/table"
	"railtally/internal/tally"
)

// FiguresFormat names the JSON form of the published figures and its version.
const FiguresFormat = "railtally figures 1"

// Figures is every figure that a study publishes. docs/bundle.md describes it.
type Figures struct {
	Format string  `json:"format"`
	Study  string  `json:"study"`
	Level  float64 `json:"level"`
	// Figures stand in the order of the page.
	Figures []Stated `json:"figures"`
}

// Stated is one figure under the name by which it is known, as it is published
// to the last digit. Value, U and Expanded are SI and unrounded.
type Stated struct {
	Name     string  `json:"name"`
	Stated   string  `json:"stated"`
	Unit     string  `json:"unit,omitempty"`
	Value    float64 `json:"value"`
	U        float64 `json:"u"`
	Expanded float64 `json:"expanded"`
}

// FiguresOf lists the figures of a tally.
func FiguresOf(t *tally.Tally) *Figures {
	out := &Figures{Format: FiguresFormat, Study: t.Study.Question, Level: t.Level, Figures: []Stated{}}
	for _, p := range table.Figures(t) {
		out.Figures = append(out.Figures, Stated{p.Name, p.Stated, p.Unit.Symbol(), p.Figure.Estimate, p.Figure.U, p.Figure.Expanded})
	}
	return out
}

func readFigures(text []byte) (*Figures, error) {
	var f Figures
	if err := json.Unmarshal(text, &f); err != nil {
		return nil, err
	}
	if f.Format != FiguresFormat {
		return nil, fmt.Errorf("its format is %q: %q is read", f.Format, FiguresFormat)
	}
	return &f, nil
}
