package plan

import (
	"fmt"
	"math"

	"railtally/internal/plan/insertion"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// Grade says how much a remark on an opening matters.
type Grade string

// From worst to mildest, and what is asked.
const (
	Wrong    Grade = "wrong"    // do not open it so
	Doubtful Grade = "doubtful" // look at it before opening
	Ask      Grade = "ask"      // it matters, and nobody has said it
	Note     Grade = "note"     // worth knowing
	Sound    Grade = "sound"    // looked at, and no objection
)

// Remark is one thing about an opening.
type Remark struct {
	Code  string
	Grade Grade
	Text  string // a sentence
	Do    string // what to do about it, a sentence; may be empty
}

// Opening is what closing a rail again through a loop, a shunt or a meter does
// to it, at the most that it is expected to carry.
type Opening struct {
	Phase   string
	Current float64 // amperes through this tap
	Added   float64 // ohms in series; NaN: not known
	Drop    float64 // volts
	Sag     float64 // part of nominal
	Band    float64 // volts that the rail may fall
	Rise    float64 // kelvins, of the wire's middle or of the shunt; NaN: not known
	Fuses   float64 // amperes at which the wire would melt; 0 without wire
	Henries float64 // added; 0 without wire

	// Smallest is the thinnest gauge that would do at this length, Longest the
	// longest loop of this wire, in metres.
	Smallest int
	SmallOK  bool
	Longest  float64

	Remarks []Remark
}

// hotWire is the rise in kelvins beyond which a loop is questioned: it warms its
// pads and what it touches (our own choice).
const hotWire = 20.0

// shortestTurn is the wire that a turn round the side of a small jaw takes at
// least (common practice, no source).
const shortestTurn = 0.02

// shuntKelvinPerWatt is how much a small shunt on a board warms (common practice,
// no source).
const shuntKelvinPerWatt = 60.0

// open examines one tap of a rail at a current.
func (m *maker) open(s *study.Study, b *study.Board, r *study.Rail, t *study.Tap, current float64) *Opening {
	o := &Opening{Phase: t.Name, Current: current, Added: math.NaN(), Rise: math.NaN()}
	o.Band, _ = toleranceBand(r)
	if _, known := m.expect.highest(b, r); !known {
		o.remark("current-unknown", Ask, "Nothing is expected of this rail, so nothing can be said about its opening.", "Say what it will carry, if only as a range.")
		return o
	}
	if in := s.Instrument(t.Instrument); t.Kind == study.TapClamp && in != nil && in.Range(t.Range) != nil {
		turns := float64(max(1, t.Turns))
		if to := sensing.Limit(in.Range(t.Range)); to > 0 && turns*current > to {
			o.remark("beyond-range", Wrong, fmt.Sprintf("%s through the jaw, %s %s, is beyond the %s of %s.", amps(turns*current), amps(current), often(t.Turns), amps(to), sensorPlain(t)),
				"Use fewer turns, another range or another clamp.")
		}
	}
	switch t.Kind {
	case study.TapSense, study.TapInductor:
		o.Added, o.Drop, o.Sag = 0, 0, 0
		o.remark("nothing-opened", Sound, "Nothing is put into the rail: it is read over what carries it already.",
			"Solder two thin wires to the inner edges of its pads, with the power off.")
		return o
	case study.TapSeries:
		o.remark("burden-unknown", Ask, fmt.Sprintf("The burden of %s is not recorded: hand-held meters have 1 to 10 Ω on mA jacks and 0.03 to 0.1 Ω with leads on the ampere jack (common figures, no source), which makes %s to %s here.",
			t.Instrument, volts(0.03*current), volts(0.1*current)), "Look it up, keep the range fixed, and read the voltage behind the meter.")
	case study.TapShunt:
		m.openShunt(s, o, t)
	default:
		m.openLoop(o, r, t)
	}
	if !math.IsNaN(o.Added) {
		o.Drop = current * o.Added
		o.Sag = o.Drop / math.Abs(r.Nominal.Value())
		o.sag(r)
	}
	o.feedback(r)
	o.place(b, r, t)
	return o
}

func (o *Opening) remark(code string, g Grade, text, do string) {
	o.Remarks = append(o.Remarks, Remark{code, g, text, do})
}

func (m *maker) openShunt(s *study.Study, o *Opening, t *study.Tap) {
	o.Added = resistance(s, t)
	value := t.Resistor
	if in := s.Instrument(t.Instrument); in != nil {
		value = in.Shunt
	}
	heat := o.Current * o.Current * o.Added
	o.Rise = insertion.ResistorRise(o.Current, o.Added, shuntKelvinPerWatt)
	drift := value.TempCo * o.Rise
	text := fmt.Sprintf("The shunt turns %s into heat and warms by about %.1f K (60 K/W, common practice, no source)", watts(heat), o.Rise)
	switch {
	case value.TempCo > 0 && value.Heating > 0 && o.Rise > value.Heating:
		o.remark("shunt-heat", Doubtful, fmt.Sprintf("%s, more than the %.0f K it is recorded with.", text, value.Heating), "Record the heating that it will have, or use a lower resistance.")
	case drift > 0.001:
		o.remark("shunt-heat", Note, fmt.Sprintf("%s, which moves it by %s.", text, pct(drift)), "")
	default:
		o.remark("shunt-heat", Sound, text+".", "")
	}
}

func (m *maker) openLoop(o *Opening, r *study.Rail, t *study.Tap) {
	w := t.Loop
	if w == nil {
		drop := insertion.SagShare * o.Band
		text := "The loop of wire is not said."
		if g, ok := insertion.SmallestGauge(0.06, o.Current, drop, hotWire); ok {
			text = fmt.Sprintf("The loop of wire is not said; 60 mm of AWG %d or thicker would do.", g)
		}
		o.remark("loop-unknown", Ask, text, "Say its length and gauge: loop: 60 mm AWG 20.")
		return
	}
	o.Added = insertion.LoopResistance(*w)
	if w.Area == 0 {
		o.remark("wire-unknown", Ask, "Of the loop only its resistance is known: its heating, fusing and inductance cannot be told.", "Say its length and gauge too.")
		return
	}
	drop := insertion.SagShare * o.Band
	o.Rise = insertion.LoopRise(o.Current, w.Length, w.Area)
	o.Fuses = insertion.Preece(w.Area)
	o.Smallest, o.SmallOK = insertion.SmallestGauge(w.Length, o.Current, drop, hotWire)
	o.Longest = insertion.LongestLoop(w.Area, o.Current, drop)
	o.Henries = insertion.Loop(w.Length, w.Area)
	if t.Kind == study.TapClamp {
		o.Henries += insertion.ClampCore(max(1, t.Turns))
	}
	switch {
	case math.IsNaN(o.Rise) || o.Rise > 3*hotWire:
		o.remark("wire-hot", Wrong, fmt.Sprintf("%s warms the loop by %.0f K.", amps(o.Current), o.Rise), "Use thicker wire.")
	case o.Rise > hotWire:
		o.remark("wire-hot", Doubtful, fmt.Sprintf("%s warms the loop by %.0f K.", amps(o.Current), o.Rise), "Use thicker wire.")
	default:
		o.remark("wire-hot", Sound, fmt.Sprintf("%s warms the middle of the loop by %.1f K.", amps(o.Current), o.Rise), "")
	}
	if o.Fuses < insertion.FuseMargin*o.Current {
		o.remark("fuse", Wrong, fmt.Sprintf("In free air this wire melts at %s, only %.1f times what it is to carry; its joints give way long before.", amps(o.Fuses), o.Fuses/o.Current), "Use thicker wire: a loop that lets go sends the regulator to full output.")
	} else {
		o.remark("fuse", Sound, fmt.Sprintf("In free air this wire would melt at %s, %.0f times what it carries.", amps(o.Fuses), o.Fuses/math.Max(o.Current, 1e-9)), "")
	}
	if n := max(1, t.Turns); n > 1 {
		if least := float64(n) * shortestTurn; w.Length < least {
			o.remark("loop-short", Doubtful, fmt.Sprintf("%d turns through a jaw hardly fit into %s of wire.", n, quantity.Format(w.Length, quantity.Metre, 2)), "Say how long the wire really is; a turn takes 20 mm and more.")
		}
	}
	o.remark("pad", Ask, fmt.Sprintf("Does a wire of %s (with its insulation more) sit on the pad and in the gap?", quantity.Format(insertion.Diameter(w.Area), quantity.Metre, 2)), "Measure the pad; a thinner tail of a few millimetres is soldered between a thick loop and a small pad.")
}

// sag says what the drop means for the rail and for the power that is reported.
func (o *Opening) sag(r *study.Rail) {
	band, stated := toleranceBand(r)
	part := o.Drop / band
	of := fmt.Sprintf("of the %s that the rail may fall", volts(band))
	if !stated {
		of = fmt.Sprintf("of the %s that a rail may fall by ±5 %%, assumed since none is stated", volts(band))
	}
	text := fmt.Sprintf("%s through %s drops %s (%s), %s %s.", amps(o.Current), ohms(o.Added), volts(o.Drop), pct(o.Sag), pct(part), of)
	switch {
	case part > 1:
		o.remark("sag", Wrong, text, "Use a shorter or thicker loop, or a lower resistance: at this voltage the chip is out of its specification.")
	case part > insertion.SagShare:
		o.remark("sag", Doubtful, text, fmt.Sprintf("More than a fifth (common practice, no source): use a shorter or thicker loop%s.", o.better()))
	default:
		o.remark("sag", Sound, text, "")
	}
}

// better names what would keep the drop within its share.
func (o *Opening) better() string {
	switch {
	case o.SmallOK && o.Longest > 0:
		return fmt.Sprintf(", AWG %d at this length or %s of this wire", o.Smallest, quantity.Format(o.Longest, quantity.Metre, 2))
	case o.SmallOK:
		return fmt.Sprintf(", AWG %d at this length", o.Smallest)
	case o.Longest > 0:
		return fmt.Sprintf(", at most %s of this wire", quantity.Format(o.Longest, quantity.Metre, 2))
	}
	return ""
}

// powerMoves says by how much the sag moves the power of each kind of load.
func (o *Opening) powerMoves(load study.Load) string {
	n := map[study.Load]float64{study.SwitchingLoad: insertion.Switching, study.CurrentLoad: insertion.ConstantCurrent, study.ConverterLoad: insertion.ConverterDownstream}
	say := func(l study.Load) string {
		if l == study.ConverterLoad {
			return fmt.Sprintf("a converter draws the same power and %s more current", pct(1/(1-o.Sag)-1))
		}
		what := "a switching load (P ~ V²)"
		if l == study.CurrentLoad {
			what = "a load of constant current (P ~ V)"
		}
		return fmt.Sprintf("%s draws %s less", what, pct(-insertion.PowerChange(o.Sag, n[l])))
	}
	if load != "" {
		return say(load)
	}
	return say(study.SwitchingLoad) + ", " + say(study.CurrentLoad) + ", " + say(study.ConverterLoad)
}

// feedback says what the regulator makes of the drop.
func (o *Opening) feedback(r *study.Rail) {
	var k study.Opening
	if r.Opening != nil {
		k = *r.Opening
	}
	if math.IsNaN(o.Added) || o.Added == 0 {
		return
	}
	const where = "Read the voltage at the chip's side of the loop, at the moment of the current."
	switch k.Feedback {
	case study.BehindLoop:
		o.remark("feedback", Note, fmt.Sprintf("The regulator senses behind the loop: it makes up for the drop, the chip sees no sag, and the loop's %s are drawn upstream.", watts(o.Current*o.Drop)),
			"Look at the rail with an oscilloscope before trusting a steady reading: the loop's inductance now lies inside the control loop.")
	case study.BeforeLoop:
		o.remark("feedback", Note, fmt.Sprintf("The regulator senses before the loop: the chip's voltage falls by the drop. By that %s.", o.powerMoves(k.Load)), where)
	default:
		o.remark("feedback", Ask, fmt.Sprintf("Where does the regulator sense its voltage? Behind the loop it makes up for the drop; before it the chip's voltage falls, and %s.", o.powerMoves(k.Load)),
			"Follow the feedback trace and record where it ends (feedback: before or behind the loop). "+where)
	}
	if d := o.Drop; d > 0 {
		if cu := o.Added * (insertion.CopperFactor(20+nanZero(o.Rise)) - 1); o.Henries > 0 && cu*o.Current > 0.001*math.Abs(r.Nominal.Value()) {
			o.remark("loop-warm", Note, fmt.Sprintf("Warm, the loop has %s more.", ohms(cu)), "")
		}
	}
}

func nanZero(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}

// Worst is the most serious grade among an opening's remarks.
func (o *Opening) Worst() Grade {
	for _, g := range []Grade{Wrong, Doubtful, Ask, Note} {
		for _, r := range o.Remarks {
			if r.Grade == g {
				return g
			}
		}
	}
	return Sound
}
