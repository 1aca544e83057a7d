package simbench

import (
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"railtally/internal/example"
)

// cycle is one cycle of the mains: what a meter integrates over unless told
// otherwise.
const cycle = 20 * time.Millisecond

// What a meter's leads can be put to.
const (
	Nothing     = "nothing"
	Voltage     = "voltage"     // of a rail, at the chip
	Current     = "current"     // of a rail: the output of its clamp or shunt
	Zero        = "zero"        // of a sensor: its output while no current flows
	Temperature = "temperature" // of a point: case or sink
)

// Leads say where a meter's leads lie.
type Leads struct{ What, Of string }

// Connect puts the leads of a meter somewhere. Moved to a sensor's zero, the
// meter stays on the range on which the sensor is read.
func (b *Bench) Connect(meterName string, l Leads) error {
	m := b.meterNamed(meterName)
	if m == nil {
		return fmt.Errorf("no meter called %q", meterName)
	}
	accepted := map[string][]string{Nothing: nil, Voltage: b.Rails(), Current: b.Rails(), Zero: b.Sensors(), Temperature: {"case", "sink"}}
	places, ok := accepted[l.What]
	switch {
	case !ok:
		return fmt.Errorf("leads to %q: accepted are %s, %s, %s, %s, %s", l.What, Voltage, Current, Zero, Temperature, Nothing)
	case places != nil && !slices.Contains(places, l.Of):
		return fmt.Errorf("leads to the %s of %q: accepted are %v", l.What, l.Of, places)
	case (l.What == Temperature) != (m == b.meters[1]) && l.What != Nothing:
		return fmt.Errorf("%s does not show a %s", m.name, l.What)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.leads = l
	return nil
}

func (b *Bench) meterNamed(name string) *meter {
	for _, m := range b.meters {
		if m.name == name {
			return m
		}
	}
	return nil
}

// meter is one simulated meter. mu guards what is below it.
type meter struct {
	b     *Bench
	name  string
	ident string
	make  example.Meter
	noise noise

	mu       sync.Mutex
	leads    Leads
	aperture time.Duration
	hold     float64 // smallest range in volts; 0: it chooses
	samples  int     // readings for each READ?
	last     []float64
	errors   []string
	ailment  Fault
	times    int // how many more answers the ailment spoils; below 0: all
	memory   memory
}

func newMeter(b *Bench, name, ident string, of example.Meter) *meter {
	m := &meter{b: b, name: name, ident: ident, make: of, noise: b.noise.of("meter " + name), leads: Leads{Nothing, ""}}
	m.reset()
	return m
}

// reset sets the meter as it is when it is switched on. Its leads stay.
func (m *meter) reset() {
	m.aperture, m.hold, m.samples, m.last, m.memory = cycle, 0, 1, nil, memory{}
}

// reading is what the meter shows of the time from t on.
func (m *meter) reading(t time.Duration) float64 {
	b, l := m.b, m.leads
	switch l.What {
	case Temperature:
		return math.Round((b.temperature(l.Of, t)+b.evening.ProbeError()+0.03*m.noise.white(t))*10) / 10
	case Voltage:
		v := 0.0
		if now, _ := b.at(t); now.state != off {
			v = b.evening.Volts(l.Of, b.amps(l.Of, t, m.aperture))
		}
		return m.rounded(v+1.5e-4*m.noise.white(t)*perRoot(m.aperture)+3e-5*m.noise.of("slow").pink(t), m.hold)
	case Current:
		s := b.evening.SensorOf(l.Of)
		return m.rounded(b.evening.Output(l.Of, b.amps(l.Of, t, m.aperture), b.drift(s, t, m.aperture)), m.hold)
	case Zero:
		for _, s := range b.evening.Sensors() {
			if s.Name == l.Of {
				return m.rounded(b.evening.Zero(s.Name, b.drift(s, t, m.aperture)), max(m.hold, b.evening.RangeOf(s.Name)))
			}
		}
	}
	return m.rounded(1e-5*m.noise.white(t), m.hold)
}

func (m *meter) rounded(volts, hold float64) float64 {
	shown, digit, over := m.make.Shown(volts, hold)
	if over {
		return math.Copysign(math.Inf(1), shown)
	}
	return math.Round(shown/digit) * digit
}

// memory is that of a meter which samples by a timer of its own: the k-th
// sample is due at from + k·every. It is worked out when it is asked for.
type memory struct {
	running bool
	from    time.Duration
	every   time.Duration
	taken   int64 // samples that were read out or lost
	lost    int64
}

// memoryHolds is how many readings a meter keeps until they are fetched.
const memoryHolds = 20000

// due is how many samples were taken until a time.
func (y *memory) due(t time.Duration) int64 {
	if !y.running || t < y.from {
		return 0
	}
	return int64((t-y.from)/y.every) + 1
}

// fit forgets the oldest samples that the memory no longer holds, and returns how
// many it forgot.
func (y *memory) fit(t time.Duration) int64 {
	over := y.due(t) - y.taken - memoryHolds
	if over <= 0 {
		return 0
	}
	y.taken += over
	y.lost += over
	return over
}
