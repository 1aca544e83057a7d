package studyfile

import (
	"strconv"

	"railtally/internal/study"
)

// workOut writes how the work is to be done; nil where nothing is said.
func workOut(w *study.Work) *out {
	if w == nil {
		return nil
	}
	o := newMap()
	if w.StatesPerZero != nil {
		o.put("states per zero", text(strconv.Itoa(*w.StatesPerZero)))
	}
	o.put("closing zero", yesOut(w.ClosingZero))
	o.put("repeats", countOut(w.Repeats))
	o.put("passes", countOut(w.Passes))
	o.put("sittings", countOut(w.Sittings))
	o.put("by state", yesOut(w.ByState))
	o.put("first again", yesOut(w.FirstAgain))
	if w.Seed != nil {
		o.put("seed", text(strconv.FormatInt(*w.Seed, 10)))
	}
	return o.orNil()
}

func yesOut(b *bool) *out {
	switch {
	case b == nil:
		return nil
	case *b:
		return text("yes")
	}
	return text("no")
}

// orderOut writes the order of states, by board.
func orderOut(s *study.Study) *out {
	boards := newBlock()
	done := map[string]bool{}
	for _, t := range s.Order {
		if done[t.Board] {
			continue
		}
		done[t.Board] = true
		states, pinned := &out{kind: list}, &out{kind: list}
		for _, x := range s.Turns(t.Board) {
			states.add(text(x.State))
			if x.Pinned {
				pinned.add(text(x.State))
			}
		}
		if pinned = pinned.orNil(); pinned == nil {
			boards.put(t.Board, states)
			continue
		}
		o := newMap()
		o.put("states", states)
		o.put("pinned", pinned)
		boards.put(t.Board, o)
	}
	return boards.orNil()
}

// bothWaysOut writes the rails that are read with the wire threaded both ways.
func bothWaysOut(s *study.Study) *out {
	boards := newBlock()
	rails := map[string]*out{}
	for _, x := range s.BothWays {
		if rails[x.Board] == nil {
			rails[x.Board] = &out{kind: list}
			boards.put(x.Board, rails[x.Board])
		}
		rails[x.Board].add(text(x.Rail))
	}
	return boards.orNil()
}
