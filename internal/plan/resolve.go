package plan

import (
	"context"
	"math"
	"slices"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Doubt is a figure that does not decide what was asked: a difference that is
// not resolved, or a claim that is undecided. What would settle it is found by
// changing what was recorded (more readings, a fresh zero, another sitting,
// another way to sense) and tallying that again.
type Doubt struct {
	study   *study.Study // one comparison or one claim and what it needs, nothing else
	sitting tally.Sitting
	known   bool // something is known of the effect of a sitting
	level   float64
	states  []study.StateOn // that the figure is made from
	now     tally.Figure
	needed  float64 // half-width
	shares  []causeShare
	figure  func(*tally.Tally) (tally.Figure, error)
	settled func(tally.Figure) bool
}

// causeShare is the part of the variance that one cause on one rail makes.
type causeShare struct {
	cause, board, rail string
	part               float64
}

// Settling is what would settle a doubt.
type Settling struct {
	Now    float64 // half-width of the interval, in the figure's unit
	Needed float64 // half-width at which it would be settled, were the estimate to stay
	// Alone are the changes that narrow the interval, each by itself, best gain
	// for the effort first; Together those to be made, each on top of the ones
	// before it.
	Alone, Together []Advice
	Enough          bool // Together settles it
	// Left is the cause that makes most of the variance that is left with all of
	// Together, where that is not enough; empty where nothing was tried.
	Left string
	// SittingUnknown tells that nothing is known of what another day makes, so
	// that further sittings are counted as if the day made nothing.
	SittingUnknown bool
}

// Effort is what all of Together takes.
func (s Settling) Effort() (d time.Duration) {
	for _, a := range s.Together {
		d += a.Effort
	}
	return d
}

// DoubtOfDifference is the doubt about a difference of the tally; ok is false
// where there is none. It reads the tally's graph; what it returns does not.
func DoubtOfDifference(t *tally.Tally, d *tally.Difference) (x *Doubt, ok bool, err error) {
	if d.Verdict != tally.NotResolved || d.Difference.U == 0 {
		return nil, false, nil
	}
	first, second := d.First.On(), d.Second.On()
	x = doubtOf(t, d.Difference, d.Needed()*d.Difference.K, first, second)
	x.study.Claims, x.study.Factors, x.study.Interactions = nil, nil, nil
	x.alone()
	x.figure = func(ta *tally.Tally) (tally.Figure, error) {
		d, err := ta.Compare(ta.State(first), ta.State(second))
		if err != nil {
			return tally.Figure{}, err
		}
		return d.Difference, nil
	}
	margin := d.Margin
	x.settled = func(f tally.Figure) bool { return tally.Judge(f, margin) != tally.NotResolved }
	return x, true, x.share(t)
}

// DoubtOfClaim is the doubt about an undecided claim of the tally, where its
// figure is made from powers.
func DoubtOfClaim(t *tally.Tally, c *tally.ClaimResult) (x *Doubt, ok bool, err error) {
	if c.Judgement != tally.Undecided || !c.Known || c.Figure.U == 0 {
		return nil, false, nil
	}
	var states []study.StateOn
	effect := false
	switch c.Kind {
	case study.ClaimTotal:
		states = []study.StateOn{c.First}
	case study.ClaimDifference, study.ClaimRatio:
		states = []study.StateOn{c.First, c.Against}
	case study.ClaimEffect, study.ClaimShare:
		effect = true
		for _, s := range t.Board(c.Effect.Board).States {
			states = append(states, s.On())
		}
	default:
		return nil, false, nil // its readings are no rail's
	}
	x = doubtOf(t, c.Figure, c.Needed()*c.Figure.K, states...)
	x.study.Claims = []*study.Claim{c.Claim}
	if !effect {
		x.study.Factors, x.study.Interactions = nil, nil
		x.alone()
	}
	x.figure = func(ta *tally.Tally) (tally.Figure, error) { return ta.Claims[0].Figure, nil }
	x.settled = func(f tally.Figure) bool { return c.Judge(f) != tally.Undecided }
	return x, true, x.share(t)
}

// doubtOf keeps of a study what its figure needs. One comparison, of a state
// with itself, keeps the tally from making all that suggest themselves.
func doubtOf(t *tally.Tally, now tally.Figure, needed float64, states ...study.StateOn) *Doubt {
	s := *t.Study
	s.Comparisons = []study.Comparison{{First: states[0], Second: states[0]}}
	s.Aims, s.Proofs, s.Cooling = nil, nil, nil
	boards := func(name string) bool {
		return slices.ContainsFunc(states, func(on study.StateOn) bool { return on.Board == name })
	}
	s.Boards = slices.DeleteFunc(slices.Clone(s.Boards), func(b *study.Board) bool { return !boards(b.Name) })
	s.Sittings = slices.DeleteFunc(slices.Clone(s.Sittings), func(x *study.Sitting) bool { return !boards(x.Board) })
	return &Doubt{study: &s, sitting: tally.Sitting{SD: t.Sittings.SD, DOF: t.Sittings.DOF}, known: t.Sittings.Assessed || t.Sittings.Carried != nil,
		level: t.Level, states: states, now: now, needed: needed}
}

// alone leaves out the readings of the states that the figure is not made from:
// with hundreds of states they are nearly all of the work. Zeros and times stay.
// Where a reading of the figure's own states flickers everything is kept, because
// other states then tell the resistance behind the rail.
func (x *Doubt) alone() {
	mine := func(board, state string) bool {
		return slices.Contains(x.states, study.StateOn{Board: board, State: state})
	}
	for _, sit := range x.study.Sittings {
		for _, st := range sit.Steps {
			for _, r := range st.Rails {
				for _, c := range r.Current {
					if mine(sit.Board, st.State) && (c.Reading.Kind == quantity.Band || c.Reading.Tol != nil && c.Reading.Tol.DOF == 0) {
						return
					}
				}
			}
		}
	}
	sittings := make([]*study.Sitting, len(x.study.Sittings))
	for i, sit := range x.study.Sittings {
		own := *sit
		own.Steps = make([]*study.Step, len(sit.Steps))
		for j, st := range sit.Steps {
			step := *st
			if !mine(sit.Board, st.State) {
				step.Rails, step.Temperatures = nil, nil
			}
			own.Steps[j] = &step
		}
		sittings[i] = &own
	}
	x.study.Sittings = sittings
}

// readings is how many readings of rails what is left of the study has.
func (x *Doubt) readings() (n int) {
	for _, sit := range x.study.Sittings {
		for _, st := range sit.Steps {
			n += len(st.Rails)
		}
	}
	return n
}

// share notes what the figure's variance comes from, by cause and rail.
func (x *Doubt) share(t *tally.Tally) error {
	shares, err := t.Graph.Budget(x.now.Value)
	if err != nil {
		return err
	}
	for _, s := range shares {
		c := causeShare{part: s.Fraction}
		for _, tag := range s.Tags {
			switch tag.Key {
			case sensing.TagCause:
				c.cause = tag.Value
			case sensing.TagBoard:
				c.board = tag.Value
			case sensing.TagRail:
				c.rail = tag.Value
			}
		}
		i := slices.IndexFunc(x.shares, func(y causeShare) bool { return y.cause == c.cause && y.board == c.board && y.rail == c.rail })
		if i < 0 {
			x.shares = append(x.shares, c)
			continue
		}
		x.shares[i].part += c.part
	}
	return nil
}

// part is how much of the variance some causes make on a rail; an empty rail
// stands for all.
func (x *Doubt) part(board, rail string, causes ...string) (sum float64) {
	for _, s := range x.shares {
		if slices.Contains(causes, s.cause) && (rail == "" || s.board == board && s.rail == rail) {
			sum += s.part
		}
	}
	return sum
}

// Settle searches what would settle the doubt.
func (x *Doubt) Settle(ctx context.Context) (Settling, error) {
	out := Settling{Now: x.now.Expanded, Needed: x.needed, SittingUnknown: !x.known}
	base := variant{study: x.study}
	for _, c := range x.changes() {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		after, _, err := x.with(base, c)
		if err != nil {
			return out, err
		}
		if after > 0 && after <= (1-leastGain)*out.Now {
			out.Alone = append(out.Alone, Advice{Kind: c.kind, Text: c.text, Assume: c.assume, Cost: c.cost, Effort: c.effort, Before: out.Now, After: after, change: c})
		}
	}
	slices.SortStableFunc(out.Alone, func(a, b Advice) int {
		switch {
		case a.gain() > b.gain():
			return -1
		case a.gain() < b.gain():
			return 1
		}
		return 0
	})
	return out, x.add(ctx, &out)
}

// add makes change upon change, best first, until the doubt is settled. Of
// changes that exclude each other the one of more effect takes the other's
// place where that alone was not enough.
func (x *Doubt) add(ctx context.Context, out *Settling) error {
	now, width := variant{study: x.study}, out.Now
	taken := map[string]bool{}
	for _, a := range out.Alone {
		if err := ctx.Err(); err != nil {
			return err
		}
		if taken[a.change.group] {
			continue
		}
		a = strongest(out.Alone, a)
		after, done, err := x.with(now, a.change)
		if err != nil {
			return err
		}
		if after > (1-leastGain)*width {
			continue
		}
		now = recorded(now)
		a.change.apply(&now)
		a.Before, a.After = width, after
		out.Together, taken[a.change.group], width = append(out.Together, a), true, after
		if out.Enough = done; done {
			return x.prune(ctx, out)
		}
	}
	if len(out.Together) == 0 {
		return nil
	}
	ta, f, err := x.tallied(now)
	if err != nil {
		return err
	}
	causes, err := ta.Graph.BudgetBy(f.Value, sensing.TagCause)
	if err == nil && len(causes) > 0 {
		out.Left = causes[0].Name
	}
	return err
}

// prune leaves out changes without which the doubt is settled all the same, and
// takes less of those of which less is enough.
func (x *Doubt) prune(ctx context.Context, out *Settling) error {
	for i := 0; i < len(out.Together); {
		var better []Advice
		tries := [][]Advice{slices.Delete(slices.Clone(out.Together), i, i+1)}
		for _, a := range out.Alone {
			if a.change.group == out.Together[i].change.group && a.Effort < out.Together[i].Effort {
				t := slices.Clone(out.Together)
				t[i] = a
				tries = append(tries, t)
			}
		}
		for _, try := range tries {
			if err := ctx.Err(); err != nil {
				return err
			}
			ok, err := x.chain(try)
			if err != nil {
				return err
			}
			if ok && (better == nil || effort(try) < effort(better)) {
				better = try
			}
		}
		if better == nil {
			i++
			continue
		}
		shorter := len(better) < len(out.Together)
		out.Together = better
		if !shorter {
			i++
		}
	}
	return nil
}

func effort(list []Advice) time.Duration { return Settling{Together: list}.Effort() }

// strongest is the change of a's group that narrows the interval most.
func strongest(list []Advice, a Advice) Advice {
	for _, b := range list {
		if b.change.group == a.change.group && b.After < a.After {
			a = b
		}
	}
	return a
}

// chain makes changes one upon the other, notes what each comes to, and tells
// whether the last settles the doubt.
func (x *Doubt) chain(list []Advice) (bool, error) {
	now, width, done := variant{study: x.study}, x.now.Expanded, false
	for i := range list {
		after, ok, err := x.with(now, list[i].change)
		if err != nil {
			return false, err
		}
		now = recorded(now)
		list[i].change.apply(&now)
		list[i].Before, list[i].After = width, after
		width, done = after, ok
	}
	return done, nil
}

// with is the half-width that the figure gets with a change, and whether that
// settles the doubt, were the estimate to stay.
func (x *Doubt) with(v variant, c change) (width float64, settled bool, err error) {
	w := recorded(v)
	c.apply(&w)
	_, f, err := x.tallied(w)
	switch {
	case err != nil:
		return 0, false, err
	case math.IsNaN(f.Expanded):
		return math.Inf(1), false, nil
	}
	f.Estimate = x.now.Estimate
	return f.Expanded, x.settled(f), nil
}

// tallied works the figure out from a changed record.
func (x *Doubt) tallied(v variant) (*tally.Tally, tally.Figure, error) {
	ta, err := tally.Run(v.study, tally.Options{Level: x.level, Sitting: &x.sitting})
	if err != nil {
		return nil, tally.Figure{}, err
	}
	f, err := x.figure(ta)
	return ta, f, err
}
