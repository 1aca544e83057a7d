package studyfile

import (
	"slices"

	"railtally/internal/study"
)

// aimsOut writes the aims; nil when there are none.
func aimsOut(s *study.Study) *out {
	all := &out{kind: list, block: true}
	for _, a := range s.Aims {
		o := newMap()
		if a.Kind == study.ClaimDifference {
			o.put("difference", comparisonOut(s, study.Comparison{First: a.First, Second: a.Against}))
		} else {
			o.put("total", stateOnOut(s, a.First))
		}
		o.put("to", entryOut(&a.To))
		o.say("note", a.Note)
		all.add(o)
	}
	return all.orNil()
}

// expectedOut writes what rails are expected to carry, by board and rail in the
// order in which they first come.
func expectedOut(s *study.Study) *out {
	boards := newBlock()
	rails := make(map[string]*out)
	lines := make(map[[2]string][]*study.Expected)
	for _, e := range s.Expected {
		k := [2]string{e.Board, e.Rail}
		lines[k] = append(lines[k], e)
	}
	for _, e := range s.Expected {
		if rails[e.Board] == nil {
			rails[e.Board] = newBlock()
			boards.put(e.Board, rails[e.Board])
		}
		if o := rails[e.Board]; !slices.Contains(o.keys, e.Rail) {
			o.put(e.Rail, expectedRailOut(lines[[2]string{e.Board, e.Rail}]))
		}
	}
	return boards.orNil()
}

func expectedRailOut(lines []*study.Expected) *out {
	if len(lines) == 1 && lines[0].State == "" && lines[0].Scatter == nil {
		return entryOut(&lines[0].Current)
	}
	o := newMap()
	for _, e := range lines {
		key := e.State
		if key == "" {
			key = otherwise
		}
		if e.Scatter == nil {
			o.put(key, entryOut(&e.Current))
			continue
		}
		x := newMap()
		x.put("current", entryOut(&e.Current))
		x.put("scatter", entryOut(e.Scatter))
		o.put(key, x)
	}
	return o
}

// openingOut writes what is known of where a rail is opened.
func openingOut(x *study.Opening) *out {
	if x == nil {
		return nil
	}
	o := newMap()
	o.say("side", string(x.Side))
	o.say("feedback", string(x.Feedback))
	o.say("winding sensing", string(x.Sensing))
	o.put("winding", optional(x.Winding))
	o.put("inductor", optional(x.Inductor))
	o.put("phases", countOut(x.Phases))
	o.put("step", optional(x.Step))
	o.put("step time", optional(x.StepTime))
	o.put("capacitor", optional(x.Capacitor))
	o.say("load", string(x.Load))
	return o
}

// proofsOut writes the known loads; nil when there are none.
func proofsOut(s *study.Study) *out {
	all := &out{kind: list, block: true}
	for _, k := range s.Proofs {
		o := newMap()
		o.put("board", text(k.Board))
		o.put("rail", text(k.Rail))
		o.put("with", text(k.With))
		o.put("without", text(k.Without))
		o.put("resistance", entryOut(&k.Resistance))
		all.add(o)
	}
	return all.orNil()
}
