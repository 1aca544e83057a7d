package tally

import (
	"cmp"
	"slices"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
)

// questionVisits questions readings of one rail in one state and sitting that
// differ by more than they explain: their mean is taken, and what made them
// differ is in no interval.
func (t *Tally) questionVisits(p sensing.Place, watts []gum.Value) error {
	if len(watts) < 2 {
		return nil
	}
	byPower := func(a, b gum.Value) int { return cmp.Compare(a.Estimate(), b.Estimate()) }
	d, err := t.Figure(slices.MaxFunc(watts, byPower).Sub(slices.MinFunc(watts, byPower)))
	if err != nil || d.Lo() <= 0 {
		return err
	}
	t.Findings = append(t.Findings, sensing.Finding{
		Code: "visits-disagree", Severity: sensing.Doubtful, Board: p.Board.Name,
		Sitting: p.Sitting.Name, Rail: p.Rail.Name, States: []string{p.State},
		Text: phrase.New("The rail was read %d times in this state, and its power differs by %s, more than the readings explain; the mean is taken, and the spread is not in the uncertainty.",
			len(watts), phrase.Number(quantity.FormatU(d.Estimate, d.Expanded, quantity.Watt))),
		Do: phrase.New("Let the state settle and read again, or make two states of it."),
	})
	return nil
}

// questionRest questions a rail from which more is taken off than it carries.
func (t *Tally) questionRest(p sensing.Place, rest gum.Value) error {
	f, err := t.Figure(rest)
	if err != nil || f.Hi() >= 0 {
		return err
	}
	t.Findings = append(t.Findings, sensing.Finding{
		Code: "share-exceeds", Severity: sensing.Wrong, Board: p.Board.Name,
		Sitting: p.Sitting.Name, Rail: p.Rail.Name, States: []string{p.State},
		Text: phrase.New("What hangs on the rail takes more than the rail carries: %s are left for the chip.",
			phrase.Number(quantity.FormatU(f.Estimate, f.Expanded, quantity.Ampere))),
		Do: phrase.New("Check what the other parts draw, which rail hangs on which, and on which side of the tap."),
	})
	return nil
}
