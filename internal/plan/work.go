package plan

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"railtally/internal/plan/insertion"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Task is one step of the work, from the untouched board to the last zero.
type Task struct {
	Job      study.Job // what it is ticked off as
	Phase    string    // "before anything is opened", "opening", "trials", "sitting 1"
	Board    string
	Text     string // what to do, a sentence
	At       time.Duration
	Takes    time.Duration
	State    string   // set before, of readings
	Rails    []string // to be read
	Zeros    []string // to be taken
	Fields   []string // what to write down
	Proof    string   // the trial that it belongs to: "surgery", "known-load", "turns", "drift"
	Cautions []Caution
}

// The phases of the work, in order.
const (
	PhaseBefore = "before anything is opened"
	PhaseOpen   = "opening"
	PhaseTrials = "trials with all loops closed"
)

// work lists everything that is to be done, board by board.
func (m *maker) work(p *Plan, v variant) (out []Task) {
	for _, b := range p.Boards {
		out = append(out, m.beforeOpening(b)...)
		out = append(out, m.openings(b)...)
		out = append(out, m.trials(p, b)...)
		for k := range max(1, v.scheme.Sittings) {
			out = append(out, m.sitting(v, b, k)...)
		}
	}
	return out
}

// baseline are the states in which the input power is compared: the first and
// the fullest.
func (m *maker) baseline(b *Board) []string {
	first := m.expect.study.States[0].Name
	if full := m.expect.fullest(b.Board); full != first {
		return []string{first, full}
	}
	return []string{first}
}

func (m *maker) beforeOpening(b *Board) []Task {
	states := m.baseline(b)
	t := Task{Job: study.JobBefore, Phase: PhaseBefore, Board: b.Name, Proof: "surgery", Takes: time.Duration(len(states)) * (m.scheme.Times.State + m.scheme.Times.Settle + m.scheme.Times.Reading),
		Text: fmt.Sprintf("Read the power that the untouched board takes at its input, in %s, as a sitting of its own.", quantity.Join(states)), Cautions: []Caution{CautionMains, CautionHot}}
	if len(b.Inputs) == 0 {
		t.Text += fmt.Sprintf(" No input of %s is recorded: record one (as an input that is read as a cross-check), or write down what its supply shows.", b.Name)
	}
	for _, st := range states {
		if len(b.Inputs) == 0 {
			t.Fields = append(t.Fields, "supply, "+st+": V, A")
		}
		for _, in := range b.Inputs {
			t.Fields = append(t.Fields, in.Name+", "+st+": V, A")
		}
	}
	return []Task{t, {Job: study.JobPhotograph, Phase: PhaseBefore, Board: b.Name, Text: "Photograph both sides of the board, and mark on the photograph where each rail will be opened.", Takes: 5 * time.Minute}}
}

func (m *maker) openings(b *Board) (out []Task) {
	for _, r := range b.Rails {
		if slices.Contains(b.Inputs, r.Rail) || len(r.Taps) == 0 || r.Checks != "" {
			continue
		}
		t := Task{Job: study.JobOpen, Phase: PhaseOpen, Board: b.Name, Takes: time.Duration(len(r.Taps)) * m.scheme.Times.Solder, Rails: []string{r.Name},
			Cautions: []Caution{CautionPowerOff, CautionStatic, CautionFumes, CautionOneRail}}
		var what []string
		for _, tap := range r.Taps {
			what = append(what, openText(r.Rail, tap))
			if tap.Kind == study.TapClamp || tap.Kind == study.TapShunt {
				t.Cautions = append(t.Cautions, CautionLoop)
			}
			if tap.Kind == study.TapSeries {
				t.Cautions = append(t.Cautions, CautionCurrent)
			}
		}
		t.Cautions = append(t.Cautions, CautionProbe)
		t.Text = r.Name + ": " + strings.Join(what, "; ") + ". Solder thin wires to its voltage at the chip's side."
		t.Fields = []string{"where it was opened", "length and gauge of the loop", "resistance over it, power off"}
		t.Cautions = inOrder(t.Cautions)
		out = append(out, t, Task{Job: study.JobPowerUp, Phase: PhaseOpen, Board: b.Name, Rails: []string{r.Name}, Takes: 5 * time.Minute,
			Text:   powerUpText(r.Rail),
			Fields: []string{r.Name + ": V at the chip, idle"}, Cautions: []Caution{CautionFirst, CautionHot}})
	}
	return out
}

// powerUpText says what is looked at once a rail is closed again.
func powerUpText(r *study.Rail) string {
	if !slices.ContainsFunc(r.Taps, func(t *study.Tap) bool { return t.Kind == study.TapClamp }) {
		return fmt.Sprintf("Power up and see that the board works with %s sensed as planned.", r.Name)
	}
	return fmt.Sprintf("Power up and see that the board works with %s closed through its loop, clamp on and clamp off.", r.Name)
}

// openText says what is done to open a rail at a tap.
func openText(r *study.Rail, t *study.Tap) string {
	phase := ""
	if t.Name != "" {
		phase = " (" + t.Name + ")"
	}
	switch t.Kind {
	case study.TapSense:
		return "leave the sense resistor" + phase + " in place and solder two thin wires to the inner edges of its pads"
	case study.TapInductor:
		return "leave the inductor" + phase + " in place and solder two thin wires to its ends"
	}
	open := map[study.Feed]string{study.InductorLeg: "lift the inductor's leg at the output capacitor's side", study.ZeroOhmLink: "take off the zero-ohm link",
		study.Bead: "take off the bead", study.SenseResistor: "take off the sense resistor", study.Wire: "cut the wire"}[r.Feed]
	switch {
	case open == "":
		open = "open it"
	case r.Feed == study.InductorLeg && r.Opening != nil && r.Opening.Side == study.SwitchSide:
		open = "lift the inductor's leg at the switch side"
	}
	switch t.Kind {
	case study.TapShunt:
		name := t.Instrument
		if name == "" {
			name = "the shunt"
		}
		return open + phase + " and put " + name + " in its place, with its sense wires inside the current pads"
	case study.TapSeries:
		return open + phase + " and lead both pads out to " + t.Instrument
	}
	loop := "a loop of wire"
	if t.Loop != nil {
		loop = "a loop of " + t.Loop.String()
	}
	return open + phase + " and close it with " + loop + turnsThrough(t)
}

func turnsThrough(t *study.Tap) string {
	if t.Turns > 1 {
		return fmt.Sprintf(" that passes the jaw %d times", t.Turns)
	}
	return ""
}

// trials are what proves that the surgery changed nothing and that the chain is
// right.
func (m *maker) trials(p *Plan, b *Board) []Task {
	states := m.baseline(b)
	back := Task{Job: study.JobClosed, Phase: PhaseTrials, Board: b.Name, Proof: "surgery", Takes: time.Duration(len(states)) * (m.scheme.Times.State + m.scheme.Times.Settle + m.scheme.Times.Reading),
		Text: fmt.Sprintf("With every loop closed and no clamp on, read the input power in %s again. It may have grown by what the loops take (%s in %s).", quantity.Join(states), watts(m.loopLoss(b.Board)), m.expect.fullest(b.Board)), Cautions: []Caution{CautionHot}}
	for _, st := range states {
		back.Fields = append(back.Fields, "input, "+st+": V, A")
	}
	out := []Task{back}
	for _, k := range p.Study.Proofs {
		if k.Board != b.Name {
			continue
		}
		r := b.Board.Rail(k.Rail)
		i := r.Nominal.Value() / k.Resistance.Value()
		out = append(out, Task{Job: study.JobKnownLoad, State: k.With, Phase: PhaseTrials, Board: b.Name, Proof: "known-load", Rails: []string{k.Rail}, Takes: 10 * time.Minute,
			Text:   fmt.Sprintf("Put %s across %s behind its loop: %s must add %s (%s in the resistor).", asWritten(k.Resistance), k.Rail, k.With, amps(i), watts(i*r.Nominal.Value())),
			Fields: []string{k.Rail + " in " + k.Without, k.Rail + " in " + k.With}, Cautions: []Caution{CautionPowerOff, CautionKnownLoad, CautionHot}})
	}
	if !slices.ContainsFunc(p.Study.Proofs, func(k *study.KnownLoad) bool { return k.Board == b.Name }) {
		if t, ok := m.proposeLoad(b); ok {
			out = append(out, t)
		}
	}
	return append(out, m.turnsTrials(b)...)
}

// loopLoss is what all loops of a board take in its fullest state, in watts.
func (m *maker) loopLoss(b *study.Board) (w float64) {
	full := m.expect.fullest(b)
	for _, r := range b.Rails {
		if r.Checks != "" {
			continue
		}
		i := m.expect.of(b, r, full).Amps / float64(max(1, len(r.Taps)))
		for _, t := range r.Taps {
			if t.Loop != nil {
				w += i * i * insertion.LoopResistance(*t.Loop)
			}
		}
	}
	return w
}

// proposeLoad names a resistor that would prove a rail, where the study has none:
// one that draws a twentieth of a clamp's range on the rail with the most power.
func (m *maker) proposeLoad(b *Board) (Task, bool) {
	var best *Rail
	for _, r := range b.Rails {
		if len(r.Taps) == 1 && r.Known && r.Highest > 0 && !slices.Contains(b.Inputs, r.Rail) && (best == nil || r.Highest*r.Nominal.Value() > best.Highest*best.Nominal.Value()) {
			best = r
		}
	}
	if best == nil {
		return Task{}, false
	}
	ohm := niceBelow(best.Nominal.Value() / (0.1 * best.Highest))
	i := best.Nominal.Value() / ohm
	return Task{Job: study.JobKnownLoad, Phase: PhaseTrials, Board: b.Name, Proof: "known-load", Rails: []string{best.Name}, Takes: 10 * time.Minute,
		Text:   fmt.Sprintf("Put a resistor of about %s, known to 1 %%, across %s behind its loop: it must add %s (%s in the resistor). Record it as a state of its own and under proofs.", ohms(ohm), best.Name, amps(i), watts(i*best.Nominal.Value())),
		Fields: []string{best.Name + " without", best.Name + " with the load"}, Cautions: []Caution{CautionPowerOff, CautionKnownLoad, CautionHot}}, true
}

// turnsTrials read each rail that has several turns with as many and with twice
// as many.
func (m *maker) turnsTrials(b *Board) (out []Task) {
	for _, r := range b.Rails {
		switch {
		case r.Checks != "":
			out = append(out, Task{Job: study.JobTurns, Phase: PhaseTrials, Board: b.Name, Proof: "turns", Rails: []string{r.Checks, r.Name}, Takes: 10 * time.Minute,
				Text:   fmt.Sprintf("Read %s both ways, as %s and as %s, in one state: the two must agree.", r.Checks, tapText(b.Board.Rail(r.Checks)), tapText(r.Rail)),
				Fields: []string{r.Checks, r.Name}, Cautions: []Caution{CautionPowerOff}})
		case len(r.Taps) == 1 && r.Taps[0].Turns > 1 && !slices.ContainsFunc(b.Rails, func(o *Rail) bool { return o.Checks == r.Name }):
			n := r.Taps[0].Turns
			out = append(out, Task{Job: study.JobTurns, Phase: PhaseTrials, Board: b.Name, Proof: "turns", Rails: []string{r.Name}, Takes: 10 * time.Minute,
				Text:   fmt.Sprintf("Read %s with %d and with %d turns in one state: what is read must double. A miscounted turn of %d is %s. Record the second as a rail of its own that does not itself enter the chip and checks %s.", r.Name, n, 2*n, n, pct(1/float64(n)), r.Name),
				Fields: []string{fmt.Sprintf("%s ×%d", r.Name, n), fmt.Sprintf("%s ×%d", r.Name, 2*n)}, Cautions: []Caution{CautionPowerOff}})
		}
	}
	return out
}

// sitting lists the visits of one sitting.
func (m *maker) sitting(v variant, b *Board, k int) (out []Task) {
	phase := fmt.Sprintf("sitting %d", k+1)
	out = append(out, Task{Job: study.JobSitting, Phase: phase, Board: b.Name, Takes: v.scheme.Times.WarmUp, Fields: []string{"day", "room °C", "by"},
		Text: "Switch on board, meters and clamps and let them warm up. Write down the day and the room.", Cautions: []Caution{CautionHot}})
	for _, x := range visits(b.Board, m.order[b.Name], v.scheme, m.expect.study.Proofs) {
		t := x.task()
		t.Job, t.Phase, t.Board = study.JobSitting, phase, b.Name
		out = append(out, t)
	}
	return out
}

func sensorPlain(t *study.Tap) string {
	if t.Range == "" {
		return t.Instrument
	}
	return t.Instrument + " " + t.Range
}

// Takes is how long the work lasts altogether, and its sittings alone.
func (p *Plan) Takes() (all, sittings time.Duration) {
	for _, t := range p.Work {
		all += t.Takes
		if strings.HasPrefix(t.Phase, "sitting") {
			sittings += t.Takes
		}
	}
	return all, sittings
}

// Jobs lists the work at a board as steps that are ticked off, in order; what is
// done in its sittings, each led through halt by halt, is one step.
func (p *Plan) Jobs(board string) (out []Task) {
	days := 0
	for _, t := range p.Work {
		switch {
		case t.Board != board:
			continue
		case t.Job != study.JobSitting:
			out = append(out, t)
			continue
		}
		if len(out) == 0 || out[len(out)-1].Job != study.JobSitting {
			out = append(out, Task{Job: study.JobSitting, Board: board, Phase: "sittings"})
		}
		last := &out[len(out)-1]
		if len(t.Fields) > 0 && t.State == "" && len(t.Zeros) == 0 && len(t.Rails) == 0 {
			days++
		}
		last.Takes += t.Takes
		last.Cautions = inOrder(append(last.Cautions, t.Cautions...))
	}
	if n := len(out); n > 0 && days > 0 {
		x := &out[n-1]
		x.Text = fmt.Sprintf("Measure: %s of about %s, halt by halt through zeros, states and rails", counted(days, "sitting"), Minutes(x.Takes/time.Duration(days)))
		if days > 1 {
			x.Text += ", on different days, with the clamps put on anew"
		}
		if p.Scheme.FirstAgain {
			x.Text += "; the first rail is read once more at the end"
		}
		x.Text += "."
	}
	return out
}

func counted(n int, what string) string {
	if n == 1 {
		return "one " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
