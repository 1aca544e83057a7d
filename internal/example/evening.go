package example

import (
	"fmt"
	"math/rand/v2"
	"slices"
)

// Plan is the study's text form without its sittings: the same boards, states
// and instruments, and nothing read yet.
func Plan() []byte { return []byte(plan) }

// Evening is one more sitting at the virtual bench, for somebody else to take:
// the same instruments with the same errors, new positions of the wires in the
// jaws and new zeros. It computes forwards only, from what flows to what a meter
// would show, and does not change: time, noise and drift are its user's.
type Evening struct {
	errs     *errors
	board    board
	position map[string]float64
	zeros    map[string]float64
	probe    float64
}

// Room is the room's temperature on such an evening, in °C.
const Room = 23.4

// Evening begins a sitting with a board. The same seed gives the same positions
// and zeros.
func (b *Bench) Evening(boardName string, seed uint64) (*Evening, error) {
	if !slices.Contains(Boards(), boardName) {
		return nil, fmt.Errorf("no board called %q; accepted are %v", boardName, Boards())
	}
	own := *b.e
	own.r = rand.New(rand.NewPCG(seed, 0xd1b54a32d192ed03))
	v := &Evening{errs: &own, board: boardNamed(boardName), position: map[string]float64{}, zeros: map[string]float64{}}
	for _, r := range v.board.rails {
		v.position[r.name] = own.within(tapOf(boardName, r.name).clamp.position)
	}
	for _, c := range []clampKind{redClamp, blueClamp} {
		v.zeros[c.name] = own.within(c.offset)
	}
	v.zeros["io a"] = own.within(5e-6)
	v.probe = own.within(0.8)
	return v, nil
}

// Rails names the rails that were opened, in order.
func (v *Evening) Rails() []string {
	var out []string
	for _, r := range v.board.rails {
		if r.unopened == 0 {
			out = append(out, r.name)
		}
	}
	return out
}

// Sensor is what has a zero: a clamp, or the shunt of one rail.
type Sensor struct {
	Name   string
	Wander float64 // of its zero between two zeros, one standard deviation, in amperes through the jaw or volts
}

// Sensors lists what has a zero on this board.
func (v *Evening) Sensors() []Sensor {
	var out []Sensor
	for _, r := range v.Rails() {
		if s := v.SensorOf(r); !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// SensorOf is what senses a rail's current.
func (v *Evening) SensorOf(rail string) Sensor {
	t := tapOf(v.board.name, rail)
	if t.shunt {
		return Sensor{rail, shuntWander}
	}
	return Sensor{t.clamp.name, t.clamp.wander}
}

// Current is what the rail carries in a state once it has settled, in amperes.
func (v *Evening) Current(rail, state string) float64 {
	return v.rail(rail).current(stateNamed(state))
}

// Volts is the rail's voltage at the chip while it carries that many amperes.
func (v *Evening) Volts(rail string, amps float64) float64 {
	r := v.rail(rail)
	return r.volts - r.sag*amps
}

func (v *Evening) rail(name string) rail {
	for _, r := range v.board.rails {
		if r.name == name {
			return r
		}
	}
	return rail{}
}

// Output is the voltage that a meter gets from what senses a rail that carries
// that many amperes, when the sensor's zero has moved by drift since the evening
// began (in amperes through the jaw, or volts for a shunt).
func (v *Evening) Output(rail string, amps, drift float64) float64 {
	t := tapOf(v.board.name, rail)
	if t.shunt {
		return amps*v.errs.shunt + v.zeros[rail] + drift
	}
	jaw := t.turns*amps/(1+v.position[rail]) + v.zeros[t.clamp.name] + drift
	return jaw / t.clamp.ampsPerVolt / v.errs.scale[t.clamp.name]
}

// Zero is the voltage that a meter gets from a sensor without current.
func (v *Evening) Zero(sensor string, drift float64) float64 {
	for _, c := range []clampKind{redClamp, blueClamp} {
		if c.name == sensor {
			return (v.zeros[sensor] + drift) / c.ampsPerVolt / v.errs.scale[sensor]
		}
	}
	return v.zeros[sensor] + drift
}

// PerAmpere is how many volts an ampere of a rail makes at the meter, nominally.
func (v *Evening) PerAmpere(rail string) float64 {
	t := tapOf(v.board.name, rail)
	if t.shunt {
		return shuntOhms
	}
	return t.turns / t.clamp.ampsPerVolt
}

// Copies tells whether the load runs in a state, so that the currents flicker.
func (v *Evening) Copies(state string) bool { return stateNamed(state).copy }

// RangeOf is the range in volts on which a sensor is read, and so its zero too: a
// meter's offset belongs to its range.
func (v *Evening) RangeOf(sensor string) float64 { return rangeOf(sensor).to }

// Temperature is what a point of the chip has in °C once it has settled at a
// power; points are case and sink.
func (v *Evening) Temperature(point string, watts float64) float64 {
	return Room + riseOf(point, watts)
}

// ProbeError is by how much the case probe shows too much, in kelvins.
func (v *Evening) ProbeError() float64 { return v.probe }

// Meter is a meter of the desk meter's make.
type Meter struct{ place map[float64]float64 }

// DeskMeter is the meter that the study names.
func (v *Evening) DeskMeter() Meter { return Meter{v.errs.meter} }

// AnotherMeter draws a meter of the same make with errors of its own.
func (v *Evening) AnotherMeter(seed uint64) Meter {
	r := rand.New(rand.NewPCG(seed, 0x8cb92ba72f3d8dd7))
	m := Meter{map[float64]float64{}}
	for _, x := range ranges {
		m.place[x.to] = 2*r.Float64() - 1
	}
	return m
}

// Shown is what the meter would display of a voltage with digits without end,
// and the last digit that it has there. It chooses its range by itself, but none
// below hold; hold 0 leaves it free. Beyond its largest range over is true.
func (m Meter) Shown(volts, hold float64) (shown, digit float64, over bool) {
	r := rangeFor(volts)
	if h := rangeFor(0.99 * hold); h.to > r.to {
		r = h
	}
	e := errors{meter: m.place}
	shown = e.shown(volts, r)
	return shown, r.digit, shown > r.to || shown < -r.to
}
