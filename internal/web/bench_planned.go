package web

import (
	"slices"

	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/study"
)

// stop is a halt of the plan, and whether it was made or passed.
type stop struct {
	plan.Stop
	done bool
}

// stopsOf lists the halts that the plan has for a sitting; nil where nobody chose
// an order of work.
func stopsOf(s *study.Study, board, sitting string) (out []*stop) {
	if !plan.Planned(s) && !plan.InputsOnly(sitting) {
		return nil
	}
	for _, x := range plan.Stops(s, board, sitting) {
		out = append(out, &stop{Stop: x})
	}
	return out
}

// heeding finds the halt that a visit makes, and crosses it off: of a state its
// next one. Zeros are those of the plan where they come next; zeros that somebody
// takes besides leave those of the plan where they are, unless work has passed
// them. Nil: the plan has no such halt.
func (o *order) heeding(state string) *plan.Stop {
	last := -1
	for i, x := range o.stops {
		if x.done {
			last = i
		}
	}
	for i, x := range o.stops {
		switch {
		case x.done || x.State != state:
		case state != "":
			x.done = true
			return &x.Stop
		case i == last+1:
			x.done = true
			return &x.Stop
		}
	}
	return nil
}

// planned adds the halts of the plan that are still to be made. Zeros that lie
// behind the last halt that was made are not asked for any more.
func (o *order) planned() {
	last := -1
	for i, x := range o.stops {
		if x.done {
			last = i
		}
	}
	count := map[string]int{}
	for _, v := range o.visits {
		count[v.State] = max(count[v.State], v.Nth)
	}
	for i, x := range o.stops {
		if x.done || x.State == "" && i < last {
			continue
		}
		x.done = true
		count[x.State]++
		o.add(&visit{Key: visitKey(o.id, x.State, count[x.State]), State: x.State, Nth: count[x.State], plan: &x.Stop})
	}
}

// heed asks at a visit for what the plan reads there: other rails and zeros stand
// aside, and a wire that is threaded both ways is read both ways.
func (v *visit) heed() {
	if v.plan == nil {
		return
	}
	for _, s := range v.Slots {
		switch s.Kind {
		case notebook.Zero:
			s.Aside = !slices.ContainsFunc(v.plan.Zeros, func(z study.Zero) bool {
				return z.Rail == s.Rail && z.Tap == s.Tap && z.Instrument == s.Instrument && z.Range == s.Range
			})
		case notebook.Current:
			s.Aside = !slices.Contains(v.plan.Rails, s.Rail) || s.Back && !slices.Contains(v.plan.Both, s.Rail)
		case notebook.Voltage:
			s.Aside = s.Aside || !slices.Contains(v.plan.Rails, s.Rail)
		}
	}
	// In the order of the plan's rails, each with its current both ways and then
	// its voltage; what stands aside and what is no rail's comes behind.
	if v.State == "" {
		return
	}
	place := func(s *wanted) int {
		if i := slices.Index(v.plan.Rails, s.Rail); i >= 0 && s.Rail != "" && !s.Aside {
			return i
		}
		return len(v.plan.Rails)
	}
	slices.SortStableFunc(v.Slots, func(a, b *wanted) int { return place(a) - place(b) })
}

// todo is what the plan has done at a visit before anything is read.
func (v *visit) todo() string {
	if v.plan == nil {
		return ""
	}
	return v.plan.Todo()
}
