package studyfile

import (
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// otherwise is the key of what a rail is expected to carry in states that have
// no line of their own.
const otherwise = "otherwise"

// readAim reads one aim.
func (p place) readAim() *study.Aim {
	a := &study.Aim{}
	f, ok := p.fields(aimSection)
	if !ok {
		return a
	}
	unit, like := quantity.Watt, "0.1 W"
	total, isTotal := f.get("total")
	difference, isDifference := f.get("difference")
	switch {
	case isTotal && isDifference:
		p.fail("one of total and difference", "the aim is about two things at once")
	case isTotal:
		a.Kind, a.First = study.ClaimTotal, total.readStateOn()
	case isDifference:
		x := difference.readComparison()
		a.Kind, a.First, a.Against = study.ClaimDifference, x.First, x.Second
	}
	a.Note = f.note("note")
	q, ok := f.need("to", like)
	if !ok {
		return a
	}
	if isTotal && q.n.kind == scalar {
		if e, err := quantity.Parse(q.n.text, quantity.None, ""); err == nil && e.Values[0] < 1 {
			a.To = e
			return a
		}
		like = "0.1 W, or 2 %"
	}
	a.To, _ = q.entry(unit, like)
	return a
}

// readExpected reads what the rails of one board are expected to carry.
func (p place) readExpected() (out []*study.Expected) {
	board := p.key()
	for _, p := range p.named("rails by name, as in {core: 3 A}") {
		rail := p.key()
		if p.n.kind != mapping {
			e := &study.Expected{Board: board, Rail: rail}
			e.Current, _ = p.entry(quantity.Ampere, "3 A")
			out = append(out, e)
			continue
		}
		for _, p := range p.named("states by name, as in {bare: 3 A, otherwise: 3..4 A}") {
			e := &study.Expected{Board: board, Rail: rail, State: p.key()}
			if e.State == otherwise {
				e.State = ""
			}
			if p.n.kind != mapping {
				e.Current, _ = p.entry(quantity.Ampere, "3 A")
			} else if f, ok := p.fields(expectedSection); ok {
				if q, ok := f.need("current", "3 A"); ok {
					e.Current, _ = q.entry(quantity.Ampere, "3 A")
				}
				e.Scatter = f.optional("scatter", quantity.Ampere, "20 mA")
			}
			out = append(out, e)
		}
	}
	return out
}

// readOpening reads what is known of the place where a rail is opened.
func (p place) readOpening() *study.Opening {
	o := &study.Opening{}
	f, ok := p.fields(openingSection)
	if !ok {
		return o
	}
	if q, ok := f.get("side"); ok {
		o.Side, _ = choice(q, study.Sides)
	}
	if q, ok := f.get("feedback"); ok {
		o.Feedback, _ = choice(q, study.FeedbackPoints)
	}
	if q, ok := f.get("winding sensing"); ok {
		o.Sensing, _ = choice(q, study.WindingSenses)
	}
	o.Winding = f.optional("winding", quantity.Ohm, "1.2 mΩ")
	o.Inductor = f.optional("inductor", quantity.Henry, "1 µH")
	o.Phases = f.count("phases")
	o.Step = f.optional("step", quantity.Ampere, "2 A")
	o.StepTime = f.optional("step time", quantity.Second, "1 µs")
	o.Capacitor = f.optional("capacitor", quantity.Farad, "22 µF")
	if q, ok := f.get("load"); ok {
		o.Load, _ = choice(q, study.Loads)
	}
	return o
}

// readKnownLoad reads one known load.
func (p place) readKnownLoad() *study.KnownLoad {
	k := &study.KnownLoad{}
	f, ok := p.fields(knownLoadSection)
	if !ok {
		return k
	}
	for _, x := range []struct {
		key string
		to  *string
	}{{"board", &k.Board}, {"rail", &k.Rail}, {"with", &k.With}, {"without", &k.Without}} {
		if q, ok := f.need(x.key, "a name"); ok {
			*x.to, _ = q.text("a name")
		}
	}
	if q, ok := f.need("resistance", "10 Ω ±1 %"); ok {
		k.Resistance, _ = q.entry(quantity.Ohm, "10 Ω ±1 %")
	}
	return k
}
