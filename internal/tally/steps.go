package tally

import "railtally/internal/phrase"

// Step is one stair on the way from a board's barest state to its fullest: one
// state against the one before it, which differs from it in a single factor.
type Step struct {
	*Difference
	Factor, From, To string
}

// stepsOf walks from the state with every factor at its first level, changing
// one factor at a time, always on to the lowest total that one change reaches
// and that was not passed yet, until the fullest state or as far as that leads.
// The steps are differences like any others: those within one sitting lose
// what the sitting has in common.
func (t *Tally) stepsOf(b *Board) ([]Step, error) {
	at, full := barest(t, b), Fullest(b)
	if at == nil {
		return nil, nil
	}
	seen := map[*State]bool{at: true}
	var out []Step
	for at != full {
		var next *State
		for _, s := range b.States {
			if !s.Complete || seen[s] || len(s.State.DiffersIn(at.State)) != 1 {
				continue
			}
			if next == nil || s.Total.Estimate < next.Total.Estimate {
				next = s
			}
		}
		if next == nil {
			return out, nil
		}
		d, err := t.Compare(next, at)
		if err != nil {
			return nil, err
		}
		f := next.State.DiffersIn(at.State)[0]
		out = append(out, Step{Difference: d, Factor: f, From: at.State.Level(f), To: next.State.Level(f)})
		seen[next] = true
		at = next
	}
	return out, nil
}

// barest is the complete state with the most factors at their first level.
func barest(t *Tally, b *Board) *State {
	var best *State
	most := -1
	for _, s := range b.States {
		if !s.Complete {
			continue
		}
		n := 0
		for _, f := range t.Study.Factors {
			if len(f.Levels) > 0 && s.State.Level(f.Name) == f.Levels[0] {
				n++
			}
		}
		if n > most {
			best, most = s, n
		}
	}
	return best
}

// StepsText says why steps do not add up to the totals shown, where some were
// taken within fewer sittings than these; otherwise nothing.
func (b *Board) StepsText() phrase.Phrase {
	for _, s := range b.Steps {
		if len(s.Within) > 0 {
			return phrase.New("A step is taken within the sittings in which both its states were measured; where these are fewer than the totals rest on, it is not exactly the difference of the totals.")
		}
	}
	return phrase.Phrase{}
}
