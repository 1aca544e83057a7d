package tally

import (
	"fmt"
	"math"
	"strings"

	"railtally/internal/quantity"
)

// Answer says in a few plain sentences what the study found: first the
// comparisons that matter most to the question, then the highest total of each
// board.
func (t *Tally) Answer() []string {
	var out []string
	for _, d := range t.Headlines() {
		out = append(out, d.Sentence())
	}
	for _, b := range t.Boards {
		if s := Fullest(b); s != nil {
			out = append(out, highest(b, s))
		}
	}
	if len(out) == 0 {
		return []string{"Nothing has been measured completely yet, so there is no total to state."}
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

func highest(b *Board, s *State) string {
	chip := "the chip"
	if b.Chip != "" {
		chip = "the " + b.Chip
	}
	complete := 0
	for _, x := range b.States {
		if x.Complete {
			complete++
		}
	}
	if complete == 1 {
		return fmt.Sprintf("In %s, %s on %s draws %s.", s.State.Name, chip, b.Name, watts(s.Total))
	}
	return fmt.Sprintf("Of %d states measured, %s on %s draws most in %s: %s.",
		complete, chip, b.Name, s.State.Name, watts(s.Total))
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
func (d *Difference) Sentence() string {
	first, second, shared := d.Names()
	f := d.Difference
	size := quantity.FormatU(math.Abs(f.Estimate), f.Expanded, quantity.Watt)
	more := "more"
	if f.Estimate < 0 {
		more = "less"
	}
	where := ""
	switch {
	case d.First.Board == d.Second.Board:
		where = "On " + shared + ", "
	case shared != "":
		where = "In " + shared + ", "
	}
	margin := quantity.Format(d.Margin, quantity.Watt, 2)
	switch d.Verdict {
	case Resolved:
		s := fmt.Sprintf("%s%s draws %s %s than %s: resolved", where, first, size, more, second)
		if Within(f, d.Margin) {
			s += ", and yet equal within " + margin
		}
		return s + "."
	case Equal:
		return fmt.Sprintf("%s%s and %s are equal within %s: they differ by %s.", where, first, second, margin, size)
	}
	return fmt.Sprintf("%s%s seems to draw %s %s than %s, but that is not resolved (largest contribution: %s).",
		where, first, size, more, second, d.limit())
}

// limit names what contributes most to the difference's uncertainty.
func (d *Difference) limit() string {
	if d.Limit.Name == "" {
		return "nothing recorded"
	}
	return fmt.Sprintf("%s, %.0f %% of the variance", d.Limit.Name, 100*d.Limit.Fraction)
}

// VerdictText is the verdict with its limit: "equal within 0.15 W".
func (d *Difference) VerdictText() string {
	if d.Verdict == Equal {
		return string(Equal) + " " + quantity.Format(d.Margin, quantity.Watt, 2)
	}
	return string(d.Verdict)
}

func watts(f Figure) string { return quantity.FormatU(f.Estimate, f.Expanded, quantity.Watt) }

// LevelText says what ± means: "± is the half-width of the 95 % coverage interval".
func (t *Tally) LevelText() string {
	return "± is the half-width of the " + Percent(t.Level) + " coverage interval"
}

// Percent prints a probability: "95 %", "99.7 %".
func Percent(p float64) string {
	s := fmt.Sprintf("%.2f", 100*p)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".") + " %"
}
