package acquire

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"sync"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/trace"
)

// TakeOptions say how a reading is taken. The zero value averages until that no
// longer helps.
type TakeOptions struct {
	For   time.Duration // average for exactly so long; 0: until it no longer helps
	Least time.Duration // go on for so long at least; 0: one second
	Most  time.Duration // end then in any case; 0: twenty seconds, or For and a timeout
	Skip  int           // readings to let pass first: those begun before the leads lay there
	Place Place         // what it is taken for; the meter is prepared for it
	Digit float64       // last digit of the meter's range in SI; 0: found from the readings
	// Progress is told now and then how far it has come; may be nil.
	Progress func(Taking)
}

// Taking is how far a take has come.
type Taking struct {
	N       int
	Mean, U float64
	Seconds float64
}

// Ended says why a take ended.
type Ended string

// The reasons.
const (
	EnoughDigit Ended = "the uncertainty of the mean is small beside the meter's last digit"
	EnoughFlat  Ended = "averaging longer no longer lowers the uncertainty"
	EnoughTime  Ended = "the time was up"
)

// Taken is the outcome.
type Taken struct {
	Meter   string
	Place   Place
	Stats   *trace.Stats
	T, V    []float64 // the readings, seconds since the station began
	Digit   float64
	Seconds float64
	Skew    float64
	Ended   Ended
	Again   int // how often the link was lost meanwhile
}

const (
	defaultLeast = time.Second
	defaultMost  = 20 * time.Second
	leastTaken   = 10
	// leastFree is how many independent readings there are to be before the
	// uncertainty is trusted to have stopped falling. With fewer, ends are chosen at
	// which it is small by chance: of noise worth 15 readings in a take's time, 12
	// gave intervals of which 93 % held the truth, where a fixed time gave 97 %
	// (TestTakeCovers).
	leastFree = 24
	// flat: over a doubling of the time the uncertainty fell by less than a tenth;
	// of independent readings it falls by 29 %.
	flat = 0.9
	// beside: a standard uncertainty below a third of that of the last digit adds
	// less than 6 % to the two together.
	beside = 1.0 / 3
)

// Take averages what a meter shows. It ends with an error when ctx ends, when the
// meter cannot be prepared, or when no reading came in time.
func (s *Station) Take(ctx context.Context, name string, o TakeOptions) (*Taken, error) {
	c := s.channel(name)
	if c == nil {
		return nil, s.errNoMeter(name)
	}
	if o.Most <= 0 {
		o.Most = max(defaultMost, o.For+c.meter.timeout())
	}
	if o.Least <= 0 {
		o.Least = defaultLeast
	}
	t := &take{o: o, news: make(chan struct{}, 1)}
	leave := c.join(t.add)
	defer leave()
	if err := c.prepare(ctx, o.Place); err != nil {
		return nil, err
	}
	lost := func() int { c.mu.Lock(); defer c.mu.Unlock(); return c.state.lost }
	before := lost()
	t.begin()
	bell := time.NewTimer(o.Most)
	defer bell.Stop()
	for {
		var up bool
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-bell.C:
			up = true
		case <-t.news:
		}
		out, err := t.judge(up)
		if err != nil {
			v, _ := s.Now(name) // the name is known
			return nil, fmt.Errorf("%s: %w; %s", name, err, or(v.Trouble, "it is linked"))
		}
		if out != nil {
			out.Meter, out.Place, out.Again = name, o.Place, lost()-before
			return out, nil
		}
	}
}

// prepare waits for the link and sends what the settings want before a take.
func (c *channel) prepare(ctx context.Context, p Place) error {
	message := c.meter.prepared(p)
	if message == "" {
		return nil
	}
	var err error
	for end := time.Now().Add(c.meter.timeout()); time.Now().Before(end) && ctx.Err() == nil; sleep(ctx, 5*time.Millisecond) {
		c.mu.Lock()
		linked := c.state.session != nil
		c.mu.Unlock()
		if !linked {
			continue
		}
		return c.tell(message)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if err = ctx.Err(); err == nil {
		err = fmt.Errorf("%s: no link; %s", c.meter.Name, or(c.state.trouble, "it was not reached yet"))
	}
	return err
}

// take gathers readings until they are enough.
type take struct {
	o    TakeOptions
	news chan struct{}

	mu      sync.Mutex
	on      bool
	skip    int
	t, v    []float64
	skew    float64
	next    int // judged again from so many readings on
	history []Taking
	began   time.Time
}

// begin lets readings count from now on.
func (t *take) begin() {
	t.mu.Lock()
	defer t.mu.Unlock()
	// The answer that is under way was begun before.
	t.on, t.skip, t.next, t.began = true, t.o.Skip+1, leastTaken, time.Now()
}

func (t *take) add(b Batch) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if !t.on {
		return
	}
	if t.skip > 0 {
		t.skip--
		return
	}
	t.t, t.v = append(t.t, b.T...), append(t.v, b.V...)
	t.skew = max(t.skew, b.Skew)
	if len(t.v) >= t.next || t.o.For > 0 {
		select {
		case t.news <- struct{}{}:
		default:
		}
	}
}

// judge returns what was taken once it is enough; up ends it in any case.
func (t *take) judge(up bool) (*Taken, error) {
	t.mu.Lock()
	n := len(t.v)
	due := n >= t.next
	forDone := t.o.For > 0 && n > 0 && t.t[n-1]-t.t[0] >= t.o.For.Seconds()
	ts, vs := t.t[:n:n], t.v[:n:n]
	skew := t.skew
	due = due && (t.o.For > 0 || time.Since(t.began) >= t.o.Least)
	if due {
		t.next = n + max(n/4, leastTaken/2)
	}
	t.mu.Unlock()
	if !up && !forDone && (!due || t.o.For > 0 && t.o.Progress == nil) {
		return nil, nil
	}
	if n == 0 {
		return nil, fmt.Errorf("no reading within %v", t.o.Most)
	}
	w, err := trace.NewSeries("take", quantity.None, ts, vs)
	if err != nil {
		return nil, err
	}
	s, err := trace.Summarise(w)
	if err != nil {
		return nil, fmt.Errorf("all %d readings were beyond the range", n)
	}
	out := &Taken{Stats: s, T: ts, V: vs, Digit: t.o.Digit, Skew: skew, Seconds: w.Span()}
	if out.Digit <= 0 {
		out.Digit = s.Step
	}
	now := Taking{N: n, Mean: s.Mean(), U: s.U, Seconds: out.Seconds}
	if t.o.Progress != nil {
		t.o.Progress(now)
	}
	switch {
	case t.o.For > 0:
		if forDone || up {
			out.Ended = EnoughTime
		}
	case s.N >= leastTaken && s.U <= beside*out.Digit/math.Sqrt(12):
		out.Ended = EnoughDigit
	case t.flattened(now, s.Neff):
		out.Ended = EnoughFlat
	case up:
		out.Ended = EnoughTime
	}
	if out.Ended == "" {
		return nil, nil
	}
	return out, nil
}

// flattened tells whether the uncertainty stopped falling: twice in a row it was
// hardly below what it was with half the readings.
func (t *take) flattened(now Taking, free float64) bool {
	t.history = append(t.history, now)
	if free < leastFree {
		return false
	}
	seen := 0
	for k := len(t.history) - 1; k >= 0 && k >= len(t.history)-2; k-- {
		for j := k - 1; j >= 0; j-- {
			if 2*t.history[j].N > t.history[k].N {
				continue
			}
			if t.history[k].U >= flat*t.history[j].U && t.history[j].U > 0 {
				seen++
			}
			break
		}
	}
	return seen == 2
}

// mostDOF is as many degrees of freedom as are written; beyond it a t is a normal distribution.
const mostDOF = 9999

// dofText writes degrees of freedom to a tenth, never more than there are.
func dofText(dof float64) string {
	return strconv.FormatFloat(math.Floor(10*min(dof, mostDOF))/10, 'f', -1, 64)
}

// DOF is how many degrees of freedom the scatter of the readings gives the uncertainty of their mean, at least one.
func (t *Taken) DOF() float64 { return max(t.Stats.Correlation.DOF, 1) }

// Text writes a take as an entry of a study: mean, standard uncertainty and its degrees of freedom, as in
// "402.130 ± 0.041 mV (k=1, 85 dof)"; where every reading was the same only the reading, to the digit that the
// meter has.
func (t *Taken) Text(u quantity.Unit) string {
	mean := t.Stats.Mean()
	if u0 := t.Stats.U; u0 > 0 && !math.IsInf(u0, 0) {
		return fmt.Sprintf("%s (k=1, %s dof)", quantity.FormatU(mean, t.Stats.U, u), dofText(t.DOF()))
	}
	digits := 6
	// A display that stood still showed a whole count of its last digits.
	if counts := math.Abs(mean) / t.Digit; t.Digit > 0 && counts >= 1 && math.Abs(counts-math.Round(counts)) < 1e-6 {
		digits = min(1+int(math.Floor(math.Log10(math.Round(counts)))), 9)
	}
	return quantity.Format(mean, u, digits)
}
