package plan

import (
	"fmt"
	"slices"

	"railtally/internal/phrase"
	"railtally/internal/study"
)

// Trial is one of the trials that a study schedules: what is read for it, and what
// must come out.
type Trial struct {
	Code        string        // as Proof.Code
	Board, Rail string        // the rail whose proof it is, as in Proof
	State       string        // as in Proof; empty: any
	Name        phrase.Phrase // "surgery, supply in idle"
	Says        phrase.Phrase // what must come out, a sentence
}

// Judges tells whether a proof is the judgement of a trial.
func (t Trial) Judges(p Proof) bool {
	return t.Code == p.Code && t.Board == p.Board && t.Rail == p.Rail && (t.State == "" || t.State == p.State)
}

// Trials lists the trials that a study has for a board, in the order in which they
// are made: those that its inputs, its rails that check others, its known loads and
// its order of work make possible.
func Trials(s *study.Study, board string) (out []Trial) {
	b := s.Board(board)
	if b == nil || len(s.States) == 0 {
		return nil
	}
	m := &maker{scheme: SchemeOf(s), expect: expectations{study: s}}
	lost, full := m.loopLoss(b), m.expect.fullest(b)
	for _, st := range m.baseline(&Board{Board: b}) {
		for _, in := range b.Inputs {
			t := Trial{Code: "surgery", Board: board, Rail: in.Name, State: st, Name: phrase.New("surgery, %s in %s", in.Name, st),
				Says: phrase.New("The power into %s with all loops closed must be what it was before opening, and what the loops themselves take.", in.Name)}
			if lost > 0 {
				t.Says = phrase.New("The power into %s with all loops closed must be what it was before opening, and what the loops themselves take (%s expected in %s).", in.Name, phrase.Number(watts(lost)), full)
			}
			out = append(out, t)
		}
	}
	for _, k := range s.Proofs {
		r := b.Rail(k.Rail)
		if k.Board != board || r == nil {
			continue
		}
		i := r.Nominal.Value() / k.Resistance.Value()
		out = append(out, Trial{Code: "known-load", Board: board, Rail: k.Rail, State: k.With, Name: phrase.New("known load, %s on %s", phrase.Number(asWritten(k.Resistance)), k.Rail),
			Says: phrase.New("%s behind the loop of %s must add %s in %s to what is read in %s, through %s.", phrase.Number(asWritten(k.Resistance)), k.Rail, phrase.Number(amps(i)), k.With, k.Without, sensedBy(r))})
	}
	for _, r := range b.Rails {
		o := b.Rail(r.Checks)
		if r.Checks == "" || o == nil {
			continue
		}
		t := Trial{Code: "turns", Board: board, Rail: o.Name, Name: phrase.New("turns, %s and %s", o.Name, r.Name),
			Says: phrase.New("One current read twice: %s through %s and %s through %s must agree in amperes.", o.Name, sensedBy(o), r.Name, sensedBy(r))}
		if n := showsTimes(o, r); n > 0 {
			t.Says = phrase.New("One current read twice: %s through %s and %s through %s must agree in amperes, so the meter shows %s times as much.", o.Name, sensedBy(o), r.Name, sensedBy(r), phrase.Number(fmt.Sprintf("%.3g", n)))
		}
		out = append(out, t)
	}
	if first := firstRail(b); Planned(s) && m.scheme.FirstAgain && first != "" && len(s.States) > 1 {
		out = append(out, Trial{Code: "drift", Board: board, Rail: first, Name: phrase.New("drift, %s", first),
			Says: phrase.New("%s, read first, is read once more at the end of a sitting: what it has changed by has drifted.", first)})
	}
	return out
}

// TrialsAt lists the trials that the reading of a rail in a state of a sitting is
// part of; again: it is the first rail once more.
func TrialsAt(s *study.Study, board, sitting, state, rail string, again bool) []Trial {
	return slices.DeleteFunc(Trials(s, board), func(t Trial) bool {
		switch t.Code {
		case "surgery":
			return !InputsOnly(sitting) || t.Rail != rail || t.State != state
		case "known-load":
			return InputsOnly(sitting) || t.Rail != rail || !slices.ContainsFunc(s.Proofs, func(k *study.KnownLoad) bool {
				return k.Board == board && k.Rail == rail && k.With == t.State && (k.With == state || k.Without == state)
			})
		case "turns":
			r := s.Board(board).Rail(rail)
			return InputsOnly(sitting) || r == nil || r.Checks != t.Rail
		}
		return t.Rail != rail || !again
	})
}

// firstRail is the rail that a sitting reads first.
func firstRail(b *study.Board) string {
	if groups := rounds(b); len(groups) > 0 && len(groups[0]) > 0 {
		return groups[0][0].Name
	}
	return ""
}

// sensedBy says what a rail is read with: "5 turns on red clamp low".
func sensedBy(r *study.Rail) (out []phrase.Phrase) {
	for _, t := range r.Taps {
		name := phrase.Name(sensorPlain(t))
		if sensorPlain(t) == "" {
			name = phrase.Word(t.Kind)
		}
		if t.Kind == study.TapClamp {
			name = phrase.Count(max(1, t.Turns), "one turn on %s", "%s turns on %s", name)
		}
		out = append(out, name)
	}
	return out
}

// showsTimes is how many times as much the display of b shows as that of a, both on
// one clamp; 0 where they cannot be compared so.
func showsTimes(a, b *study.Rail) float64 {
	if len(a.Taps) != 1 || len(b.Taps) != 1 {
		return 0
	}
	x, y := a.Taps[0], b.Taps[0]
	if x.Kind != study.TapClamp || y.Kind != study.TapClamp || x.Instrument != y.Instrument || x.Range != y.Range || x.Turns == y.Turns {
		return 0
	}
	return float64(max(1, y.Turns)) / float64(max(1, x.Turns))
}
