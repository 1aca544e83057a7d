package tally

import (
	"slices"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// claimed finds the figure that a claim is about, what it rests on, and what
// must be said with it; or why there is none.
func (t *Tally) claimed(r *ClaimResult) error {
	switch r.Kind {
	case study.ClaimTotal:
		if s := t.complete(r, r.First); s != nil {
			r.Figure = s.Total
			r.Rests = append(r.Rests, restsOn(s))
		}
	case study.ClaimDifference, study.ClaimRatio:
		return t.claimedComparison(r)
	case study.ClaimEffect, study.ClaimShare:
		return t.claimedEffect(r)
	case study.ClaimThroughput:
		return t.claimedThroughput(r)
	case study.ClaimTemperature, study.ClaimPredicted:
		return t.claimedWarmth(r)
	}
	return nil
}

// complete returns a state with a total; else it says in r why there is none.
func (t *Tally) complete(r *ClaimResult, on study.StateOn) *State {
	s := t.State(on)
	switch {
	case s == nil:
		r.Why = phrase.New("%s was not measured.", on)
	case !s.Complete:
		r.Why = phrase.New("%s has no total, because %s was not read.", on, s.Missing)
	default:
		return s
	}
	r.Advice = []phrase.Phrase{phrase.New("Measure it.")}
	return nil
}

func restsOn(s *State) phrase.Phrase {
	var sittings []string
	for _, tk := range s.Taken {
		if tk.Total.Valid() {
			sittings = append(sittings, tk.Sitting.Name)
		}
	}
	return phrase.New("total of %s, %s (%s)", s.On(), watts(s.Total), sittings)
}

func (t *Tally) claimedComparison(r *ClaimResult) error {
	first, second := t.complete(r, r.First), t.complete(r, r.Against)
	if first == nil || second == nil {
		return nil
	}
	d, err := t.Compare(first, second)
	if err != nil {
		return err
	}
	r.Rests = append(r.Rests, restsOn(first), restsOn(second))
	if len(d.Within) > 0 {
		r.Rests = append(r.Rests, phrase.New("taken within %s", d.Within))
	}
	if first.Board != second.Board {
		r.Cautions = append(r.Cautions, t.Specimens(first.Board, second.Board))
	}
	r.Figure = d.Difference
	if r.Kind == study.ClaimRatio {
		r.Figure = d.Ratio
		if !d.Ratio.Value.Valid() {
			r.Why = phrase.New("The total of %s is not above zero, so there is no ratio.", r.Against)
		}
	}
	return nil
}

func (t *Tally) claimedEffect(r *ClaimResult) error {
	e := r.Effect
	b := t.Board(e.Board)
	switch {
	case b == nil || b.Effects == nil:
		r.Why = phrase.New("Fewer than two states of %s were measured completely.", e.Board)
		return nil
	case !b.Effects.Problem.IsZero():
		r.Why = b.Effects.Problem
		return nil
	}
	x := b.Effects
	if e.Factor == "" && !x.Plain {
		r.Why = phrase.New("%s was never measured with every factor at its first level, so what being on alone takes is not known.", e.Board)
		return nil
	}
	v := x.Base.Power.Value
	if e.Factor != "" {
		var ok bool
		if v, ok = x.between(e.Factor, e.Level, e.From); !ok {
			r.Why = phrase.New("%s was not measured with both levels of %s.", e.Board, e.Factor)
			return nil
		}
		more, why := x.with(e)
		if !why.IsZero() {
			r.Why = why
			return nil
		}
		if more.Valid() {
			v = v.Add(more)
		}
	}
	r.Rests = append(r.Rests, phrase.New("%d totals of %s and a sum of %d effects", x.Observations, e.Board, x.Parameters))
	if held := x.heldWith(e); len(held) > 0 {
		r.Cautions = append(r.Cautions, phrase.New("This is what it adds with %s; the factors act together, and with another level it is not the same.", levels(held)))
	}
	for _, l := range e.With {
		if !x.acts(e.Factor, l.Factor) {
			r.Cautions = append(r.Cautions, phrase.New("%s is not estimated as acting together with %s, so its level makes no difference to this figure.", l.Factor, e.Factor))
		}
	}
	if x.LacksFit() {
		r.Cautions = append(r.Cautions, phrase.New("The totals are not a plain sum of effects (p = %.2g): the effect is not the same in all states.", x.P))
	}
	if r.Kind == study.ClaimShare {
		if x.Fullest == nil || x.Fullest.Total.Estimate <= 0 {
			r.Why = phrase.New("%s has no total above zero.", e.Board)
			return nil
		}
		r.Rests = append(r.Rests, restsOn(x.Fullest))
		v = v.Div(x.Fullest.Total.Value)
	}
	var err error
	r.Figure, err = t.Figure(v)
	return err
}

// between is what one level of a factor adds to another; an empty from is the
// first level.
func (e *Effects) between(factor, level, from string) (gum.Value, bool) {
	at := func(l string) (v gum.Value, first, ok bool) {
		for _, x := range e.Terms {
			switch {
			case x.Factor != factor:
			case x.Level == l:
				return x.Power.Value, false, true
			case x.From == l || l == "":
				first = true
			}
		}
		return gum.Value{}, first, first
	}
	to, toFirst, ok1 := at(level)
	of, ofFirst, ok2 := at(from)
	switch {
	case !ok1 || !ok2 || toFirst && ofFirst:
		return gum.Value{}, false
	case ofFirst:
		return to, true
	case toFirst:
		return of.Neg(), true
	}
	return to.Sub(of), true
}

// acts tells whether two factors are in one interaction that was estimated.
func (e *Effects) acts(a, b string) bool {
	return slices.ContainsFunc(e.Together, func(t []string) bool { return slices.Contains(t, a) && slices.Contains(t, b) })
}

// heldWith are the levels, of the factors that act together with the one of an
// effect, at which the effect is taken: those asked for, else the first ones.
func (e *Effects) heldWith(of study.EffectOf) (out []study.Level) {
	for _, l := range e.Levels {
		if l.Factor == of.Factor || !e.acts(of.Factor, l.Factor) {
			continue
		}
		for _, w := range of.With {
			if w.Factor == l.Factor {
				l = w
			}
		}
		out = append(out, l)
	}
	return out
}

// with is what must be added to an effect of one factor where other factors are
// at further levels: the interactions of its level with theirs, less those of the
// level it is counted from. It is not Valid where there is nothing to add; why
// says what was not measured.
func (e *Effects) with(of study.EffectOf) (more gum.Value, why phrase.Phrase) {
	held := e.heldWith(of)
	first := map[string]string{}
	for _, l := range e.Levels {
		first[l.Factor] = l.Value
	}
	level := func(factor string) string {
		for _, l := range held {
			if l.Factor == factor {
				return l.Value
			}
		}
		return first[factor]
	}
	add := func(own string, sign float64) {
		if own == "" || own == first[of.Factor] {
			return // the first level has no terms
		}
		for _, what := range e.Together {
			if !slices.Contains(what, of.Factor) || slices.ContainsFunc(what, func(f string) bool { return f != of.Factor && level(f) == first[f] }) {
				continue
			}
			i := slices.IndexFunc(e.Terms, func(x Effect) bool {
				return len(x.Together) == len(what) && !slices.ContainsFunc(x.Together, func(c LevelChange) bool {
					return !slices.Contains(what, c.Factor) || c.Factor == of.Factor && c.Level != own || c.Factor != of.Factor && c.Level != level(c.Factor)
				})
			})
			switch {
			case i < 0:
				why = phrase.New("No state was measured with %s, so what they add together is not known.", cell(what, of.Factor, own, level))
			case more.Valid():
				more = more.Add(e.Terms[i].Power.Value.Scale(sign))
			default:
				more = e.Terms[i].Power.Value.Scale(sign)
			}
		}
	}
	add(of.Level, 1)
	add(of.From, -1)
	return more, why
}

// Bears tells whether a term of the sum enters an effect that a claim is about.
func (e *Effects) Bears(x Effect, of study.EffectOf) bool {
	own := func(l string) bool { return l == of.Level || l == of.From }
	if len(x.Together) == 0 {
		return x.Factor == of.Factor && own(x.Level)
	}
	held := e.heldWith(of)
	mine := false
	for _, c := range x.Together {
		if c.Factor == of.Factor {
			mine = own(c.Level)
		} else if !slices.Contains(held, study.Level{Factor: c.Factor, Value: c.Level}) {
			return false
		}
	}
	return mine
}

// cell names a combination of levels: "drives 4" and "load copy".
func cell(what []string, factor, own string, level func(string) string) (out []string) {
	for _, f := range what {
		l := own
		if f != factor {
			l = level(f)
		}
		out = append(out, f+" "+l)
	}
	return out
}

// readings collects what was noted beside the rails in a state of a board.
func (t *Tally) readings(on study.StateOn, each func(*study.Sitting, *study.Step) error) error {
	for _, sit := range t.Study.Sittings {
		if sit.Board != on.Board {
			continue
		}
		for _, step := range sit.Steps {
			if step.State != on.State {
				continue
			}
			if err := each(sit, step); err != nil {
				return err
			}
		}
	}
	return nil
}

// claimedThroughput takes the throughput noted in a state: several single
// values are repeats of one another, else each has the width it was written
// with.
func (t *Tally) claimedThroughput(r *ClaimResult) error {
	var noted []quantity.Entry
	_ = t.readings(r.First, func(_ *study.Sitting, step *study.Step) error {
		if step.Throughput != nil {
			noted = append(noted, *step.Throughput)
		}
		return nil
	})
	if len(noted) == 0 {
		r.Why = phrase.New("No throughput was noted in %s.", r.First)
		r.Advice = []phrase.Phrase{phrase.New("Note it while the rails are read.")}
		return nil
	}
	plain := !slices.ContainsFunc(noted, func(e quantity.Entry) bool { return e.Kind != quantity.Single || e.Tol != nil })
	if plain && len(noted) > 1 {
		all := noted[0]
		all.Kind = quantity.Repeats
		for _, e := range noted[1:] {
			all.Values = append(slices.Clone(all.Values), e.Values...)
		}
		noted = []quantity.Entry{all}
	}
	var vs []gum.Value
	for _, e := range noted {
		vs = append(vs, t.bench.Input(r.First.String()+": throughput", sensing.Within(e, e.Step),
			[]gum.Tag{{Key: sensing.TagCause, Value: sensing.CauseScatter}, {Key: sensing.TagBoard, Value: r.First.Board}}))
	}
	r.Rests = append(r.Rests, phrase.New("throughput of %s, %s", r.First, readingCount(len(vs), len(noted[0].Values))))
	r.Cautions = append(r.Cautions, phrase.New("The throughput is taken as the board's software counted it; that count has no stated error."))
	var err error
	r.Figure, err = t.Figure(mean(vs))
	return err
}

func readingCount(groups, values int) phrase.Phrase {
	if groups == 1 {
		groups = values
	}
	return phrase.Count(groups, "one reading", "%s readings")
}

// claimedWarmth asks who knows of temperatures, and takes what was read where
// that has nothing to add.
func (t *Tally) claimedWarmth(r *ClaimResult) error {
	if t.opt.Temperature != nil {
		x, err := t.opt.Temperature(t, r.Claim)
		if err != nil {
			return err
		}
		if x != nil {
			r.Figure, r.Why, r.Rests, r.Cautions, r.Advice, r.remedies = x.Figure, x.Why, x.Rests, x.Cautions, x.Advice, x.Remedies
			return nil
		}
	}
	if r.Kind == study.ClaimPredicted {
		r.Why = phrase.New("No temperature was predicted.")
		return nil
	}
	return t.claimedTemperature(r)
}

// claimedTemperature takes the mean of a temperature's readings in a state.
func (t *Tally) claimedTemperature(r *ClaimResult) error {
	var vs []gum.Value
	var others []string
	unknown := false
	err := t.readings(r.First, func(sit *study.Sitting, step *study.Step) error {
		for _, n := range step.Temperatures {
			if n.Name != r.Point {
				others = append(others, n.Name)
				continue
			}
			v, known, err := t.bench.Temperature(sit, step.State, n)
			if err != nil {
				return err
			}
			unknown = unknown || !known
			vs = append(vs, v)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if len(vs) == 0 {
		r.Why = phrase.New("No temperature called %s was read in %s.", r.Point, r.First)
		if len(others) > 0 {
			slices.Sort(others)
			r.Why = phrase.New("No temperature called %s was read in %s; there are %s.", r.Point, r.First, slices.Compact(others))
		}
		r.Advice = []phrase.Phrase{phrase.New("Read it when the temperature has settled.")}
		return nil
	}
	r.Rests = append(r.Rests, phrase.New("%s temperature in %s, %s", r.Point, r.First, readingCount(len(vs), 1)))
	r.Cautions = append(r.Cautions, phrase.New("This is the temperature in the room as it was; a warmer room or a closed case adds to it."))
	if unknown {
		r.Cautions = append(r.Cautions, phrase.New("Nothing tells how good the thermometer is, so the interval holds no more than the reading's last digit."))
	}
	r.Figure, err = t.Figure(mean(vs))
	return err
}
