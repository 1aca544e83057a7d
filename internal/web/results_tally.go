package web

import (
	"context"
	"sync"
	"time"

	"railtally/internal/cooling"
	"railtally/internal/notebook"
	"railtally/internal/report"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// opened is one study with what its pages show of it.
type opened struct {
	ID       int64
	Question string
	Record   *notebook.Record
}

// studyOf opens the study that a path names. A study that is not there is
// NotFound.
func (s *Server) studyOf(ctx context.Context, id int64) (*opened, error) {
	rec, err := s.nb.Record(ctx, id)
	if err != nil {
		return nil, err
	}
	return &opened{ID: id, Question: rec.Study.Question, Record: rec}, nil
}

// tallied is a study's results at one moment. The graph behind a tally grows as
// figures are opened, so whoever reads it holds the lock.
type tallied struct {
	mu       sync.Mutex
	Change   int64 // the newest change that went in
	Question string
	Tally    *tally.Tally // nil when there are faults
	Faults   []study.Fault
	Left     []notebook.Unfinished // what is being read just now and does not count yet
	Study    *study.Study          // as recorded
	parts    *report.Parts
	set      *resultsSet  // the results page as it was set, see body
	desk     *coolingDesk // nil when there are faults
}

// tallyCache keeps the latest results of the studies looked at last.
type tallyCache struct {
	mu    sync.Mutex
	byID  map[int64]*tallySlot
	order []int64 // the one used longest ago first
}

// tallySlot lets one request work out a study's results while others wait for it.
type tallySlot struct {
	mu      sync.Mutex
	t       *tallied
	warming *time.Timer // guarded by the cache's mu
}

const cachedStudies = 8

func newTallyCache() *tallyCache { return &tallyCache{byID: map[int64]*tallySlot{}} }

func (c *tallyCache) slot(id int64) *tallySlot {
	c.mu.Lock()
	defer c.mu.Unlock()
	x := c.byID[id]
	if x == nil {
		x = &tallySlot{}
		c.byID[id] = x
	}
	for i, o := range c.order {
		if o == id {
			c.order = append(c.order[:i], c.order[i+1:]...)
			break
		}
	}
	c.order = append(c.order, id)
	if len(c.order) > cachedStudies {
		delete(c.byID, c.order[0])
		c.order = c.order[1:]
	}
	return x
}

// tallyOf returns a study's results as they are now. They are worked out only
// when something was entered since they last were.
func (s *Server) tallyOf(ctx context.Context, id int64) (*tallied, error) {
	x := s.tallies.slot(id)
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.t != nil {
		news, err := s.nb.Changes(ctx, id, x.t.Change, 1)
		if err != nil {
			return nil, err
		}
		if len(news) == 0 {
			return x.t, nil
		}
	}
	rec, err := s.nb.Record(ctx, id)
	if err != nil {
		return nil, err
	}
	x.t, err = work(id, rec)
	return x.t, err
}

// warmAfter is how long a study must rest after a change before its results are
// worked out for who looks next: one that is typed in, or flushed from a queue,
// is not worked out between two entries.
const warmAfter = 300 * time.Millisecond

// warm works out a study's results while nobody waits, where somebody looked at
// them before. Who asks meanwhile waits for the same work.
func (s *Server) warm(id int64) {
	s.tallies.mu.Lock()
	defer s.tallies.mu.Unlock()
	x := s.tallies.byID[id]
	switch {
	case x == nil:
	case x.warming != nil:
		x.warming.Reset(warmAfter)
	default:
		x.warming = time.AfterFunc(warmAfter, func() {
			ctx, cancel := context.WithTimeout(context.Background(), timeLimit)
			defer cancel()
			// Whoever asks for the page is told what is wrong; here nobody is.
			if t, err := s.tallyOf(ctx, id); err == nil {
				_, _ = t.body(s, id)
			}
		})
	}
}

// work tallies a record. A record that is not sound has faults instead of
// figures; that is no error.
func work(id int64, rec *notebook.Record) (*tallied, error) {
	t := &tallied{Change: rec.LastChange, Study: rec.Study, Question: rec.Study.Question}
	complete, left := notebook.Finished(rec.Study)
	t.Left = left
	if t.Faults = study.Check(complete); len(t.Faults) > 0 {
		return t, nil
	}
	var err error
	if t.Tally, err = tally.Run(complete, tally.Options{Temperature: cooling.Claimed}); err != nil {
		return nil, err
	}
	t.desk = &coolingDesk{study: complete}
	t.parts = report.NewParts(t.Tally, report.Links{
		State: func(on study.StateOn) string { return at("studies", id, "results", on.Board, on.State) },
		Rail: func(on study.StateOn, rail string) string {
			return at("studies", id, "results", on.Board, on.State, rail)
		},
		Difference: func(d *tally.Difference) string {
			return at("studies", id, "differences", d.First.On().Board, d.First.On().State, d.Second.On().Board, d.Second.On().State)
		},
	})
	return t, nil
}

// opened is the study for the layout.
func (t *tallied) opened(id int64) *opened {
	return &opened{ID: id, Question: t.Question, Record: &notebook.Record{Study: t.Study, LastChange: t.Change}}
}
