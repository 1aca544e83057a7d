package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"time"

	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// search is one search for what would help, going on in the background.
type search struct {
	change int64 // of the study that is searched for
	based  int64 // the revision of the plan
	stop   context.CancelFunc

	mu          sync.Mutex
	done, total int
	study       *study.Study   // that is searched for
	found       []plan.Counsel // of the aims that were gone through, in order
	plan        *plan.Plan     // when all are
	err         error
	over        bool
	stopped     bool
}

// searchView is the part of the page that shows it.
type searchView struct {
	Study    int64
	Begun    bool // there is one of the study as it is
	Running  bool
	Stopped  bool
	Done, Of int
	Trouble  string
	Counsels []counselView
	Revision int64
	Unneeded bool // every aim is reached as planned
}

type counselView struct {
	N        int
	Name     string
	Sentence string
	Together []adviceView
	Own      int // how many of Together can be put into the plan
	Alone    []adviceView
	Beyond   []namedText
}

type adviceView struct {
	N                                  int
	Text, Effect, Effort, Cost, Assume string
	Own                                bool
}

// longestSearch bounds a search that nobody stops.
const longestSearch = 2 * time.Minute

// begin starts the search, unless one of the study as it is goes on or is found.
func (c *planChecks) begin(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	x, err := c.asKept(r.Context(), id)
	if err != nil {
		return err
	}
	if x.plan != nil {
		c.start(r.Context(), id, x.rec.LastChange, x.rec.Plan.ID, x, f.Checked("again"))
	}
	return c.tellSearch(w, r, id, x.rec.LastChange)
}

// start begins a search in the background. again also repeats one that was stopped.
func (c *planChecks) start(ctx context.Context, id, change, based int64, x *foreseen, again bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if old := c.searches[id]; old != nil {
		old.mu.Lock()
		keep := old.change == change && (!old.stopped || !again)
		old.mu.Unlock()
		if keep {
			return
		}
		old.stop()
	}
	if len(c.searches) >= cachedStudies && c.searches[id] == nil {
		for _, o := range c.searches {
			o.stop()
		}
		clear(c.searches)
	}
	// It outlives the request that began it, and nothing else.
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), longestSearch)
	s := &search{change: change, based: based, stop: stop, study: x.study}
	c.searches[id] = s
	o := c.options(x.study, x.read)
	o.NoAdvice = false
	o.Found = func(k plan.Counsel) {
		s.mu.Lock()
		s.found = append(s.found, k)
		s.mu.Unlock()
	}
	o.Progress = func(done, total int) {
		s.mu.Lock()
		s.done, s.total = done, total
		s.mu.Unlock()
	}
	go s.run(ctx, x.study, o)
}

func (s *search) run(ctx context.Context, of *study.Study, o plan.Options) {
	defer s.stop()
	p, err := plan.Make(ctx, of, o)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.over = true
	switch {
	case ctx.Err() != nil:
		s.stopped = true
	default:
		s.plan, s.err = p, err
	}
}

// progress tells how far the search is, or what it found.
func (c *planChecks) progress(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	x, err := c.asKept(r.Context(), id)
	if err != nil {
		return err
	}
	return c.tellSearch(w, r, id, x.rec.LastChange)
}

// cancel stops the search.
func (c *planChecks) cancel(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	x, err := c.asKept(r.Context(), id)
	if err != nil {
		return err
	}
	c.mu.Lock()
	s := c.searches[id]
	c.mu.Unlock()
	if s != nil {
		s.mu.Lock()
		if !s.over {
			s.stopped = true
		}
		s.mu.Unlock()
		s.stop()
	}
	return c.tellSearch(w, r, id, x.rec.LastChange)
}

func (c *planChecks) tellSearch(w http.ResponseWriter, r *http.Request, id, change int64) error {
	if !isHTMX(r) {
		return seeOther(w, r, at("studies", id, "plan", "checks")+"#help")
	}
	return c.s.part(w, r, http.StatusOK, "plan-check", "plan-check-search", c.searchOf(id, change))
}

// searchOf sets out the search of a study as it is.
func (c *planChecks) searchOf(id, change int64) *searchView {
	v := &searchView{Study: id}
	c.mu.Lock()
	s := c.searches[id]
	c.mu.Unlock()
	if s == nil || s.change != change {
		return v
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	v.Begun, v.Stopped, v.Done, v.Of, v.Revision = true, s.stopped, s.done, s.total, s.based
	v.Running = !s.over && !s.stopped
	if s.err != nil {
		v.Trouble = sentence(s.err.Error())
	}
	if v.Running || s.err != nil {
		return v
	}
	v.Unneeded = s.plan != nil && s.plan.Reached()
	for i, k := range s.found {
		if k.Reached() || !k.Possible() || k.Limit == 0 && len(k.Alone) == 0 {
			continue
		}
		v.Counsels = append(v.Counsels, counselOf(i, k))
	}
	return v
}

// mostShown is how many changes are shown of those that help by themselves.
const mostShown = 10

func counselOf(n int, c plan.Counsel) counselView {
	v := counselView{N: n, Name: c.Target.Name(), Sentence: c.Sentence()}
	place := map[string]int{}
	for i, a := range c.Alone {
		place[a.Text] = i
		if i < mostShown {
			v.Alone = append(v.Alone, adviceOf(i, a))
		}
	}
	for _, a := range c.Together {
		if a.Own() {
			v.Own++
		}
		v.Together = append(v.Together, adviceOf(place[a.Text], a))
	}
	for _, k := range c.Beyond {
		text := "does not reach it"
		if k.Reaches {
			text = "would reach it"
		}
		v.Beyond = append(v.Beyond, namedText{k.Name, fmt.Sprintf("±%s, %s", quantity.Format(k.After, quantity.Watt, 2), text)})
	}
	return v
}

func adviceOf(i int, a plan.Advice) adviceView {
	return adviceView{N: i, Text: a.Text, Effect: a.Effect(), Effort: plan.Minutes(a.Effort), Cost: a.Cost, Assume: a.Assume, Own: a.Own()}
}

// adopt puts a piece of advice into the plan, or everything that together reaches an
// aim.
func (c *planChecks) adopt(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	c.mu.Lock()
	s := c.searches[id]
	c.mu.Unlock()
	gone := badRequest("this advice is not there any more", "Search once more: the plan was changed, or the program was started anew.")
	if s == nil {
		return gone
	}
	s.mu.Lock()
	found := s.found
	s.mu.Unlock()
	var of, n int
	if _, err := fmt.Sscanf(f.Raw("advice"), "%d %d", &of, &n); err != nil || of < 0 || of >= len(found) || n >= len(found[of].Alone) {
		return gone
	}
	take := found[of].Together
	why := "what it takes for " + found[of].Target.Name()
	if n >= 0 {
		take = found[of].Alone[n : n+1]
		why = take[0].Text
	}
	// The advice is for the study that was searched; the edit is made from that
	// revision, whatever the page says.
	next := *s.study
	next.Expected, next.BothWays = slices.Clone(next.Expected), slices.Clone(next.BothWays)
	for _, a := range take {
		if !a.Own() {
			continue // it must be made and recorded first
		}
		if err := a.Adopt(&next); err != nil {
			return badRequest(err.Error(), "")
		}
	}
	f.values.Set("based", fmt.Sprint(s.based))
	return c.keep(w, r, f, why, "aims", func(x *study.Study) error {
		x.Boards, x.Expected, x.Work, x.BothWays = next.Boards, next.Expected, next.Work, next.BothWays
		return nil
	})
}
