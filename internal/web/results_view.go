package web

import (
	"fmt"

	"railtally/internal/tally"
)

// results gathers the pieces of the results page. Hold mu.
func (t *tallied) results(id int64) (*resultsView, error) {
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
		if manyStates(b) {
			x.StackHref = at("studies", id, "rails", b.Name)
		} else if x.Stack, err = p.Stack(b); err != nil {
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
	o := &resultsOf{tallied: t, id: id}
	v.Claims, v.Choice, v.Later = o.claimLines(), o.choose(), o.laterSections()
	if v.Measured {
		v.SittingHref = o.to("sitting-effect")
	}
	if v.Trials, err = p.Trials(); err != nil {
		return nil, err
	}
	v.Sittings, err = p.Sittings()
	return v, err
}

// manyStates tells that the rails of each of a board's states take screens, and
// are left to be asked for.
func manyStates(b *tally.Board) bool { return len(b.States) > 24 }

// laterSections are the parts of the results that take time to draw, or room.
func (o *resultsOf) laterSections() (out []laterSection) {
	rails := laterSection{ID: "stacks", Title: "The rails of each state"}
	effects := laterSection{ID: "effects", Title: "What each factor adds"}
	steps := laterSection{ID: "steps", Title: "Step by step"}
	shares := laterSection{ID: "shares", Title: "The part of each rail"}
	matrix := laterSection{ID: "matrix", Title: "Each state against each"}
	inputs := laterSection{ID: "inputs", Title: "Inputs against rails"}
	for _, b := range o.Tally.Boards {
		if manyStates(b) {
			rails.Parts = append(rails.Parts, later{o.to("rails", b.Name), "What each rail draws on " + b.Name})
		}
		if b.Effects != nil && len(effects.Parts) == 0 {
			effects.Parts = []later{{o.to("effects"), "What each factor adds, from all states together"}}
		}
		if len(b.Steps) > 0 {
			steps.Parts = append(steps.Parts, later{o.to("steps", b.Name), "Step by step on " + b.Name})
		}
		if full := tally.Fullest(b); full != nil {
			shares.Parts = append(shares.Parts, later{o.to("shares", b.Name, full.State.Name), "The part of each rail in " + full.On().String()})
		}
		if len(b.Complete()) > 1 {
			matrix.Parts = append(matrix.Parts, later{o.to("matrix", b.Name), "Each state against each on " + b.Name})
		}
	}
	if len(o.Tally.Upstream) > 0 {
		inputs.Parts = []later{{o.to("inputs"), "Inputs against rails"}}
	}
	for _, x := range []laterSection{rails, effects, steps, shares, matrix, inputs} {
		if len(x.Parts) > 0 {
			out = append(out, x)
		}
	}
	return out
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
