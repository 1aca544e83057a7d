package example

import "math"

// conditions is what a state switches on.
type conditions struct {
	drives int
	copy   bool
	fast   bool
}

// state pairs a name with its conditions, in the study's order.
type state struct {
	name string
	cond conditions
}

var states = []state{
	{"bare", conditions{0, false, false}},
	{"one-idle", conditions{1, false, false}},
	{"one-busy", conditions{1, true, false}},
	{"one-busy-fast", conditions{1, true, true}},
	{"four-idle", conditions{4, false, true}},
	{"four-busy", conditions{4, true, true}},
}

// rail is the truth about one rail: its voltage with nothing drawn, the
// resistance by which it sags, and what adds to its current, in amperes.
type rail struct {
	name  string
	volts float64 // at no current
	sag   float64 // ohms
	base  float64
	drive float64 // for each drive attached
	copy  float64 // while copying
	fast  float64 // with the link at its higher speed

	// unopened is the bound of a rail that was not opened. What it really
	// draws is unknown by nature: each bench draws it anew for each state.
	unopened float64
}

// current is what the chip really draws through the rail.
func (r rail) current(c conditions) float64 {
	i := r.base + float64(c.drives)*r.drive
	if c.copy {
		i += r.copy
	}
	if c.fast {
		i += r.fast
	}
	return i
}

// voltage is what the rail really has at the chip.
func (r rail) voltage(c conditions) float64 { return r.volts - r.sag*r.current(c) }

// board is the truth about one board. The figures are invented.
type board struct {
	name  string
	rails []rail
}

var boards = []board{
	{"Marten", []rail{
		{name: "core", volts: 1.2140, sag: 0.0021, base: 2.480, drive: 0.205, copy: 0.380, fast: 0.011},
		{name: "link", volts: 1.8080, sag: 0.0045, base: 0.655, drive: 0.118, copy: 0.022, fast: 0.006},
		{name: "pll", volts: 2.5020, sag: 0.0100, base: 0.0900, drive: 0.0008},
		{name: "io", volts: 3.3110, sag: 0.0200, base: 0.0720, drive: 0.0035, copy: 0.0020},
	}},
	{"Otter", []rail{
		{name: "core", volts: 0.9660, sag: 0.0024, base: 3.090, drive: 0.112, copy: 0.310, fast: 0.010},
		{name: "link", volts: 1.5090, sag: 0.0042, base: 0.790, drive: 0.096, copy: 0.027, fast: 0.006},
		{name: "pll a", volts: 2.4980, sag: 0.0150, base: 0.0820, drive: 0.0010},
		{name: "pll b", volts: 2.5050, sag: 0.0150, base: 0.0270, drive: 0.0004},
		{name: "io a", volts: 3.3150, sag: 0.0200, base: 0.0580, drive: 0.0029, copy: 0.0015},
		{name: "io b", volts: 3.3150, sag: 0.0200, unopened: 0.005},
	}},
}

// rises are how far the temperatures that are read stand over the room: so
// many kelvins at one watt, and from there as power to the riseExponent, on
// both boards, whose sinks are alike. The figures are invented; the exponent is
// that of natural convection.
var rises = map[string]float64{"case": 10.5, "sink": 8.9}

const riseExponent = 0.8

// probing is the half-width in kelvins of what a reading is off by: the
// thermometer and where its probe came to sit.
const probing = 0.8

// riseOf is the true rise of a point over the room in kelvins at a power in W.
func riseOf(point string, power float64) float64 {
	return rises[point] * math.Pow(power, riseExponent)
}

func boardNamed(name string) board {
	for _, b := range boards {
		if b.name == name {
			return b
		}
	}
	return board{}
}

func stateNamed(name string) conditions {
	for _, s := range states {
		if s.name == name {
			return s.cond
		}
	}
	return conditions{}
}
