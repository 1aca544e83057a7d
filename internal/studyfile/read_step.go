package studyfile

import (
	"strings"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// readStep reads one step of a sitting. before is the time of the step before
// it, or of the sitting's start.
func (p place) readStep(s *study.Study, sitting *study.Sitting, before time.Time) *study.Step {
	st := &study.Step{}
	if !p.want(mapping, "a state with its readings, or zeros") {
		return st
	}
	board := s.Board(sitting.Board)
	for _, e := range p.n.entries {
		q := place{p.r, extend(p.path, e.key), e.value}
		if stepSection.has(e.key) {
			p.r.see(stepSection, e.key)
		}
		switch e.key {
		case "zero":
			for _, z := range q.named("what was zeroed and what was read then, as in {red clamp: -0.3 mV}") {
				if z := z.readZero(s, board); z != nil {
					st.Zeros = append(st.Zeros, z)
				}
			}
		case "state":
			st.State, _ = q.text("the name of a state")
		case "at":
			st.At = q.readStepTime(before)
		case "temperatures":
			for _, t := range q.named("temperatures by name, as in {sink: 41.2 °C}") {
				n := &study.Named{Name: t.key()}
				n.Reading, _ = t.readReading(quantity.Celsius, quantity.None, "41.2 °C")
				st.Temperatures = append(st.Temperatures, n)
			}
		case "throughput":
			if t, ok := q.entry(quantity.BytePerSecond, "1.71 GB/s"); ok {
				st.Throughput = &t
			}
		case "note":
			st.Note, _ = q.text("free text")
		default:
			q.readStepRail(st, board, e)
		}
	}
	return st
}

// readStepRail reads what a step says under a key of the person's: a rail.
func (p place) readStepRail(st *study.Step, board *study.Board, e *entry) {
	if board != nil && board.Rail(e.key) == nil {
		known := append([]string(nil), stepSection.keys...)
		for _, r := range append(append([]*study.Rail(nil), board.Rails...), board.Inputs...) {
			known = append(known, r.Name)
		}
		accept := study.Accepting(e.key, known)
		if _, err := quantity.Parse(e.value.text, quantity.Celsius, ""); e.value.kind == scalar && err == nil && strings.Contains(e.value.text, "C") {
			accept = "temperatures: {" + e.key + ": " + e.value.text + "}"
		}
		p.r.fault(p.path, e.spot, accept, "%s has no rail called %q", board.Name, e.key)
		return
	}
	var rail *study.Rail
	if board != nil {
		rail = board.Rail(e.key)
	}
	st.Rails = append(st.Rails, p.readRailReading(rail))
}

// readStepTime reads the time of a step.
func (p place) readStepTime(before time.Time) time.Time {
	const like = "15:31, or 2026-03-14 15:31"
	text, ok := p.text(like)
	if !ok {
		return time.Time{}
	}
	t, pause, ok := stepTime(text, before)
	switch {
	case !ok:
		p.fail(like, "%q is not a time of day", text)
	case pause > maxPause && !before.Equal(midnight(before)):
		p.fail("a later time, or the day with it", "%s is before %s, the time of the step before or of the start", text, before.Format(clockOf(before)))
	case t.Before(before):
		p.fail("a later time", "%s is before %s, the time of the step before or of the start", text, before.Format(dayForm+" "+clockOf(before)))
	}
	return t
}

func midnight(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// clockOf is the shortest form that holds a time of day.
func clockOf(t time.Time) string {
	switch {
	case t.Nanosecond() != 0:
		return "15:04:05.999999999"
	case t.Second() != 0:
		return "15:04:05"
	}
	return "15:04"
}

// readZero reads a zero. Its key is an instrument with its range, a rail, or a
// rail and the name of a phase with a stroke between them.
func (p place) readZero(s *study.Study, board *study.Board) *study.Zero {
	z := &study.Zero{}
	key := strings.Join(strings.Fields(p.key()), " ")
	unit := quantity.Volt
	if rail, tap := railTap(board, key); rail != nil && (rail.Tap(tap) != nil || tap == "" || len(longestFirst(key, s.Instruments)) == 0) {
		z.Rail, z.Tap = rail.Name, tap
		if t := rail.Tap(tap); t != nil {
			unit = t.Shows()
		}
	} else {
		t, c := zeroTarget(key, s.Instruments)
		if c != nil {
			p.fail(c.accept, "%s", c.message)
			return nil
		}
		z.Instrument, z.Range, unit = t.Instrument, t.Range, t.Shows()
	}
	// A text that leaves out an only range is found by its whole name too.
	line, col := p.r.index.Line(p.path...)
	p.r.index.set(extend(p.path[:len(p.path)-1], z.Key()), spot{line, col})
	like := "0.1 mV"
	if unit == quantity.Ampere {
		like = "1 mA"
	}
	var ok bool
	if z.Reading, ok = p.readReading(unit, other(unit), like); !ok {
		return nil
	}
	return z
}

// zeroTarget finds the instrument and range that a zero is for.
func zeroTarget(key string, all []*study.Instrument) (*study.Tap, *complaint) {
	if len(longestFirst(key, all)) == 0 {
		c := unknownInstrument(key, all)
		c.message = "no instrument and no rail called \"" + key + "\""
		return nil, c
	}
	t, c := parseTap(key, all)
	if c == nil && (t.Turns != 1 || t.Reversed || t.Resistor != nil) {
		c = &complaint{message: "a zero is for an instrument and its range, or for a rail", accept: "red clamp low"}
	}
	return t, c
}

// railTap splits "core/left" or "core" into a rail of the board and a phase.
func railTap(b *study.Board, key string) (*study.Rail, string) {
	if b == nil {
		return nil, ""
	}
	if r := b.Rail(key); r != nil {
		return r, ""
	}
	name, tap, ok := strings.Cut(key, "/")
	if !ok {
		return nil, ""
	}
	return b.Rail(name), tap
}
