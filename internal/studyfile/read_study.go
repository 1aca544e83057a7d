package studyfile

import (
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// readStudy reads the whole file. Instruments come before boards and boards
// before sittings, wherever they stand, because a tap's text is understood by
// the names of instruments and a reading's unit by its tap. An item of a list
// that cannot be read leaves an empty one, so that items keep their numbers.
func (r *reader) readStudy(root place) {
	if root.n.kind == empty {
		root.fail("study: and then the question that is to be answered", "the file holds no study")
		return
	}
	f, ok := root.fields(studySection)
	if !ok {
		return
	}
	s := r.study
	if p, ok := f.need("study", "the question that is to be answered"); ok {
		s.Question, _ = p.text("the question that is to be answered")
	}
	s.Note, s.Words = f.note("note"), f.note("words")
	if p, ok := f.get("level"); ok {
		if text, ok := p.text("95 %"); ok {
			if x, err := quantity.Value(text, quantity.None, ""); err != nil {
				p.failed(err, "95 %")
			} else {
				s.Level = x
			}
		}
	}
	s.EqualWithin = f.optional("equal within", quantity.Watt, "0.5 W")
	s.StaleZero = f.optional("stale zero", quantity.Second, "30 min")

	if p, ok := f.get("sitting effect"); ok {
		s.SittingEffect = p.readCarried()
	}
	if p, ok := f.get("decision rule"); ok {
		s.Rule = p.readRule()
	}

	if p, ok := f.get("instruments"); ok {
		for _, p := range p.named("instruments by name") {
			s.Instruments = append(s.Instruments, p.readInstrument())
		}
	}
	if p, ok := f.get("boards"); ok {
		for _, p := range p.named("boards by name") {
			s.Boards = append(s.Boards, p.readBoard())
		}
	}
	factors, listed := f.get("factors")
	if listed {
		for _, p := range factors.named("factors by name, as in drives: [0, 1, 2]") {
			s.Factors = append(s.Factors, p.readFactor())
		}
	}
	if p, ok := f.get("states"); ok {
		r.readStates(p, listed)
	}
	if p, ok := f.get("interactions"); ok {
		for _, p := range p.list("a list of factors that act together, as in [[drives, load]]") {
			s.Interactions = append(s.Interactions, p.readInteraction())
		}
	}
	if p, ok := f.get("compare"); ok {
		for _, p := range p.list("a list, each - Otter busy against Otter idle") {
			s.Comparisons = append(s.Comparisons, p.readComparison())
		}
	}
	if p, ok := f.get("claims"); ok {
		for _, p := range p.list("a list of claims, each beginning with - says:") {
			s.Claims = append(s.Claims, p.readClaim())
		}
	}
	if p, ok := f.get("aims"); ok {
		for _, p := range p.list("a list of aims, as in - {total: Otter busy, to: 2 %}") {
			s.Aims = append(s.Aims, p.readAim())
		}
	}
	if p, ok := f.get("expected"); ok {
		for _, p := range p.named("boards by name, and what each rail is expected to carry") {
			s.Expected = append(s.Expected, p.readExpected()...)
		}
	}
	if p, ok := f.get("work"); ok {
		s.Work = p.readWork()
	}
	if p, ok := f.get("order"); ok {
		for _, p := range p.named("boards by name, and the order of the states of each") {
			s.Order = append(s.Order, p.readOrder()...)
		}
	}
	if p, ok := f.get("both ways"); ok {
		for _, p := range p.named("boards by name, and the rails of each") {
			for _, rail := range p.texts("a list of rails, as in [core, aux]") {
				s.BothWays = append(s.BothWays, &study.Threaded{Board: p.key(), Rail: rail})
			}
		}
	}
	if p, ok := f.get("proofs"); ok {
		for _, p := range p.list("a list of known loads") {
			s.Proofs = append(s.Proofs, p.readKnownLoad())
		}
	}
	if p, ok := f.get("cooling"); ok {
		for _, p := range p.named("boards by name, and how the chip of each is cooled") {
			s.Cooling = append(s.Cooling, p.readCooling())
		}
	}
	if p, ok := f.get("done"); ok {
		for _, p := range p.list("a list of what was done, as in - {board: Otter, job: open, rail: core}") {
			s.Done = append(s.Done, p.readTick())
		}
	}
	var b bench
	if p, ok := f.get("bench"); ok {
		b = p.readBench()
	}
	if p, ok := f.get("sittings"); ok {
		for _, p := range p.list("a list of sittings, each beginning with - board:") {
			s.Sittings = append(s.Sittings, p.readSitting(b))
		}
		s.NameSittings()
	}
	if len(s.Sittings) == 0 {
		s.Usual = r.usual(f, b)
	}
}

// readFactor reads drives: [0, 1, 2] or drives: {levels: [0, 1, 2], note: …}.
func (p place) readFactor() *study.Factor {
	out := &study.Factor{Name: p.key()}
	levels := p
	if p.n.kind == mapping {
		f, _ := p.fields(factorSection)
		out.Note = f.note("note")
		var ok bool
		if levels, ok = f.need("levels", "[none, copy]"); !ok {
			return out
		}
	}
	for _, l := range levels.list("a list of levels, as in [none, copy]") {
		if text, ok := l.text("the name of a level"); ok {
			out.Levels = append(out.Levels, text)
		}
	}
	return out
}

// readInteraction reads [drives, load].
func (p place) readInteraction() *study.Interaction {
	out := &study.Interaction{}
	for _, f := range p.list("factors that act together, as in [drives, load]") {
		if name, ok := f.text("the name of a factor"); ok {
			out.Of = append(out.Of, study.OfFactor{Factor: name})
		}
	}
	return out
}

// readStates reads the states; without a list of factors it gathers them, and
// their levels, in the order in which the states first name them.
func (r *reader) readStates(p place, listed bool) {
	s := r.study
	for _, p := range p.named("states by name") {
		st := &study.State{Name: p.key()}
		s.States = append(s.States, st)
		if p.n.kind == empty {
			continue // a state without factors
		}
		for _, l := range p.named("the level of each factor, as in {drives: 1, load: none}") {
			if stateSection.has(l.key()) {
				r.see(stateSection, l.key())
				l.readOfState(st)
				continue
			}
			value, ok := l.text("the level of the factor")
			if !ok {
				continue
			}
			st.Levels = append(st.Levels, study.Level{Factor: l.key(), Value: value})
		}
	}
	if !listed {
		s.Factors = factorsOf(s.States)
	}
	for _, st := range s.States {
		st.Levels = inOrder(st.Levels, s.Factors)
	}
}

// readOfState reads what a state has beside its levels.
func (p place) readOfState(st *study.State) {
	if p.key() == "note" {
		st.Note, _ = p.text("free text")
		return
	}
	if st.Cycle == nil {
		st.Cycle = &study.Cycle{}
	}
	if p.key() == "repeats every" {
		st.Cycle.Period, _ = p.entry(quantity.Second, "2 s")
		return
	}
	for _, q := range p.named("the currents between which each rail goes, as in {core: 0.4..2.8 A}") {
		if e, ok := q.entry(quantity.Ampere, "0.4..2.8 A"); ok {
			st.Cycle.Swings = append(st.Cycle.Swings, study.Swing{Rail: q.key(), Amps: e})
		}
	}
}

// factorsOf gathers the factors that states name, in order of appearance.
func factorsOf(states []*study.State) []*study.Factor {
	var out []*study.Factor
	for _, st := range states {
		for _, l := range st.Levels {
			var f *study.Factor
			for _, x := range out {
				if x.Name == l.Factor {
					f = x
				}
			}
			if f == nil {
				f = &study.Factor{Name: l.Factor}
				out = append(out, f)
			}
			known := false
			for _, v := range f.Levels {
				known = known || v == l.Value
			}
			if !known {
				f.Levels = append(f.Levels, l.Value)
			}
		}
	}
	return out
}

// inOrder sorts levels into the order of the factors; unknown factors, which
// Check reports, stay at the end.
func inOrder(levels []study.Level, factors []*study.Factor) []study.Level {
	var out []study.Level
	known := make(map[string]bool)
	for _, f := range factors {
		known[f.Name] = true
		for _, l := range levels {
			if l.Factor == f.Name {
				out = append(out, l)
			}
		}
	}
	for _, l := range levels {
		if !known[l.Factor] {
			out = append(out, l)
		}
	}
	return out
}
