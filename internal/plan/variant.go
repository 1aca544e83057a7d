package plan

import (
	"railtally/internal/study"
)

// variant is one way to do the work: a study whose shelf and taps may differ
// from those written, and a scheme.
type variant struct {
	study  *study.Study
	scheme Scheme
	meter  string // reads voltages, and what names no meter of its own
}

// clone copies what a change may touch: instruments, rails, taps, scheme.
func (v variant) clone() variant {
	s := *v.study
	s.Instruments = make([]*study.Instrument, len(v.study.Instruments))
	for i, in := range v.study.Instruments {
		c := *in
		c.Ranges = make([]*study.Range, len(in.Ranges))
		for j, r := range in.Ranges {
			rc := *r
			c.Ranges[j] = &rc
		}
		s.Instruments[i] = &c
	}
	s.Boards = make([]*study.Board, len(v.study.Boards))
	for i, b := range v.study.Boards {
		c := *b
		c.Rails, c.Inputs = cloneRails(b.Rails), cloneRails(b.Inputs)
		s.Boards[i] = &c
	}
	return variant{&s, v.scheme.clone(), v.meter}
}

func cloneRails(rails []*study.Rail) []*study.Rail {
	out := make([]*study.Rail, len(rails))
	for i, r := range rails {
		c := *r
		c.Taps = make([]*study.Tap, len(r.Taps))
		for j, t := range r.Taps {
			tc := *t
			c.Taps[j] = &tc
		}
		out[i] = &c
	}
	return out
}
