package web

import (
	"fmt"

	"railtally/internal/tally"
)

// results gathers the pieces of the results page. Hold mu.
func (t *tallied) results() (*resultsView, error) {
	v := &resultsView{Faults: t.Faults, Left: t.left()}
	if t.Tally == nil {
		return v, nil
	}
	p := t.parts
	var err error
	v.Answer, v.Findings = p.Answer(), p.Findings()
	v.Level = p.Answer().Level
	if v.Totals, err = p.Totals(); err != nil {
		return nil, err
	}
	for i, b := range t.Tally.Boards {
		if len(b.States) == 0 {
			continue
		}
		v.Measured = true
		x := boardResults{ID: i, Name: b.Name, Chip: b.Chip, Table: p.Table(b)}
		if x.Stack, err = p.Stack(b); err != nil {
			return nil, err
		}
		if full := tally.Fullest(b); full != nil {
			x.LanesOf = full.State.Name
			if x.Lanes, err = p.Lanes(full); err != nil {
				return nil, err
			}
		}
		v.Boards = append(v.Boards, x)
	}
	if v.Differences, err = p.Differences(); err != nil {
		return nil, err
	}
	v.Sittings, err = p.Sittings()
	return v, err
}

// left says what is being read just now.
func (t *tallied) left() []string {
	var out []string
	for _, u := range t.Left {
		x := t.Study.Sittings[u.Sitting]
		out = append(out, fmt.Sprintf("%s, %s: %s lacks %s", x.Name, x.Steps[u.Step].State, u.Rail, u.Lacks))
	}
	return out
}
