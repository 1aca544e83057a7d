package tally

import (
	"railtally/internal/phrase"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// specimensOf is how many boards of the study that were measured carry the
// same chip as this one. Boards whose chip is not named stand for themselves.
func (t *Tally) specimensOf(b *study.Board) int {
	n := 0
	for _, x := range t.Boards {
		if len(x.States) > 0 && (x.Board == b || b.Chip != "" && x.Chip == b.Chip) {
			n++
		}
	}
	return n
}

// Specimens says of which specimens a statement about two boards is true.
func (t *Tally) Specimens(a, b *study.Board) phrase.Phrase {
	if a.Chip != "" && a.Chip == b.Chip {
		return phrase.New("This is about two specimens of one chip, %s and %s.", a.Name, b.Name)
	}
	na, nb := t.specimensOf(a), t.specimensOf(b)
	if na > 1 || nb > 1 {
		return phrase.New("This is about the boards %s and %s. Of their chips %d and %d specimens were measured; what they differ by tells how far it may be said of the chips.", a.Name, b.Name, na, nb)
	}
	return phrase.New("This is about the boards %s and %s, one specimen each; how far other specimens differ is not assessed.", a.Name, b.Name)
}

// questionSpecimens notes that boards are compared of whose chips only one
// specimen each was measured.
func (t *Tally) questionSpecimens() []sensing.Finding {
	single := map[string]bool{}
	var names []string
	for _, d := range t.Differences {
		if d.First.Board == d.Second.Board || d.First.Board.Chip != "" && d.First.Board.Chip == d.Second.Board.Chip {
			continue
		}
		for _, b := range []*study.Board{d.First.Board, d.Second.Board} {
			if t.specimensOf(b) == 1 && !single[b.Name] {
				single[b.Name] = true
				names = append(names, b.Name)
			}
		}
	}
	if len(names) == 0 {
		return nil
	}
	text := phrase.New("%s are one specimen each. What is said of them is said of these boards; how far chips of one type differ is not assessed and in no interval.", names)
	if len(names) == 1 {
		text = phrase.New("%s is one specimen. What is said of them is said of these boards; how far chips of one type differ is not assessed and in no interval.", names[0])
	}
	return []sensing.Finding{{
		Code: "one-specimen", Severity: sensing.Note,
		Text: text,
		Do:   phrase.New("Measure a second board with the same chip before saying it of the type."),
	}}
}
