package studygen

import (
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// plan draws what a plan is made from.
func (g *gen) plan(s *study.Study) {
	if len(s.States) == 0 {
		return
	}
	on := func() study.StateOn {
		return study.StateOn{Board: pick(g, "board", s.Boards...).Name, State: pick(g, "state", s.States...).Name}
	}
	for range g.count("aims", 0, 2) {
		a := &study.Aim{Kind: study.ClaimTotal, First: on(), Note: g.maybeProse("note")}
		a.To = g.of(quantity.None, "2 %", "0.5 %")
		if g.yes("in watts") {
			a.To = g.of(quantity.Watt, "0.1 W", "30 mW")
			if len(s.States) > 1 {
				a.Kind, a.Against = study.ClaimDifference, study.StateOn{Board: a.First.Board, State: s.States[0].Name}
				if a.Against == a.First {
					a.Against.State = s.States[1].Name
				}
			}
		}
		s.Aims = append(s.Aims, a)
	}
	if g.yes("expected") {
		for _, r := range s.Boards[0].Rails {
			g.expected(s, r)
		}
	}
	for _, r := range s.Boards[0].Rails {
		if g.yes("opening") {
			r.Opening = g.opening(r)
		}
		if len(r.Taps) > 0 && len(s.States) > 1 && g.yes("known load") {
			s.Proofs = append(s.Proofs, &study.KnownLoad{Board: s.Boards[0].Name, Rail: r.Name, With: s.States[0].Name,
				Without: s.States[1].Name, Resistance: g.of(quantity.Ohm, "10 Ω ±1 %", "(4.70 ± 0.05) Ω")})
		}
		for _, o := range s.Boards[0].Rails {
			if o != r && r.Aside && len(r.Taps) > 0 && len(o.Taps) > 0 && o.Checks == "" && !checked(s.Boards[0], r) && g.yes("checks") {
				r.Checks = o.Name
			}
		}
	}
	g.work(s)
	g.done(s)
	for _, in := range s.Instruments {
		if in.Kind == study.Clamp {
			in.Jaw = g.perhaps("jaw", quantity.Metre, "12 mm", "2 cm")
		}
	}
}

func checked(b *study.Board, r *study.Rail) bool {
	for _, o := range b.Rails {
		if o.Checks == r.Name {
			return true
		}
	}
	return false
}

func (g *gen) expected(s *study.Study, r *study.Rail) {
	line := func(state string) {
		e := &study.Expected{Board: s.Boards[0].Name, Rail: r.Name, State: state, Current: g.of(quantity.Ampere, "3 A", "10..50 mA", "1 A ±20 %")}
		e.Scatter = g.perhaps("scatter", quantity.Ampere, "20 mA", "0 A")
		s.Expected = append(s.Expected, e)
	}
	for _, st := range s.States {
		if g.yes("state expected") {
			line(st.Name)
		}
	}
	if g.yes("otherwise") {
		line("")
	}
}

func (g *gen) opening(r *study.Rail) *study.Opening {
	o := &study.Opening{
		Feedback: pick(g, "feedback", append(study.FeedbackPoints, "")...),
		Sensing:  pick(g, "sensing", append(study.WindingSenses, "")...),
		Load:     pick(g, "load", append(study.Loads, "")...),
		Winding:  g.perhaps("winding", quantity.Ohm, "1.2 mΩ", "5 mΩ ±8 %"), Inductor: g.perhaps("inductor", quantity.Henry, "1 µH", "220 nH"),
		Phases: g.count("phases", 0, 4), Capacitor: g.perhaps("capacitor", quantity.Farad, "22 µF", "100 nF"),
	}
	if r.Feed == study.InductorLeg {
		o.Side = pick(g, "side", append(study.Sides, "")...)
	}
	if o.Step = g.perhaps("step", quantity.Ampere, "2 A", "0,5 A"); o.Step != nil {
		e := g.of(quantity.Second, "1 µs", "50 ns")
		o.StepTime = &e
	}
	return o
}

// work draws how the work is to be done and in which order.
func (g *gen) work(s *study.Study) {
	tossed := func(label string) *bool {
		if !g.yes(label) {
			return nil
		}
		return new(g.yes(label + " so"))
	}
	if g.yes("work") {
		w := &study.Work{Repeats: g.count("repeats", 1, 20), ClosingZero: tossed("closing zero"), ByState: tossed("by state"), FirstAgain: tossed("first again")}
		if g.yes("zeros") {
			w.StatesPerZero = new(g.count("states per zero", 0, 3))
		}
		if g.yes("many") {
			w.Passes, w.Sittings, w.Seed = g.count("passes", 1, 3), g.count("sittings", 1, 3), new(int64(g.count("seed", 0, 9)))
		}
		s.Work = w
	}
	for _, b := range s.Boards {
		if !g.yes("order") {
			continue
		}
		for _, st := range s.States {
			if g.yes("in order") {
				s.Order = append(s.Order, &study.Turn{Board: b.Name, State: st.Name, Pinned: g.yes("pinned")})
			}
		}
		for _, r := range b.Rails {
			if len(r.Taps) > 0 && r.Taps[0].Kind == study.TapClamp && g.yes("both ways") {
				s.BothWays = append(s.BothWays, &study.Threaded{Board: b.Name, Rail: r.Name})
			}
		}
	}
}

// usual draws what sittings to come would share.
func (g *gen) usual(s *study.Study) *study.Usual {
	u := &study.Usual{By: g.name("by", ""), Room: g.perhaps("room", quantity.Celsius, "23 ± 1 °C", "20..25 °C")}
	for _, in := range s.Instruments {
		if in.Kind == study.Meter {
			u.CurrentMeter = in.Name
			u.VoltageMeter = in.Name
		}
	}
	return u
}

// done draws what was ticked off.
func (g *gen) done(s *study.Study) {
	b := s.Boards[0]
	for _, job := range study.Jobs {
		if !g.yes(string(job)) {
			continue
		}
		t := &study.Tick{Board: b.Name, Job: job, Skipped: g.yes("skipped"), By: g.name("by", ""), Note: g.maybeProse("note")}
		if job.OfRail() {
			t.Rail = pick(g, "rail", b.Rails...).Name
		}
		if job == study.JobKnownLoad && g.yes("loaded") {
			t.State = s.States[0].Name
		}
		if g.yes("when") {
			t.On = time.Date(2026, 3, 1+g.count("day", 0, 20), g.count("hour", 0, 23), g.count("minute", 0, 59), 0, 0, time.UTC)
		}
		s.Done = append(s.Done, t)
	}
}
