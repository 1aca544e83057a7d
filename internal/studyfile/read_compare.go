package studyfile

import (
	"strings"

	"railtally/internal/study"
)

const comparisonForm = "Otter busy against Otter idle"

// readComparison reads "Otter busy against Otter idle", or the map form
// {first: …, against: …} where names are such that the text could be split in
// two ways.
func (p place) readComparison() (c study.Comparison) {
	if p.n.kind == mapping {
		f, _ := p.fields(compareSection)
		first, ok1 := f.need("first", "Otter busy")
		second, ok2 := f.need("against", "Otter idle")
		if !ok1 || !ok2 {
			return c
		}
		c.First, c.Second = first.readStateOn(), second.readStateOn()
		return c
	}
	text, ok := p.text(comparisonForm)
	if !ok {
		return c
	}
	words := sides(text)
	if len(words) == 1 {
		p.fail(comparisonForm, `"against" is missing between the two`)
		return c
	}
	found := comparisonsIn(p.r.study, text)
	switch {
	case len(found) == 1:
		return found[0]
	case len(found) > 1:
		p.fail("{first: {board: …, state: …}, against: {board: …, state: …}}", "%q can be understood in more than one way", text)
		return c
	}
	for i := range 2 {
		half := words[0]
		if i == 1 {
			half = strings.Join(words[1:], " against ")
		}
		if len(statesOn(p.r.study, half)) == 0 {
			p.failStateOn(half)
		}
	}
	return c
}

// readStateOn reads one side of a comparison.
func (p place) readStateOn() (out study.StateOn) {
	if p.n.kind == mapping {
		f, _ := p.fields(stateOnSection)
		board, ok1 := f.need("board", "the name of a board")
		state, ok2 := f.need("state", "the name of a state")
		if !ok1 || !ok2 {
			return out
		}
		out.Board, _ = board.text("the name of a board")
		out.State, _ = state.text("the name of a state")
		return out
	}
	text, ok := p.text("Otter busy")
	if !ok {
		return out
	}
	found := statesOn(p.r.study, strings.Join(strings.Fields(text), " "))
	switch len(found) {
	case 1:
		return found[0]
	case 0:
		p.failStateOn(text)
	default:
		p.fail("{board: …, state: …}", "%q can be understood in more than one way", text)
	}
	return out
}

// sides splits a text at every "against".
func sides(text string) []string {
	return strings.Split(strings.Join(strings.Fields(text), " "), " against ")
}

// comparisonsIn returns every way to understand a text as a comparison.
func comparisonsIn(s *study.Study, text string) (out []study.Comparison) {
	words := sides(text)
	for i := 1; i < len(words); i++ {
		for _, a := range statesOn(s, strings.Join(words[:i], " against ")) {
			for _, b := range statesOn(s, strings.Join(words[i:], " against ")) {
				out = append(out, study.Comparison{First: a, Second: b})
			}
		}
	}
	return out
}

// statesOn returns every way to read a text as a board and one of its states.
func statesOn(s *study.Study, text string) (out []study.StateOn) {
	for _, b := range s.Boards {
		if rest, ok := cutWord(text, b.Name); ok && s.State(rest) != nil {
			out = append(out, study.StateOn{Board: b.Name, State: rest})
		}
	}
	return out
}

// failStateOn says which half of a text is not known.
func (p place) failStateOn(text string) {
	var boards, states []string
	for _, s := range p.r.study.States {
		states = append(states, s.Name)
	}
	for _, b := range p.r.study.Boards {
		if rest, ok := cutWord(text, b.Name); ok {
			if rest == "" {
				p.fail(strings.Join(states, ", "), "%q names a board and no state", text)
				return
			}
			p.fail(study.Accepting(rest, states), "no state called %q", rest)
			return
		}
		boards = append(boards, b.Name)
	}
	word, _, _ := strings.Cut(text, " ")
	p.fail(study.Accepting(word, boards), "%q begins with the name of no board", text)
}
