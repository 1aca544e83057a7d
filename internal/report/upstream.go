package report

import (
	"fmt"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// inputs says what was read upstream of the rails in a state: a cross-check
// that is no part of the total.
func (a *assembler) inputs(s *tally.State) ([]string, error) {
	var out []string
	for _, tk := range s.Taken {
		for _, rt := range tk.Inputs {
			var said []any
			for _, x := range []struct {
				of   gum.Value
				unit quantity.Unit
			}{{rt.Voltage, quantity.Volt}, {rt.Drawn, quantity.Ampere}, {rt.Power, quantity.Watt}} {
				f, err := a.t.Figure(x.of)
				if err != nil {
					return nil, fmt.Errorf("%s, %s: %w", s.On(), rt.Rail.Name, err)
				}
				said = append(said, a.stated(f, x.unit))
			}
			out = append(out, a.Text("Read upstream as a cross-check in %s, and not counted: %s carried %s and %s, which is %s.",
				append([]any{tk.Sitting.Name, rt.Rail.Name}, said...)...))
		}
	}
	for _, u := range a.t.Upstream {
		if u.On == s.On() {
			out = append(out, a.tell(u.Sentence()))
		}
	}
	return out, nil
}
