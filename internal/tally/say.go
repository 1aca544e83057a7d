package tally

import (
	"fmt"
	"math"
	"strings"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
)

// Answer says in a few plain sentences what the study found: first the
// comparisons that matter most to the question, then the highest total of each
// board.
func (t *Tally) Answer() []phrase.Phrase {
	var out []phrase.Phrase
	for _, d := range t.Headlines() {
		out = append(out, d.Sentence())
	}
	for _, b := range t.Boards {
		if s := Fullest(b); s != nil {
			out = append(out, highest(b, s))
		}
	}
	if len(out) == 0 {
		return []phrase.Phrase{phrase.New("Nothing has been measured completely yet, so there is no total to state.")}
	}
	return out
}

// Measured tells whether any state has a total.
func Measured(t *Tally) bool {
	for _, b := range t.Boards {
		if Fullest(b) != nil {
			return true
		}
	}
	return false
}

// Fullest returns the complete state of a board with the highest total, or nil.
func Fullest(b *Board) *State {
	var full *State
	for _, s := range b.States {
		if s.Complete && (full == nil || s.Total.Estimate > full.Total.Estimate) {
			full = s
		}
	}
	return full
}

func highest(b *Board, s *State) phrase.Phrase {
	complete := 0
	for _, x := range b.States {
		if x.Complete {
			complete++
		}
	}
	switch {
	case complete == 1 && b.Chip == "":
		return phrase.New("In %s, the chip on %s draws %s.", s.State.Name, b.Name, watts(s.Total))
	case complete == 1:
		return phrase.New("In %s, the %s on %s draws %s.", s.State.Name, b.Chip, b.Name, watts(s.Total))
	case b.Chip == "":
		return phrase.New("Of %d states measured, the chip on %s draws most in %s: %s.", complete, b.Name, s.State.Name, watts(s.Total))
	}
	return phrase.New("Of %d states measured, the %s on %s draws most in %s: %s.", complete, b.Chip, b.Name, s.State.Name, watts(s.Total))
}

// headlineCount is how many comparisons an answer names.
const headlineCount = 3

// Headlines are the comparisons that an answer names: the study's own in its
// order, or, where it asked for none, those across boards of the fullest states.
func (t *Tally) Headlines() []*Difference {
	ds := t.Differences
	if len(t.Study.Comparisons) == 0 {
		var across []*Difference
		for _, d := range ds {
			if d.First.Board != d.Second.Board {
				across = append(across, d)
			}
		}
		if len(across) > 0 {
			ds = across
		}
		// The last states of a study are its fullest, by habit.
		if n := len(ds) - headlineCount; n > 0 {
			ds = ds[n:]
		}
	}
	return ds[:min(len(ds), headlineCount)]
}

// Names gives the two sides of a difference as people would tell them apart:
// boards where the state is the same, states where the board is, else both.
func (d *Difference) Names() (first, second, shared string) {
	switch {
	case d.First.Board != d.Second.Board && d.First.State == d.Second.State:
		return d.First.Board.Name, d.Second.Board.Name, d.First.State.Name
	case d.First.Board == d.Second.Board:
		return d.First.State.Name, d.Second.State.Name, d.First.Board.Name
	}
	return d.First.On().String(), d.Second.On().String(), ""
}

// Sentence says what the difference is and what may be said about it.
func (d *Difference) Sentence() phrase.Phrase {
	first, second, shared := d.Names()
	f := d.Difference
	size := phrase.Number(quantity.FormatU(math.Abs(f.Estimate), f.Expanded, quantity.Watt))
	var where phrase.Phrase
	switch {
	case d.First.Board == d.Second.Board:
		where = phrase.New("On %s, ", shared)
	case shared != "":
		where = phrase.New("In %s, ", shared)
	}
	margin := phrase.Number(quantity.Format(d.Margin, quantity.Watt, 2))
	less, within := f.Estimate < 0, Within(f, d.Margin)
	switch {
	case d.Verdict == Resolved && within && less:
		return phrase.New("%s%s draws %s less than %s: resolved, and yet equal within %s.", where, first, size, second, margin)
	case d.Verdict == Resolved && within:
		return phrase.New("%s%s draws %s more than %s: resolved, and yet equal within %s.", where, first, size, second, margin)
	case d.Verdict == Resolved && less:
		return phrase.New("%s%s draws %s less than %s: resolved.", where, first, size, second)
	case d.Verdict == Resolved:
		return phrase.New("%s%s draws %s more than %s: resolved.", where, first, size, second)
	case d.Verdict == Equal:
		return phrase.New("%s%s and %s are equal within %s: they differ by %s.", where, first, second, margin, size)
	case less:
		return phrase.New("%s%s seems to draw %s less than %s, but that is not resolved (largest contribution: %s).", where, first, size, second, d.limit())
	}
	return phrase.New("%s%s seems to draw %s more than %s, but that is not resolved (largest contribution: %s).", where, first, size, second, d.limit())
}

// limit names what contributes most to the difference's uncertainty.
func (d *Difference) limit() phrase.Phrase {
	if d.Limit.Name == "" {
		return phrase.New("nothing recorded")
	}
	return phrase.New("%s, %.0f %% of the variance", phrase.Word(d.Limit.Name), 100*d.Limit.Fraction)
}

// VerdictText is the verdict with its limit: "equal within 0.15 W".
func (d *Difference) VerdictText() phrase.Phrase {
	if d.Verdict == Equal {
		return phrase.New("equal within %s", phrase.Number(quantity.Format(d.Margin, quantity.Watt, 2)))
	}
	return phrase.Word(d.Verdict)
}

func watts(f Figure) phrase.Number {
	return phrase.Number(quantity.FormatU(f.Estimate, f.Expanded, quantity.Watt))
}

// LevelText says what ± means: "± is the half-width of the 95 % coverage interval".
func (t *Tally) LevelText() phrase.Phrase {
	return phrase.New("± is the half-width of the %s coverage interval", phrase.Number(Percent(t.Level)))
}

// Percent prints a probability: "95 %", "99.7 %".
func Percent(p float64) string {
	s := fmt.Sprintf("%.2f", 100*p)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".") + " %"
}
