package plan

import (
	"context"
	"math"
	"runtime"
	"slices"
	"sync"
	"time"

	"railtally/internal/study"
)

// Advice is one change with what it does to a target, found by tallying the
// planned work with it.
type Advice struct {
	Kind   Kind
	Text   string
	Assume string // what its effect rests on beyond the record
	Cost   string // what it costs the rail
	Effort time.Duration
	// Before and After are the half-widths of the target's interval, in watts,
	// without and with this change alone.
	Before, After float64
	change        change
}

// gain is how much narrower the interval gets, as a logarithm, for each minute.
func (a Advice) gain() float64 { return math.Log(a.Before/a.After) / a.Effort.Minutes() }

// Counsel is what to do about one target.
type Counsel struct {
	Prediction
	// Alone are the changes that help, each by itself, in order of gain per effort.
	Alone []Advice
	// Together are the changes to make, in the order in which they were added,
	// each with the half-width before and after it; the last After is what all of
	// them reach. Empty where nothing is needed or nothing helps.
	Together []Advice
	// Searched tells whether it was looked for what would help.
	Searched bool
	// Reachable tells whether the aim can be reached with what is on the shelf.
	Reachable bool
	// Beyond is what else could reach it, where nothing on the shelf does.
	Beyond []Class
}

// leastGain is the least part by which a change must narrow an interval to be
// worth a word.
const leastGain = 0.02

// leastShare is the least part of a target's variance that a rail must make
// before its sensing is looked at.
const leastShare = 0.01

// advise searches what helps a target, every candidate by itself and then
// together, best gain per effort first. tick is called after each tally.
func (m *maker) advise(ctx context.Context, v variant, p Prediction, tick func()) (Counsel, error) {
	c := Counsel{Prediction: p, Searched: true, Reachable: p.Reached()}
	if !p.Possible() || c.Reachable || p.Limit == 0 && p.Figure.Expanded == 0 {
		return c, nil
	}
	var err error
	if c.Alone, err = m.alone(ctx, v, p, m.candidates(v, p), tick); err != nil {
		return c, err
	}
	best, err := m.together(ctx, v, &c, tick)
	if err != nil || c.Reachable || p.Limit == 0 {
		return c, err
	}
	c.Beyond, err = m.beyond(ctx, best, p, tick)
	return c, err
}

// candidates are the changes that can matter to a target.
func (m *maker) candidates(v variant, p Prediction) []change {
	var boards []string
	for _, on := range p.Target.states() {
		if !slices.Contains(boards, on.Board) {
			boards = append(boards, on.Board)
		}
	}
	out := m.workChanges(v, boards)
	var rails []*study.Rail
	for _, share := range p.Rails {
		if share.Fraction < leastShare {
			continue
		}
		b := v.study.Board(share.Board)
		if r := b.Rail(share.Rail); r != nil {
			rails = append(rails, r)
			out = append(out, m.railChanges(v, b, r)...)
		}
	}
	return append(out, m.shelfChanges(v, rails)...)
}

// alone tallies each change by itself, on all cores.
func (m *maker) alone(ctx context.Context, v variant, p Prediction, list []change, tick func()) ([]Advice, error) {
	after := make([]float64, len(list))
	errs := make([]error, len(list))
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(len(list), runtime.GOMAXPROCS(0)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				w := v.clone()
				list[i].apply(&w)
				after[i], errs[i] = m.width(w, p.Target)
				tick()
			}
		}()
	}
	for i := range list {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	var out []Advice
	for i, c := range list {
		if errs[i] != nil {
			return nil, errs[i]
		}
		if after[i] > 0 && after[i] <= (1-leastGain)*p.Figure.Expanded {
			out = append(out, Advice{Kind: c.kind, Text: c.text, Assume: c.assume, Cost: c.cost, Effort: c.effort,
				Before: p.Figure.Expanded, After: after[i], change: c})
		}
	}
	slices.SortStableFunc(out, func(a, b Advice) int {
		switch {
		case a.gain() > b.gain():
			return -1
		case a.gain() < b.gain():
			return 1
		}
		return 0
	})
	return out, nil
}

// width is the half-width that a target gets; +Inf where it has no figure.
func (m *maker) width(v variant, t Target) (float64, error) {
	p, err := m.predict(v, t, false)
	if err != nil || !p.Possible() {
		return math.Inf(1), err
	}
	return p.Figure.Expanded, nil
}

// together adds changes, best first, while they help and the aim is not
// reached, then leaves out what turned out not to be needed. Of changes that
// exclude each other the first one that helps is kept.
func (m *maker) together(ctx context.Context, v variant, c *Counsel, tick func()) (variant, error) {
	now, width := v.clone(), c.Figure.Expanded
	taken := map[string]bool{}
	reached := func() bool { return c.Limit > 0 && width <= c.Limit }
	for _, a := range c.Alone {
		if reached() || ctx.Err() != nil {
			break
		}
		if taken[a.change.group] {
			continue
		}
		w := now.clone()
		a.change.apply(&w)
		after, err := m.width(w, c.Target)
		tick()
		if err != nil {
			return now, err
		}
		if after > (1-leastGain)*width {
			continue
		}
		a.Before, a.After = width, after
		c.Together = append(c.Together, a)
		taken[a.change.group], now, width = true, w, after
	}
	c.Reachable = c.Limit == 0 || reached()
	if !c.Reachable || ctx.Err() != nil {
		return now, ctx.Err()
	}
	return now, m.prune(v, c, tick)
}

// prune leaves out changes without which the aim is reached all the same, the
// most laborious first, and works out the widths of the rest anew.
func (m *maker) prune(v variant, c *Counsel, tick func()) error {
	byEffort := slices.Clone(c.Together)
	slices.SortStableFunc(byEffort, func(a, b Advice) int { return int(b.Effort - a.Effort) })
	for _, out := range byEffort {
		if len(c.Together) == 1 || c.Limit == 0 {
			break
		}
		rest := slices.DeleteFunc(slices.Clone(c.Together), func(a Advice) bool { return a.Text == out.Text })
		w := v.clone()
		for _, a := range rest {
			a.change.apply(&w)
		}
		after, err := m.width(w, c.Target)
		tick()
		if err != nil {
			return err
		}
		if after <= c.Limit {
			c.Together = rest
		}
	}
	w, width := v.clone(), c.Figure.Expanded
	for i := range c.Together {
		c.Together[i].change.apply(&w)
		after, err := m.width(w, c.Target)
		tick()
		if err != nil {
			return err
		}
		c.Together[i].Before, c.Together[i].After = width, after
		width = after
	}
	return nil
}
