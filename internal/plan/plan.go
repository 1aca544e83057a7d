package plan

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Options change how a plan is made.
type Options struct {
	// Scheme is how the work is to be done; nil: as the study says, see SchemeOf.
	Scheme *Scheme
	// Seed chooses among orders of work that are equally good.
	Seed uint64
	// Anew orders the states by the seed also where the study has an order of its
	// own; pinned states stay in their places.
	Anew bool
	// Day is when the work is to be done, for what is due by then; zero: not said.
	Day time.Time
	// Known are tallies of earlier readings, most trusted first: what a rail
	// carried there is expected here where the study says nothing else.
	Known []*tally.Tally
	// Compare tells for which rails everything on the shelf is compared, which takes
	// the longest; nil: for all.
	Compare func(board, rail string) bool
	// NoAdvice leaves out the search for what would help.
	NoAdvice bool
	// Found is told each counsel as soon as its search is over, in the order of the
	// targets, so that a search that is stopped has not been for nothing; nil: nobody
	// is told.
	Found func(Counsel)
	// Progress is told after each tally how many of those that are expected were
	// made; nil: nobody is told. Calls do not overlap.
	Progress func(done, total int)
}

// Plan is everything that is to be known before a board is opened.
type Plan struct {
	Study  *study.Study
	Scheme Scheme
	Seed   uint64
	Meter  string // that reads what names no meter of its own

	Boards   []*Board
	Counsels []Counsel // one for each target
	// Questions are what must be known and is not said.
	Questions []Question
	Work      []Task

	made made
}

// Question is something that must be known and is not said.
type Question struct {
	Text  string // without its full stop
	Write string // how a study's text file says it
}

// String is the question for whoever writes the file.
func (q Question) String() string { return q.Text + ": " + q.Write + "." }

// made is what a plan was made with.
type made struct {
	m *maker
	v variant
}

// Board is what the plan says about one board.
type Board struct {
	*study.Board
	Order []string // of its states
	Rails []*Rail
	Takes time.Duration // one sitting
}

// Rail is what the plan says about one rail.
type Rail struct {
	*study.Rail
	Expected map[string]Expectation // by state
	Highest  float64                // amperes
	Known    bool                   // something is expected
	Openings []*Opening             // one for each tap
	Sensors  []Sensor               // best first
	Bounding *Bounding              // nil where it cannot be said
}

// maker makes one plan.
type maker struct {
	scheme Scheme
	expect expectations
	bench  bench
	// compare is Options.Compare.
	compare func(board, rail string) bool
	order   map[string][]*study.State
}

// Make plans a study that study.Check found sound.
func Make(ctx context.Context, s *study.Study, opt Options) (*Plan, error) {
	if len(s.States) == 0 {
		return nil, fmt.Errorf("the study has no states: nothing can be planned before it says what is to be measured (accepted: states: {idle: {}, busy: {}})")
	}
	sc := SchemeOf(s)
	if opt.Scheme != nil {
		sc = *opt.Scheme
	}
	ts := targets(s)
	m := &maker{scheme: sc, expect: expectations{s, opt.Known}, order: orders(s, ts, sc, opt.Seed, opt.Anew), bench: benchOf(s, opt.Day), compare: opt.Compare}
	v := variant{study: s, scheme: sc, meter: meterOf(s)}
	p := &Plan{Study: s, Scheme: sc, Seed: opt.Seed, Meter: v.meter, made: made{m, v}}
	if v.meter == "" {
		return nil, fmt.Errorf("no meter on the shelf shows a voltage: clamps and shunts cannot be read (accepted: instruments: {desk meter: {kind: meter, digit: 1 mV, to: 5 V}})")
	}
	if err := m.boards(ctx, p, v); err != nil {
		return nil, err
	}
	if err := m.counsel(ctx, p, v, ts, opt); err != nil {
		return nil, err
	}
	p.Questions = m.questions(p)
	p.Work = m.work(p, v)
	return p, nil
}

// counsel predicts every target and searches what helps those that are missed.
func (m *maker) counsel(ctx context.Context, p *Plan, v variant, ts []Target, opt Options) error {
	var preds []Prediction
	total := 0
	for _, t := range ts {
		pr, err := m.predict(v, t, true)
		if err != nil {
			return fmt.Errorf("%s: %w", t.Name(), err)
		}
		preds = append(preds, pr)
		if pr.Possible() && !pr.Reached() && !opt.NoAdvice {
			total += len(m.candidates(v, pr))
		}
	}
	var mu sync.Mutex
	done := 0
	tick := func() {
		mu.Lock()
		defer mu.Unlock()
		if done++; opt.Progress != nil {
			opt.Progress(min(done, total), total)
		}
	}
	for _, pr := range preds {
		c := Counsel{Prediction: pr, Reachable: pr.Reached()}
		if !opt.NoAdvice && pr.Limit > 0 {
			var err error
			if c, err = m.advise(ctx, v, pr, tick); err != nil {
				return fmt.Errorf("%s: %w", pr.Target.Name(), err)
			}
		}
		p.Counsels = append(p.Counsels, c)
		if opt.Found != nil {
			opt.Found(c)
		}
	}
	return nil
}

// benchOf takes day and room from what is said, or from the last sitting.
func benchOf(s *study.Study, day time.Time) bench {
	b := bench{day: day}
	if b.day.IsZero() {
		// A day before every calibration is due: what is not said is not questioned.
		b.day = time.Date(2000, 1, 1, 9, 0, 0, 0, time.UTC)
	}
	if n := len(s.Sittings); n > 0 {
		b.room = s.Sittings[n-1].Room
	} else if s.Usual != nil {
		b.room = s.Usual.Room
	}
	return b
}

// meterOf is the meter of the last sitting, or the first on the shelf that shows
// volts.
func meterOf(s *study.Study) string {
	for _, sit := range slices.Backward(s.Sittings) {
		if sit.CurrentMeter != "" {
			return sit.CurrentMeter
		}
	}
	if s.Usual != nil && s.Usual.CurrentMeter != "" {
		return s.Usual.CurrentMeter
	}
	for _, in := range s.Instruments {
		if in.Kind == study.Meter && slices.ContainsFunc(in.Ranges, func(r *study.Range) bool { return r.Measures == quantity.Volt }) {
			return in.Name
		}
	}
	return ""
}

// Reached tells whether every target that has an aim reaches it as planned.
func (p *Plan) Reached() bool {
	return !slices.ContainsFunc(p.Counsels, func(c Counsel) bool { return !c.Reached() })
}
