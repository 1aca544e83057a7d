package studyfile

import (
	"slices"
	"strconv"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// readWork reads how the work is to be done.
func (p place) readWork() *study.Work {
	f, ok := p.fields(workSection)
	if !ok {
		return nil
	}
	w := &study.Work{Repeats: f.count("repeats"), Passes: f.count("passes"), Sittings: f.count("sittings"),
		ClosingZero: f.yesOrNo("closing zero"), ByState: f.yesOrNo("by state"), FirstAgain: f.yesOrNo("first again")}
	if n := f.whole("states per zero"); n != nil {
		w.StatesPerZero = new(int(*n))
	}
	w.Seed = f.whole("seed")
	return w
}

// yesOrNo is nil where nothing is written.
func (f fields) yesOrNo(key string) *bool {
	if p, ok := f.get(key); ok {
		if yes, ok := p.yes(); ok {
			return &yes
		}
	}
	return nil
}

// whole is a whole number from 0; nil where none is written.
func (f fields) whole(key string) *int64 {
	p, ok := f.get(key)
	if !ok {
		return nil
	}
	text, ok := p.text("a whole number")
	if !ok {
		return nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 0 || key != "seed" && n > 10000 {
		p.fail("a whole number from 0", "%q is no such number", text)
		return nil
	}
	return &n
}

// texts reads a list of texts.
func (p place) texts(accept string) (out []string) {
	for _, q := range p.list(accept) {
		if t, ok := q.text(accept); ok {
			out = append(out, t)
		}
	}
	return out
}

// readOrder reads the order of one board's states: a list, or a mapping that also
// names those which are pinned.
func (p place) readOrder() (out []*study.Turn) {
	const like = "a list of states, as in [idle, busy]"
	list, pinned := p, []string(nil)
	if p.n.kind == mapping {
		f, _ := p.fields(orderSection)
		if q, ok := f.get("pinned"); ok {
			pinned = q.texts(like)
		}
		var ok bool
		if list, ok = f.need("states", "[idle, busy]"); !ok {
			return nil
		}
	}
	states := list.texts(like)
	for _, st := range pinned {
		if !slices.Contains(states, st) {
			p.fail(study.Accepting(st, states), "%q is pinned and does not stand in the order", st)
		}
	}
	for _, st := range states {
		out = append(out, &study.Turn{Board: p.key(), State: st, Pinned: slices.Contains(pinned, st)})
	}
	return out
}

// usual is what the bench says, for a study without sittings, whose own it would
// be; nil where it says nothing.
func (r *reader) usual(f fields, b bench) *study.Usual {
	p, ok := f.get("bench")
	if !ok {
		return nil
	}
	at := fields{place: p}
	u := &study.Usual{VoltageMeter: at.inherit(b.voltage, "meter", "voltage"), CurrentMeter: at.inherit(b.current, "meter", "current"),
		Thermometer: at.inherit(b.thermometer, "thermometer"), By: at.inherit(b.by, "by")}
	if b.room.n != nil {
		if e, err := quantity.Parse(b.room.n.text, quantity.Celsius, ""); err == nil {
			u.Room = &e
		}
	}
	if *u == (study.Usual{}) {
		return nil
	}
	return u
}
