package plan

import (
	"fmt"
	"math"
	"slices"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Proof is a trial that shows whether opening the rails changed anything, or
// whether the whole chain from wire to figure is right. It is recorded as
// ordinary readings and judged by the same graph: two values that must agree,
// with the uncertainty of their difference.
type Proof struct {
	Code        string // "turns", "known-load", "drift", "surgery"
	Board, Rail string
	State       string
	Sitting     string        // of drift: in which it was read twice
	What        phrase.Phrase // the two values that must agree
	Difference  tally.Figure  // by how much they do not
	Unit        quantity.Unit
	// En is |difference|/U(difference); above 1 the two disagree (ISO 13528).
	En    float64
	Holds bool
	Text  phrase.Phrase // what it means, in sentences
	Do    phrase.Phrase // what to do where it does not hold
}

// Prove judges every trial that a tally's readings hold.
func Prove(t *tally.Tally) ([]Proof, error) {
	j := judge{t}
	var all []Proof
	for _, prove := range []func() ([]Proof, error){j.surgery, j.checks, j.knownLoads, j.drift} {
		out, err := prove()
		if err != nil {
			return nil, err
		}
		all = append(all, out...)
	}
	return all, nil
}

type judge struct{ t *tally.Tally }

// agree judges a difference that should be zero.
func (j judge) agree(p Proof, difference gum.Value, unit quantity.Unit) (Proof, error) {
	r, err := j.t.Graph.Result(difference)
	if err != nil {
		return p, fmt.Errorf("%s %s: %w", p.Board, p.Rail, err)
	}
	k := r.K(j.t.Level)
	p.Difference = tally.Figure{Value: difference, Estimate: r.Estimate, U: r.U, DOF: r.DOF, K: k, Expanded: k * r.U}
	p.Unit = unit
	switch {
	case p.Difference.Expanded > 0:
		p.En = math.Abs(r.Estimate) / p.Difference.Expanded
	case r.Estimate != 0:
		p.En = math.Inf(1)
	}
	p.Holds = p.En <= 1
	return p, nil
}

func (p Proof) difference() phrase.Number {
	return phrase.Number(quantity.FormatU(p.Difference.Estimate, p.Difference.Expanded, p.Unit))
}

// railIn finds what was read of a rail in one taking of a state.
func railIn(tk *tally.Taken, name string) *tally.RailTaken {
	for _, rt := range slices.Concat(tk.Rails, tk.Inputs) {
		if rt.Rail.Name == name && len(rt.Visits) > 0 {
			return rt
		}
	}
	return nil
}

// checks compares rails that read one current twice: N and 2N turns, two
// sensors, two places.
func (j judge) checks() (out []Proof, err error) {
	for _, b := range j.t.Boards {
		for _, r := range b.Rails {
			if r.Checks == "" {
				continue
			}
			for _, s := range b.States {
				for _, tk := range s.Taken {
					a, c := railIn(tk, r.Checks), railIn(tk, r.Name)
					if a == nil || c == nil {
						continue
					}
					p, err := j.agree(Proof{Code: "turns", Board: b.Name, Rail: r.Checks, State: s.State.Name,
						What: phrase.New("%s as %s and as %s", r.Checks, tapText(a.Rail), tapText(c.Rail))}, c.Drawn.Sub(a.Drawn), quantity.Ampere)
					if err != nil {
						return nil, err
					}
					p.Text = phrase.New("Turns, scale and sensors are right as far as this shows: the two differ by %s.", p.difference())
					if !p.Holds {
						p.Text = phrase.New("One current read twice comes out differently, by %s.", p.difference()).Then(slipOf(c.Drawn.Estimate()/a.Drawn.Estimate(), c.Rail, a.Rail))
						p.Do = phrase.New("Count the turns, look at scale switch, range and direction of both, and read them again.")
					}
					out = append(out, p)
				}
			}
		}
	}
	return out, nil
}

// slipOf guesses what makes a current come out wrong by a factor.
func slipOf(ratio float64, rails ...*study.Rail) phrase.Phrase {
	near := func(x float64) bool { return math.Abs(ratio/x-1) < 0.03 }
	switch {
	case near(-1):
		return phrase.New("The sign is turned: a clamp or a wire sits the other way round.")
	case near(10), near(0.1), near(100), near(0.01):
		return phrase.New("It is a factor of ten: look at the clamp's scale switch and the meter's range.")
	}
	for _, r := range rails {
		for _, t := range r.Taps {
			if n := float64(t.Turns); n > 1 && (near((n+1)/n) || near((n-1)/n) || near(n/(n+1)) || near(n/(n-1))) {
				return phrase.New("It is as if a turn of %s were miscounted.", r.Name)
			}
			if n := float64(t.Turns); n > 1 && (near(n) || near(1/n)) {
				return phrase.New("It is the number of turns of %s.", r.Name)
			}
		}
	}
	return phrase.Phrase{}
}

func tapText(r *study.Rail) string {
	if len(r.Taps) == 0 {
		return "not opened"
	}
	t := r.Taps[0]
	name := t.Instrument
	if name == "" {
		name = string(t.Kind)
	}
	if t.Range != "" {
		name += " " + t.Range
	}
	return name + turnsText(max(1, t.Turns))
}

// knownLoads compares what a known resistor adds with what it must add.
func (j judge) knownLoads() (out []Proof, err error) {
	for _, k := range j.t.Study.Proofs {
		with := j.t.State(study.StateOn{Board: k.Board, State: k.With})
		without := j.t.State(study.StateOn{Board: k.Board, State: k.Without})
		if with == nil || without == nil || with.Rail(k.Rail) == nil || without.Rail(k.Rail) == nil {
			continue
		}
		a, b := with.Rail(k.Rail), without.Rail(k.Rail)
		r := j.t.Graph.Input(gum.Input{Name: k.Board + " " + k.Rail + ": known load", Dist: sensing.Within(k.Resistance, 0)})
		must := a.Voltage.Value.Div(r)
		added := a.Drawn.Value.Sub(b.Drawn.Value)
		p, err := j.agree(Proof{Code: "known-load", Board: k.Board, Rail: k.Rail, State: k.With,
			What: phrase.New("%s added by %s, and what was read", phrase.Number(amps(must.Estimate())), phrase.Number(asWritten(k.Resistance)))}, added.Sub(must), quantity.Ampere)
		if err != nil {
			return nil, err
		}
		p.Text = phrase.New("Gain, sign, scale and turns are right: what was read differs by %s.", p.difference())
		if !p.Holds {
			p.Text = phrase.New("What was read differs by %s from what the known load draws.", p.difference()).Then(slipOf(added.Estimate()/must.Estimate(), a.Rail))
			p.Do = phrase.New("Look at the resistor and where it sits, at turns, scale switch, range and direction; nothing read through this chain counts before it agrees.")
		}
		out = append(out, p)
	}
	return out, nil
}

// drift compares the first and the last reading of a rail that was read more
// than once in a state of one sitting.
func (j judge) drift() (out []Proof, err error) {
	for _, b := range j.t.Boards {
		for _, s := range b.States {
			for _, tk := range s.Taken {
				for _, rt := range tk.Rails {
					n := len(rt.Visits)
					if n < 2 {
						continue
					}
					p, err := j.agree(Proof{Code: "drift", Board: b.Name, Rail: rt.Rail.Name, State: s.State.Name, Sitting: tk.Sitting.Name,
						What: phrase.New("%s first and last in %s", rt.Rail.Name, tk.Sitting.Name)}, through(rt.Visits[n-1]).Sub(through(rt.Visits[0])), quantity.Ampere)
					if err != nil {
						return nil, err
					}
					p.Text = phrase.New("Nothing drifted that the readings do not cover: %s from first to last.", p.difference())
					if !p.Holds {
						p.Text = phrase.New("It changed by %s from first to last: board, clamp or load was not steady.", p.difference())
						p.Do = phrase.New("Let the board settle longer, take zeros more often, and go through the states again.")
					}
					out = append(out, p)
				}
			}
		}
	}
	return out, nil
}

func through(v tally.Visit) gum.Value {
	vs := make([]gum.Value, len(v.Taps))
	for i, t := range v.Taps {
		vs[i] = t.Value
	}
	return gum.Sum(vs...)
}
