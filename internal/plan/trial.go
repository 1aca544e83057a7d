package plan

import (
	"fmt"
	"slices"
	"strings"

	"railtally/internal/study"
)

// Trial is one of the trials that a study schedules: what is read for it, and what
// must come out.
type Trial struct {
	Code        string // as Proof.Code
	Board, Rail string // the rail whose proof it is, as in Proof
	State       string // as in Proof; empty: any
	Name        string // "surgery, supply in idle"
	Says        string // what is compared, a sentence
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
	loss := ""
	if w := m.loopLoss(b); w > 0 {
		loss = fmt.Sprintf(" (%s expected in %s)", watts(w), m.expect.fullest(b))
	}
	for _, st := range m.baseline(&Board{Board: b}) {
		for _, in := range b.Inputs {
			out = append(out, Trial{Code: "surgery", Board: board, Rail: in.Name, State: st, Name: "surgery, " + in.Name + " in " + st,
				Says: fmt.Sprintf("The power into %s with all loops closed must be what it was before opening, and what the loops themselves take%s.", in.Name, loss)})
		}
	}
	for _, k := range s.Proofs {
		r := b.Rail(k.Rail)
		if k.Board != board || r == nil {
			continue
		}
		i := r.Nominal.Value() / k.Resistance.Value()
		out = append(out, Trial{Code: "known-load", Board: board, Rail: k.Rail, State: k.With, Name: "known load, " + asWritten(k.Resistance) + " on " + k.Rail,
			Says: fmt.Sprintf("%s behind the loop of %s must add %s in %s to what is read in %s, through %s.", asWritten(k.Resistance), k.Rail, amps(i), k.With, k.Without, sensedBy(r))})
	}
	for _, r := range b.Rails {
		o := b.Rail(r.Checks)
		if r.Checks == "" || o == nil {
			continue
		}
		out = append(out, Trial{Code: "turns", Board: board, Rail: o.Name, Name: "turns, " + o.Name + " and " + r.Name,
			Says: fmt.Sprintf("One current read twice: %s through %s and %s through %s must agree in amperes%s.", o.Name, sensedBy(o), r.Name, sensedBy(r), showsTimes(o, r))})
	}
	if first := firstRail(b); m.scheme.FirstAgain && first != "" && len(s.States) > 1 {
		out = append(out, Trial{Code: "drift", Board: board, Rail: first, Name: "drift, " + first,
			Says: first + ", read first, is read once more at the end of a sitting: what it has changed by has drifted."})
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
func sensedBy(r *study.Rail) string {
	var out []string
	for _, t := range r.Taps {
		name := sensorPlain(t)
		if name == "" {
			name = "a " + string(t.Kind)
		}
		if t.Kind == study.TapClamp {
			name = passes(t) + " on " + name
		}
		out = append(out, name)
	}
	return strings.Join(out, " and ")
}

// showsTimes says how the displays of two rails on one clamp compare.
func showsTimes(a, b *study.Rail) string {
	if len(a.Taps) != 1 || len(b.Taps) != 1 {
		return ""
	}
	x, y := a.Taps[0], b.Taps[0]
	if x.Kind != study.TapClamp || y.Kind != study.TapClamp || x.Instrument != y.Instrument || x.Range != y.Range || x.Turns == y.Turns {
		return ""
	}
	return fmt.Sprintf(", so the meter shows %.3g times as much", float64(y.Turns)/float64(x.Turns))
}
