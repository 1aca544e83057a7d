package example

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// sitting is one of the example's evenings at the bench.
type sitting struct {
	name, board, on, by string
	room                float64
	states              []string
}

var sittings = []sitting{
	{"March", "Marten", "2026-03-14 15:20", "first bench", 22.8, []string{"bare", "one-idle", "one-busy", "one-busy-fast", "four-idle", "four-busy"}},
	{"April", "Otter", "2026-04-04 14:05", "first bench", 23.6, []string{"bare", "one-idle", "one-busy", "one-busy-fast", "four-idle", "four-busy"}},
	{"late April", "Otter", "2026-04-25 10:40", "first bench", 24.1, []string{"one-busy"}},
	{"May", "Marten", "2026-05-02 11:15", "first bench", 23.2, []string{"one-busy"}},
}

// shift is the standard deviation of what another evening really changes: all
// currents of a board together, in parts.
const shift = 0.0025

// taker writes down one sitting.
type taker struct {
	*errors
	sitting
	clock    time.Time
	shift    float64
	position map[string]float64 // of the wire in the jaw, by rail
	zeros    map[string][2]zero // last and next, by clamp or rail
	out      strings.Builder
}

// zero is a true zero, in amperes through the jaw (volts for the shunt).
type zero struct {
	at    time.Time
	value float64
}

func (e *errors) take(s sitting) string {
	t := &taker{errors: e, sitting: s, position: map[string]float64{}, zeros: map[string][2]zero{}}
	t.clock, _ = time.Parse("2006-01-02 15:04", s.on)
	t.shift = 1 + shift*e.r.NormFloat64()
	for _, r := range boardNamed(s.board).rails {
		t.position[r.name] = e.within(tapOf(s.board, r.name).clamp.position)
	}
	fmt.Fprintf(&t.out, "  - name: %s\n    board: %s\n    on: %s\n    room: %.1f ± 0.5 °C\n    by: %s\n    steps:\n",
		s.name, s.board, s.on, s.room, s.by)
	for i, name := range s.states {
		if i%2 == 0 {
			t.zero(i > 0)
		}
		t.state(name)
	}
	t.zero(true)
	return t.out.String()
}

// tap says how the example senses a rail.
type tap struct {
	clamp   clampKind
	turns   float64
	shunt   bool
	bounded bool
}

func tapOf(board, rail string) tap {
	switch rail {
	case "core", "link":
		return tap{clamp: redClamp, turns: 1}
	case "io a":
		return tap{shunt: true}
	case "io b":
		return tap{bounded: true}
	}
	return tap{clamp: blueClamp, turns: 5}
}

// zero reads every sensor's zero and lets it wander until the next one.
func (t *taker) zero(again bool) {
	t.clock = t.clock.Add(4 * time.Minute)
	var parts []string
	read := func(key string, first, wander float64, volts func(float64) float64) {
		z := t.zeros[key]
		if again {
			z[0] = z[1]
		} else {
			z[0] = zero{t.clock, first}
		}
		// The next zero comes after two more states and its own four minutes.
		z[1] = zero{t.clock.Add(t.next()), z[0].value + wander*t.r.NormFloat64()}
		t.zeros[key] = z
		parts = append(parts, key+": "+t.display(volts(z[0].value), rangeOf(key)))
	}
	for _, c := range []clampKind{redClamp, blueClamp} {
		read(c.name, t.within(c.offset), c.wander, func(a float64) float64 { return a / c.ampsPerVolt / t.scale[c.name] })
	}
	if t.board == "Otter" {
		read("io a", t.within(5e-6), shuntWander, func(v float64) float64 { return v })
	}
	fmt.Fprintf(&t.out, "      - at: %s\n        zero: {%s}\n", t.clock.Format("15:04"), strings.Join(parts, ", "))
}

const perState = 9 * time.Minute

// next is the time from one zero to the next.
func (t *taker) next() time.Duration {
	if len(t.states) == 1 {
		return perState + 4*time.Minute
	}
	return 2*perState + 4*time.Minute
}

// rangeOf is the range on which a sensor is read, and so its zero too.
func rangeOf(key string) meterRange {
	if key == "io a" {
		return ranges[0]
	}
	return ranges[1]
}

// zeroNow is the true zero of a sensor at the time of a reading: on the way
// from one zero to the next, but not straight.
func (t *taker) zeroNow(key string) float64 {
	z := t.zeros[key]
	w := t.clock.Sub(z[0].at).Seconds() / z[1].at.Sub(z[0].at).Seconds()
	change := z[1].value - z[0].value
	return z[0].value + w*change + t.within(math.Abs(change)/2)
}

func (t *taker) state(name string) {
	t.clock = t.clock.Add(perState)
	c := stateNamed(name)
	fmt.Fprintf(&t.out, "      - at: %s\n        state: %s\n", t.clock.Format("15:04"), name)
	for _, r := range boardNamed(t.board).rails {
		tp := tapOf(t.board, r.name)
		if tp.bounded {
			continue
		}
		i := r.current(c) * t.shift
		var v float64 // at the meter
		if tp.shunt {
			v = i*t.shunt + t.zeroNow(r.name)
		} else {
			jaw := tp.turns*i/(1+t.position[r.name]) + t.zeroNow(tp.clamp.name)
			v = jaw / tp.clamp.ampsPerVolt / t.scale[tp.clamp.name]
		}
		text := fmt.Sprintf("i: %s", t.reading(v, r.name, c))
		// One voltage was forgotten, as happens.
		if !(t.board == "Marten" && r.name == "io" && name == "one-idle") {
			volts := r.voltage(c)
			text += ", v: " + t.display(volts, rangeFor(volts))
		}
		fmt.Fprintf(&t.out, "        %s: {%s}\n", r.name, text)
	}
	p := t.power(t.board, name, "")
	shows := func(point string) float64 { return t.room + riseOf(point, p) + t.within(probing) }
	fmt.Fprintf(&t.out, "        temperatures: {case: %.1f °C, sink: %.1f °C}\n", shows("case"), shows("sink"))
	if c.copy {
		rate := 262e6
		if c.fast {
			rate = 271e6
		}
		if c.drives == 4 {
			rate *= 3.4
		}
		fmt.Fprintf(&t.out, "        throughput: %.0f MB/s\n", rate*(1+0.004*t.r.NormFloat64())/1e6)
	}
}

// reading writes a sensor's output the way a person would: a steady display
// once, a flickering one as a band, a busy one several times.
func (t *taker) reading(volts float64, rail string, c conditions) string {
	m := rangeFor(volts)
	switch {
	case strings.HasPrefix(rail, "pll"):
		half := (1.5 + 2*t.r.Float64()) * m.digit
		mid := t.shown(volts, m) + t.within(half)
		return band(mid-half, mid+half, m)
	case c.copy && (rail == "core" || rail == "link"):
		scatter := map[string]float64{"core": 6, "link": 2}[rail] * m.digit
		shown := make([]string, 6)
		for i := range shown {
			shown[i] = m.number(t.shown(volts, m) + scatter*t.r.NormFloat64())
		}
		return strings.Join(shown, " ") + m.unit()
	}
	return t.display(volts, m)
}

// display is one reading of a steady voltage.
func (t *taker) display(volts float64, m meterRange) string {
	return m.number(t.shown(volts, m)) + m.unit()
}

func band(lo, hi float64, m meterRange) string {
	lo, hi = math.Floor(lo/m.digit)*m.digit, math.Ceil(hi/m.digit)*m.digit
	return m.number(lo) + ".." + m.number(hi) + m.unit()
}

// number rounds to the range's digit and prints in its unit.
func (m meterRange) number(volts float64) string {
	if m.milli {
		volts *= 1000
	}
	s := fmt.Sprintf("%.*f", m.decimals, volts)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

func (m meterRange) unit() string {
	if m.milli {
		return " mV"
	}
	return " V"
}
