package notebook

import "railtally/internal/study"

// Unfinished is a rail of a step that was left out by Finished, and what is
// still to be read of it.
type Unfinished struct {
	Sitting, Step int // counted from 0 in the study
	Rail          string
	Lacks         string
}

// Finished returns a study that leaves out rails of a step whose readings are
// not all there yet, so that what is complete can be computed while work goes
// on. The given study is not changed; where nothing is unfinished it is returned
// itself.
func Finished(s *study.Study) (*study.Study, []Unfinished) {
	var left []Unfinished
	out := *s
	out.Sittings = nil
	for i, x := range s.Sittings {
		sitting := *x
		sitting.Steps = nil
		board := s.Board(x.Board)
		for j, st := range x.Steps {
			step := *st
			step.Rails = nil
			for _, r := range st.Rails {
				if lacks := lacking(board, r); lacks != "" {
					left = append(left, Unfinished{Sitting: i, Step: j, Rail: r.Rail, Lacks: lacks})
				} else {
					step.Rails = append(step.Rails, r)
				}
			}
			sitting.Steps = append(sitting.Steps, &step)
		}
		out.Sittings = append(out.Sittings, &sitting)
	}
	if left == nil {
		return s, nil
	}
	return &out, left
}

// lacking says what is still to be read of a rail, "" when nothing is. A rail
// that the board does not have is left to study.Check.
func lacking(b *study.Board, r *study.RailReading) string {
	if r.Note != "" && len(r.Current) == 0 && r.Voltage == nil {
		return "" // a note on a rail that is not read here
	}
	for _, c := range r.Current {
		if len(c.Reading.Values) == 0 {
			return "the current with the wire threaded forward"
		}
	}
	if b == nil || b.Rail(r.Rail) == nil {
		return ""
	}
	rail := b.Rail(r.Rail)
	for _, t := range rail.Taps {
		read := false
		for _, c := range r.Current {
			read = read || c.Tap == t.Name || c.Tap == "" && len(rail.Taps) == 1
		}
		switch {
		case !read && t.Name == "":
			return "the current"
		case !read:
			return "the current of " + t.Name
		}
	}
	if len(rail.Taps) == 0 && r.Voltage == nil {
		return "the voltage"
	}
	return ""
}
