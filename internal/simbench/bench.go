package simbench

import (
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"railtally/internal/example"
)

// Config says which bench it is. The zero value is the worked example's own, with
// its newer board, at the computer's pace.
type Config struct {
	Seed    uint64 // 0: that of the worked example
	Board   string // "": Otter
	Loggers int    // further meters, each wired for good to one quantity; see Bench.Meters
	Clock   Clock  // nil: the computer's
	Evening uint64 // another evening has other zeros and positions
}

// Bench is the virtual bench. Its methods may be called from any goroutine.
type Bench struct {
	truth   *example.Bench
	evening *example.Evening
	board   string
	clock   Clock
	noise   noise
	meters  []*meter

	mu      sync.Mutex
	settled []setting // in the order of time, never empty
}

// setting is a state and since when the board is in it.
type setting struct {
	at    time.Duration
	state string
}

// off is the state before any was set: nothing flows.
const off = ""

// New makes a bench. The board is off until a state is set.
func New(c Config) (*Bench, error) {
	if c.Seed == 0 {
		c.Seed = example.Seed
	}
	if c.Board == "" {
		c.Board = "Otter"
	}
	if c.Clock == nil {
		c.Clock = Paced(1)
	}
	b := &Bench{truth: example.New(c.Seed), board: c.Board, clock: c.Clock,
		noise: noise{c.Seed}.of(fmt.Sprint("evening ", c.Evening)), settled: []setting{{0, off}}}
	var err error
	if b.evening, err = b.truth.Evening(c.Board, mix(c.Seed)^c.Evening); err != nil {
		return nil, err
	}
	most := 2 * len(b.evening.Rails())
	if c.Loggers < 0 || c.Loggers > most {
		return nil, fmt.Errorf("%d loggers: %s has %d quantities to wire one to", c.Loggers, c.Board, most)
	}
	b.meters = append(b.meters,
		newMeter(b, "desk meter", "MADE UP,DESK 45,0001,1.0", b.evening.DeskMeter()),
		newMeter(b, "case probe", "MADE UP,PROBE 1,0002,1.0", example.Meter{}))
	b.meters[1].leads = Leads{Temperature, "case"}
	for i := range c.Loggers {
		rail := b.evening.Rails()[i/2]
		m := newMeter(b, fmt.Sprintf("logger %d", i+1), fmt.Sprintf("MADE UP,LOGGER,%04d,1.0", i+10), b.evening.AnotherMeter(mix(c.Seed+uint64(i))))
		m.leads = Leads{Current, rail}
		if i%2 == 1 {
			m.leads.What = Voltage
		}
		b.meters = append(b.meters, m)
	}
	return b, nil
}

// Board names the board on the bench.
func (b *Bench) Board() string { return b.board }

// Now is the bench's time.
func (b *Bench) Now() time.Duration { return b.clock.Now() }

// Rails names the rails that a meter can be put to.
func (b *Bench) Rails() []string { return b.evening.Rails() }

// Sensors names what a zero can be taken of.
func (b *Bench) Sensors() []string {
	var out []string
	for _, s := range b.evening.Sensors() {
		out = append(out, s.Name)
	}
	return out
}

// State is the state that the board is in; empty before one was set.
func (b *Bench) State() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.settled[len(b.settled)-1].state
}

// SetState puts the board into a state of the worked example, from now on.
func (b *Bench) SetState(name string) error {
	if !slices.Contains(example.States(), name) {
		return fmt.Errorf("no state called %q; accepted are %v", name, example.States())
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.settled[len(b.settled)-1].state != name {
		b.settled = append(b.settled, setting{b.clock.Now(), name})
	}
	return nil
}

// True is the power in W that the chip draws in a state once it has settled:
// through one rail, or altogether when rail is "".
func (b *Bench) True(state, rail string) float64 { return b.truth.True(b.board, state, rail) }

// at returns the state at a time, the one before it, and since when.
func (b *Bench) at(t time.Duration) (now, before setting) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for i := len(b.settled) - 1; i > 0; i-- {
		if b.settled[i].at <= t {
			return b.settled[i], b.settled[i-1]
		}
	}
	return b.settled[0], b.settled[0]
}

// How a chip warms after a state was set. Leakage follows: until it has settled
// a current lacks a hundredth of the power that the state adds. All made up.
const (
	chipWarms   = 75 * time.Second
	caseWarms   = 240 * time.Second
	leakagePart = 0.01
)

func (b *Bench) power(state string) float64 {
	if state == off {
		return 0
	}
	return b.True(state, "")
}

// left is what is still to come of a change after a time.
func left(since, constant time.Duration) float64 {
	return math.Exp(-since.Seconds() / constant.Seconds())
}

// amps is what a rail carries at a time, with the load's own flicker and ripple
// as a meter of that aperture averages them.
func (b *Bench) amps(rail string, t, aperture time.Duration) float64 {
	now, before := b.at(t)
	if now.state == off {
		return 0
	}
	i := b.evening.Current(rail, now.state)
	p := b.power(now.state)
	i *= 1 - leakagePart*(p-b.power(before.state))/p*left(t-now.at, chipWarms)
	i *= 1 + 0.003*ripple(100, t, aperture)
	if b.evening.Copies(now.state) && (rail == "core" || rail == "link") {
		n := b.noise.of("load " + rail)
		i *= 1 + 0.0012*n.white(t)*perRoot(aperture) + 0.0002*n.of("slow").pink(t)
	}
	return i
}

// perRoot scales white noise from the aperture it is stated for, one cycle of
// 50 Hz, to another.
func perRoot(aperture time.Duration) float64 {
	return math.Sqrt(cycle.Seconds() / aperture.Seconds())
}

// temperature is that of a point at a time, in °C.
func (b *Bench) temperature(point string, t time.Duration) float64 {
	now, before := b.at(t)
	to, from := b.evening.Temperature(point, b.power(now.state)), b.evening.Temperature(point, b.power(before.state))
	return to + (from-to)*left(t-now.at, caseWarms)
}

// drift is how far a sensor's zero has moved since the evening began, with the
// sensor's own noise: white and 1/f, in amperes through the jaw or volts.
func (b *Bench) drift(s example.Sensor, t, aperture time.Duration) float64 {
	n := b.noise.of(s.Name)
	white := 0.6 * s.Wander
	return s.Wander*n.wander(t) + white*n.of("white").white(t)*perRoot(aperture) + 0.1*white*n.of("pink").pink(t)
}
