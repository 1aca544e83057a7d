package study

import (
	"strconv"
	"time"

	"railtally/internal/quantity"
)

// The room temperatures in which a bench is worked at.
const coldRoom, hotRoom = -40, 85

func (c *checker) sittings() {
	named := make(map[string]int)
	for i, x := range c.study.Sittings {
		p := path{"sittings", strconv.Itoa(i + 1)}
		c.name(p.with("name"), "sitting", x.Name)
		if n, ok := named[plain(x.Name)]; ok {
			c.fault(p.with("name"), "another name", "sitting %d is called %q too", n, x.Name)
		} else {
			named[plain(x.Name)] = i + 1
		}
		c.sitting(p, x)
	}
}

func (c *checker) sitting(p path, x *Sitting) {
	board := c.study.Board(x.Board)
	if board == nil {
		c.fault(p.with("board"), Accepting(x.Board, c.boardNames()), "no board called %q", x.Board)
	}
	if x.On.IsZero() {
		c.fault(p.with("on"), "2026-03-14, or 2026-03-14 15:20", "the day of the sitting is missing")
	}
	if x.Room != nil {
		c.celsius(p.with("room"), x.Room, coldRoom, hotRoom)
	}
	if x.VoltageMeter != "" {
		c.meter(p.with("meter", "voltage"), x.VoltageMeter, "", quantity.Volt)
	}
	if x.CurrentMeter != "" && x.CurrentMeter != x.VoltageMeter {
		c.meter(p.with("meter", "current"), x.CurrentMeter, "", quantity.Volt)
	}
	if x.Thermometer != "" {
		c.thermometer(p.with("thermometer"), x.Thermometer, "")
	}
	before := x.On
	for i, st := range x.Steps {
		q := p.with("steps", strconv.Itoa(i+1))
		if !st.At.IsZero() {
			if st.At.Before(before) {
				c.fault(q.with("at"), "a later time", "the step is before %s, the time of the step before or of the start", clock(before))
			}
			before = st.At
		}
		c.step(q, x, board, st)
	}
}

func clock(t time.Time) string { return t.Format("2006-01-02 15:04:05") }

func (c *checker) step(p path, x *Sitting, b *Board, st *Step) {
	read := len(st.Rails) > 0 || len(st.Temperatures) > 0 || st.Throughput != nil
	switch {
	case st.State != "" && c.study.State(st.State) == nil:
		c.fault(p.with("state"), Accepting(st.State, c.stateNames()), "no state called %q", st.State)
	case st.State == "" && read:
		c.fault(p, "state: and its name", "the step has readings and no state")
	case st.State == "" && len(st.Zeros) == 0:
		c.fault(p, "state: and readings, or zero:", "the step holds neither a state nor a zero")
	}
	seen := make(map[string]bool)
	for _, z := range st.Zeros {
		key := z.Key()
		q := p.with("zero", key)
		if seen[key] {
			c.fault(q, "one zero, or repeats as in 0.1 0.2 mV", "%s is zeroed twice in one step", key)
		}
		seen[key] = true
		c.zero(q, x, b, z)
	}
	rails := make(map[string]bool)
	for _, r := range st.Rails {
		q := p.with(r.Rail)
		if rails[r.Rail] {
			c.fault(q, "repeats, as in 118.4 118.9 mV, or another step", "%s is read twice in one step", r.Rail)
		}
		rails[r.Rail] = true
		c.railReading(q, x, b, r)
	}
	var names []string
	for _, t := range st.Temperatures {
		names = append(names, t.Name)
		c.temperature(p.with("temperatures", t.Name), x, &t.Reading)
	}
	c.names(p.with("temperatures"), "temperature", names)
	if e := st.Throughput; e != nil && c.entry(p.with("throughput"), e, quantity.BytePerSecond) {
		c.notNegative(p.with("throughput"), e)
	}
}

// Key is how a zero is named in the text form: "red clamp low", "core/left".
func (z *Zero) Key() string {
	switch {
	case z.Rail != "" && z.Tap != "":
		return z.Rail + "/" + z.Tap
	case z.Rail != "":
		return z.Rail
	case z.Range != "":
		return z.Instrument + " " + z.Range
	}
	return z.Instrument
}

// thermometer checks an instrument that reads temperatures.
func (c *checker) thermometer(p path, name, rng string) *Instrument {
	in := c.study.Instrument(name)
	switch {
	case in == nil:
		c.fault(p, Accepting(name, c.named(Thermometer)), "no instrument called %q", name)
	case len(rangesOf(in, quantity.Celsius)) == 0:
		c.fault(p, Accepting("", c.named(Thermometer)), "%s shows no temperature", name)
	case rng != "" && (in.Range(rng) == nil || in.Range(rng).Measures != quantity.Celsius):
		c.fault(p, Accepting(rng, rangesOf(in, quantity.Celsius)), "%s has no range of temperature called %q", name, rng)
	default:
		return in
	}
	return nil
}

func (c *checker) temperature(p path, x *Sitting, rd *Reading) {
	if !c.entry(p, &rd.Entry, quantity.Celsius) {
		return
	}
	name := rd.Meter
	if name == "" {
		name = x.Thermometer
	}
	if name == "" {
		return // read by something not listed; its uncertainty is then not known
	}
	in := c.study.Instrument(name)
	if rd.Meter != "" || rd.Range != "" {
		in = c.thermometer(p, name, rd.Range)
	}
	if in != nil {
	}
}
