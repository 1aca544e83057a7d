package plan

import (
	"fmt"

	"railtally/internal/plan/insertion"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// place says what matters about where the rail is opened.
func (o *Opening) place(b *study.Board, r *study.Rail, t *study.Tap) {
	var k study.Opening
	if r.Opening != nil {
		k = *r.Opening
	}
	if r.Feed == study.InductorLeg {
		o.inductor(r, k)
	} else {
		o.loadSide(r, k)
	}
	switch r.Feed {
	case "":
		o.remark("feed-unknown", Ask, "Where is the rail to be opened?", "Say feed: inductor leg, zero-ohm link, bead, sense resistor or wire.")
	case study.Bead:
		o.remark("bead", Note, "A bead taken out is a filter taken out.", "Put it in series with the loop, or note that it is missing.")
	case study.SenseResistor:
		o.remark("sense-resistor", Note, "A sense resistor that is there already can be read without opening anything, and the regulator may depend on it.",
			"Read over it if its value is known; leave it in the circuit.")
	}
	if r.From != nil {
		o.remark("hangs-on", Note, fmt.Sprintf("%s hangs on %s: its drop adds to that of %s's loop, and its current passes both.", r.Name, r.From.Rail, r.From.Rail), "")
	}
	for _, c := range b.Rails {
		if c.From != nil && c.From.Rail == r.Name {
			o.remark("feeds", Note, fmt.Sprintf("%s hangs on this rail: this loop carries its current too, and its regulator loses the drop from its head-room.", c.Name),
				"What is expected here must include it.")
		}
	}
	if t.Kind == study.TapClamp && o.Current > 1 {
		o.remark("neighbour", Note, fmt.Sprintf("At 20 mm this loop makes %.0f µT, as much as the earth's field or more, in another clamp's jaw.", 1e6*insertion.NeighbourField(o.Current, 0.02)),
			"Keep other loops 50 mm away and at right angles.")
	}
}

// inductor says what matters where the leg of an inductor is lifted.
func (o *Opening) inductor(r *study.Rail, k study.Opening) {
	switch r.Converter {
	case study.Buck:
	case "":
		o.remark("converter", Ask, "Only a buck's inductor carries the output current.", "Make sure what kind of converter it is, and record it.")
	default:
		o.remark("converter", Wrong, fmt.Sprintf("The inductor of a %s converter does not carry the output current.", r.Converter), "Open the rail behind the output capacitor instead.")
	}
	switch k.Side {
	case study.SwitchSide:
		o.remark("side", Wrong, "At the switch side the wire swings by the whole input voltage within nanoseconds: it radiates, couples into the clamp and may upset the gate driver.", "Lift the leg at the output capacitor's side.")
	case "":
		o.remark("side", Ask, "Which leg of the inductor is lifted?", "Lift the one at the output capacitor, and record it (side: capacitor side).")
	}
	switch {
	case k.Phases == 0:
		o.remark("phases", Ask, "How many phases has the regulator?", "Each phase needs a loop of its own; record how many there are (phases).")
	case k.Phases > len(r.Taps):
		o.remark("phases", Wrong, fmt.Sprintf("The regulator has %d phases, and %s: one phase times their number is a guess, they share to 5 or 10 %% at best (from memory).", k.Phases, count(len(r.Taps), "tap is", "taps are")), "Open every phase, or open the rail behind the common output capacitors.")
	case k.Phases < len(r.Taps):
		o.remark("phases", Doubtful, fmt.Sprintf("There are %d taps for %s.", len(r.Taps), count(k.Phases, "phase", "phases")), "Correct one of the two.")
	}
	switch k.Sensing {
	case study.LoopInside:
		text := "The regulator senses its current over the winding, and the loop lies inside the taps of that sensing: it adds to the winding."
		if k.Winding != nil && o.Added > 0 {
			g := insertion.WindingGain(k.Winding.Value(), o.Added)
			text += fmt.Sprintf(" %s with %s: the regulator believes %.1f times the current, a limit of 30 A trips at %s, and a load line falls as many times too far.",
				ohms(o.Added), ohms(k.Winding.Value()), g, amps(30/g))
		}
		o.remark("winding-sensing", Wrong, text, "Put the loop outside the taps.")
	case "":
		o.remark("winding-sensing", Ask, "Does the regulator sense its current over the inductor's winding (a resistor and a capacitor across the inductor)?",
			"If so the loop must lie outside their taps; record where it lies (winding sensing).")
	}
	if o.Henries > 0 {
		if k.Inductor != nil {
			l := k.Inductor.Value()
			o.remark("ripple", grade(o.Henries/l > 0.1, Doubtful, Note), fmt.Sprintf("%s more in series with %s changes the ripple by %s; the mean does not change.",
				quantity.Format(o.Henries, quantity.Henry, 2), quantity.Format(l, quantity.Henry, 2), pct(l/(l+o.Henries)-1)), "")
		} else {
			o.remark("ripple", Note, fmt.Sprintf("About %s more in series with the inductor; harmless to the mean.", quantity.Format(o.Henries, quantity.Henry, 2)), "")
		}
	}
}

// loadSide says what the loop's inductance does behind the bulk capacitors.
func (o *Opening) loadSide(r *study.Rail, k study.Opening) {
	if o.Henries == 0 {
		return
	}
	about := quantity.Format(o.Henries, quantity.Henry, 2)
	band, _ := toleranceBand(r)
	ring := ""
	if k.Capacitor != nil {
		f, z := insertion.Ring(o.Henries, k.Capacitor.Value())
		ring = fmt.Sprintf(" With %s at the chip it rings at %s with %s.", quantity.Format(k.Capacitor.Value(), quantity.Farad, 2),
			quantity.Format(f, quantity.Hertz, 2), ohms(z))
	}
	const cure = "Put bulk capacitance with some series resistance at the chip's side of the loop; press the legs of the loop together but where the clamp sits; try the board under load with the clamp on before measuring."
	if k.Step == nil {
		o.remark("kick", Ask, fmt.Sprintf("The loop and clamp put about %s between capacitors and chip: a load step of 1 A/µs makes %s there.%s How fast does the load step?",
			about, volts(insertion.Kick(o.Henries, 1e6)), ring), "Record the largest step of the load and its time (step, step time). "+cure)
		return
	}
	farads := 0.0
	if k.Capacitor != nil {
		farads = k.Capacitor.Value()
	}
	kick := insertion.StepDip(o.Henries, farads, k.Step.Value(), k.StepTime.Value())
	g := Sound
	switch {
	case kick > band:
		g = Wrong
	case kick > band/2:
		g = Doubtful
	}
	o.remark("kick", g, fmt.Sprintf("The loop and clamp put about %s between capacitors and chip: a step of %s in %s makes up to %s there, %s of what the rail may fall.%s", about,
		amps(k.Step.Value()), quantity.Format(k.StepTime.Value(), quantity.Second, 2), volts(kick), pct(kick/band), ring), cure)
}

func grade(yes bool, a, b Grade) Grade {
	if yes {
		return a
	}
	return b
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
