package plan

import "slices"

// Caution is what to mind at a step. They stand where the hand is about to move.
// They inform; the board maker's instructions, the employer's rules and local
// codes come first, and mains circuits belong to people licensed for them.
type Caution string

// The cautions, in the order in which they are shown.
const (
	CautionMains     Caution = "mains"
	CautionPowerOff  Caution = "power off"
	CautionStatic    Caution = "static"
	CautionFumes     Caution = "fumes"
	CautionOneRail   Caution = "one rail"
	CautionLoop      Caution = "loop"
	CautionFirst     Caution = "first power"
	CautionHot       Caution = "hot"
	CautionProbe     Caution = "probe"
	CautionCurrent   Caution = "current jack"
	CautionOverload  Caution = "overload"
	CautionKnownLoad Caution = "load"
)

// cautions lists them in the order in which they are shown.
var cautions = [...]Caution{CautionMains, CautionPowerOff, CautionStatic, CautionFumes, CautionOneRail, CautionLoop, CautionFirst,
	CautionHot, CautionProbe, CautionCurrent, CautionOverload, CautionKnownLoad}

// inOrder puts cautions into the order in which they are shown, each once.
func inOrder(list []Caution) (out []Caution) {
	for _, c := range cautions {
		if slices.Contains(list, c) {
			out = append(out, c)
		}
	}
	return out
}

// Short is the caution for a hand that has read it whole before.
func (c Caution) Short() string {
	switch c {
	case CautionMains:
		return "No mains."
	case CautionPowerOff:
		return "Power off, every cable out, each rail below 0.5 V."
	case CautionStatic:
		return "Strap on, iron earthed."
	case CautionFumes:
		return "Fumes drawn off, eyes covered."
	case CautionOneRail:
		return "This rail only; photograph it."
	case CautionLoop:
		return "Soldered, held, insulated."
	case CautionFirst:
		return "Current limit set, load held back."
	case CautionHot:
		return "Hot parts."
	case CautionProbe:
		return "Sense wires, no probe on fine pins."
	case CautionCurrent:
		return "Leads back to the voltage jack."
	case CautionOverload:
		return "Fresh zero after an overload."
	case CautionKnownLoad:
		return "The resistor gets hot."
	}
	return string(c)
}

// Text is the caution in words.
func (c Caution) Text() string {
	switch c {
	case CautionMains:
		return "Nothing of this is for mains, for batteries above 60 V, or for anything that a life hangs on. Stop there and leave it to people licensed for it."
	case CautionPowerOff:
		return "Power off. Pull supply, battery and every cable that could feed back. Wait until each rail reads below 0.5 V; help large capacitors along with a resistor, never with a screwdriver."
	case CautionStatic:
		return "Board, person and iron at one potential: wrist strap on its resistor, mat, earthed iron. Oscilloscope earths off while the iron is on."
	case CautionFumes:
		return "Draw the fumes off and keep the head out of them. Eyes covered: cut leads fly. No food on the bench; wash hands after leaded solder."
	case CautionOneRail:
		return "One rail, then a test, then the next. Photograph before and after; keep what was taken off in a labelled bag. It cannot be undone for certain."
	case CautionLoop:
		return "Solder both ends, hold the wire with tape or glue so that no clamp hangs on a pad, cover every bare millimetre. A loop that lets go sends its regulator to full output."
	case CautionFirst:
		return "First power after soldering: current limit 1.2 to 1.5 times what the idle board takes, every rail checked with the load held back, then a look for warm spots, then load. Rings and watches off: little voltage is not little energy."
	case CautionHot:
		return "Chip, heatsink and inductors may burn a finger. Do not touch to find out."
	case CautionProbe:
		return "A probe tip bridges fine pins. Solder thin sense wires with the power off and read at their ends."
	case CautionCurrent:
		return "A meter on its current jack is a short. Put the leads back to the voltage jack before anything else is touched."
	case CautionOverload:
		return "A clamp that was driven beyond its range stays magnetised: take a fresh zero."
	case CautionKnownLoad:
		return "The resistor gets hot: rate it for twice V²/R, and take it off when done."
	}
	return string(c)
}
