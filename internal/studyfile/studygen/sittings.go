package studygen

import (
	"fmt"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"

	"pgregory.net/rapid"
)

// states draws factors and states that differ in them.
func (g *gen) states(s *study.Study) {
	total := 1
	for range g.count("factors", 0, 3) {
		f := &study.Factor{Name: g.name("factor", ""), Note: g.maybeProse("note")}
		seen := make(map[string]bool)
		for i := range g.count("levels", 1, 3) {
			l := pick(g, "level", "none", "0", "1", "copy: a, b", "~", "x {y}")
			if seen[l] {
				l = fmt.Sprintf("%s-%d", l, i)
			}
			seen[l] = true
			f.Levels = append(f.Levels, l)
		}
		total *= len(f.Levels)
		s.Factors = append(s.Factors, f)
	}
	n := g.count("states", 0, 4)
	if len(s.Factors) > 0 {
		n = min(n, total)
	}
	for k := range n {
		st := &study.State{Name: g.name("state", ""), Note: g.maybeProse("note")}
		for _, f := range s.Factors {
			st.Levels = append(st.Levels, study.Level{Factor: f.Name, Value: f.Levels[k%len(f.Levels)]})
			k /= len(f.Levels)
		}
		if g.yes("repeats") {
			st.Cycle = &study.Cycle{Period: *g.entry("2 s", "40 ms ±5 %", "1.9..2.1 s")}
			for _, b := range s.Boards {
				for _, r := range b.Rails {
					if st.Cycle.Swing(r.Name) == nil && g.yes("swings") {
						st.Cycle.Swings = append(st.Cycle.Swings, study.Swing{Rail: r.Name, Amps: *g.entryOf("0.1..2.8 A", quantity.Ampere)})
					}
				}
			}
		}
		s.States = append(s.States, st)
	}
}

func (g *gen) comparisons(s *study.Study) {
	var all []study.StateOn
	for _, b := range s.Boards {
		for _, st := range s.States {
			all = append(all, study.StateOn{Board: b.Name, State: st.Name})
		}
	}
	if len(all) < 2 {
		return
	}
	for range g.count("comparisons", 0, 3) {
		i, j := g.count("first", 0, len(all)-1), g.count("second", 0, len(all)-1)
		if i != j {
			s.Comparisons = append(s.Comparisons, study.Comparison{First: all[i], Second: all[j]})
		}
	}
}

func (g *gen) sitting(s *study.Study) {
	b := pick(g, "board", s.Boards...)
	x := &study.Sitting{Board: b.Name, On: g.day(), Clock: g.yes("clock"), By: g.maybeProse("by"), Note: g.maybeProse("note")}
	if g.yes("named") {
		x.Name, x.Named = g.name("sitting", ""), true
	}
	if x.Clock {
		x.On = x.On.Add(time.Duration(g.count("minute", 0, 1439)) * time.Minute)
	}
	if g.yes("room") {
		x.Room = g.entry("23 ± 1 °C", "22,8 °C", "20..24 °C")
	}
	var meters []*study.Instrument
	for _, in := range s.Instruments {
		switch {
		case in.Kind == study.Meter:
			meters = append(meters, in)
		case in.Kind == study.Thermometer && g.yes("thermometer"):
			x.Thermometer = in.Name
		}
	}
	x.VoltageMeter = pick(g, "voltage meter", meters...).Name
	x.CurrentMeter = pick(g, "current meter", meters...).Name
	at := x.On
	for range g.count("steps", 0, 4) {
		st := &study.Step{}
		if g.yes("at") {
			at = at.Add(rapid.SampledFrom([]time.Duration{0, time.Second, 7 * time.Minute, 11 * time.Hour, 13 * time.Hour, 30 * time.Hour,
				1500 * time.Millisecond}).Draw(g.T, "pause"))
			st.At = at
		}
		g.step(s, x, b, st, meters)
		x.Steps = append(x.Steps, st)
	}
	s.Sittings = append(s.Sittings, x)
}

func (g *gen) step(s *study.Study, x *study.Sitting, b *study.Board, st *study.Step, meters []*study.Instrument) {
	g.zeros(s, b, st)
	if len(st.Zeros) > 0 && g.yes("zeros alone") {
		return
	}
	st.State = pick(g, "state", s.States...).Name
	st.Note = g.maybeProse("note")
	for _, r := range append(append([]*study.Rail(nil), b.Rails...), b.Inputs...) {
		if g.yes("read") {
			st.Rails = append(st.Rails, g.railReading(r, meters))
		}
	}
	for range g.count("temperatures", 0, 2) {
		st.Temperatures = append(st.Temperatures, &study.Named{Name: g.name("temperature", ""), Reading: study.Reading{Entry: g.reading(100, "°C")}})
	}
	if g.yes("throughput") {
		st.Throughput = g.entry("1.71 GB/s", "900 MB/s", "8 Gbit/s", "1.6..1.7 GB/s")
	}
}

// zeros draws zeros of instruments and of single taps, each once.
func (g *gen) zeros(s *study.Study, b *study.Board, st *study.Step) {
	for _, in := range s.Instruments {
		switch {
		case in.Kind == study.Clamp && g.yes("zero"):
			rg := pick(g, "range", in.Ranges...)
			st.Zeros = append(st.Zeros, &study.Zero{Instrument: in.Name, Range: rg.Name, Reading: study.Reading{Entry: g.reading(3, "mV")}})
		case in.Kind == study.Shunt && g.yes("zero"):
			st.Zeros = append(st.Zeros, &study.Zero{Instrument: in.Name, Reading: study.Reading{Entry: g.reading(3, "µV")}})
		}
	}
	for _, r := range b.Rails {
		for _, t := range r.Taps {
			if g.yes("zero of a tap") {
				st.Zeros = append(st.Zeros, &study.Zero{Rail: r.Name, Tap: t.Name, Reading: study.Reading{Entry: g.tapReading(t)}})
			}
		}
	}
}

func (g *gen) tapReading(t *study.Tap) quantity.Entry {
	if t.Shows() == quantity.Ampere {
		return g.reading(9, "A")
	}
	return g.reading(499, "mV")
}

func (g *gen) railReading(r *study.Rail, meters []*study.Instrument) *study.RailReading {
	out := &study.RailReading{Rail: r.Name, Note: g.maybeProse("note")}
	feed := len(r.Taps) > 0
	for _, t := range r.Taps {
		c := &study.TapReading{Tap: t.Name, Reading: study.Reading{Entry: g.tapReading(t)}}
		if t.Kind == study.TapClamp && g.yes("both ways") {
			c.Back = &study.Reading{Entry: g.tapReading(t)}
		} else if g.yes("logged together") {
			share := g.parse("(" + pick(g, "sign", "", "-") + g.number(3) + " ± 0.01) % (k=1, 85 dof)")
			c.WithVoltage, c.Reading.From = &share, g.maybeProse("window")
		}
		if t.Kind != study.TapSeries && g.yes("another meter") {
			in := pick(g, "meter", meters...)
			c.Reading.Meter, c.Reading.Range = in.Name, in.Ranges[0].Name
		}
		feed = feed && (t.Loop != nil || t.Kind != study.TapClamp && t.Kind != study.TapSeries)
		out.Current = append(out.Current, c)
	}
	if len(r.Taps) == 0 || g.yes("voltage") {
		out.Voltage = &study.Reading{Entry: g.reading(4, "V")}
		if g.yes("another meter") {
			out.Voltage.Meter = pick(g, "meter", meters...).Name
		}
		out.FeedSide = feed && g.yes("feed side")
	}
	return out
}
