package acquire

import (
	"fmt"
	"time"
)

// state is what a channel knows of its meter while it is polled.
type state struct {
	session  *Session // nil while there is no link
	trouble  string   // why there is none; or what was wrong with the last answer
	retry    time.Time
	arrived  time.Time // of the last answer
	recent   ring
	count    int64 // readings since polling began
	overs    int64 // of them beyond the range
	missing  int64 // of them no number
	lost     int   // how often the link was lost
	nonsense int   // answers that were no readings
	skew     float64
}

// linked notes that there is a link, or with nil that there is none.
func (c *channel) linked(s *Session) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.state.session = s
	if s != nil {
		c.state.trouble, c.state.retry = "", time.Time{}
	}
}

// lost notes why the link ended and when it is tried again.
func (c *channel) lost(err error, pause time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.state.trouble, c.state.retry = Why(err), time.Now().Add(pause)
	c.state.lost++
}

// stumbled notes an answer that was no reading.
func (c *channel) stumbled(err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.state.trouble = Why(err)
	c.state.nonsense++
}

// took hands the readings of one answer to everybody who listens.
func (c *channel) took(a answer) {
	b := c.timed(a)
	// Apart from mu, so that a sink that takes its time does not hold up who looks.
	c.calling.Lock()
	defer c.calling.Unlock()
	for _, sink := range c.sinks {
		if sink != nil {
			sink(b)
		}
	}
}

// timed notes the readings of one answer and gives them their times.
func (c *channel) timed(a answer) Batch {
	b := Batch{Meter: c.meter.Name, V: a.values, T: make([]float64, len(a.values)), Arrived: a.arrived}
	c.mu.Lock()
	defer c.mu.Unlock()
	began := c.s.began
	asked, arrived := a.asked.Sub(began).Seconds(), a.arrived.Sub(began).Seconds()
	n := float64(len(a.values))
	if len(a.values) == 1 {
		b.T[0], b.Skew = (asked+arrived)/2, (arrived-asked)/2
	} else {
		// The last of several was taken just before the answer. Without a spacing
		// they fill the time since the question, or since the answer before.
		step := c.meter.Spacing
		if step <= 0 {
			from := asked
			if !c.state.arrived.IsZero() {
				from = min(asked, c.state.arrived.Sub(began).Seconds())
			}
			step = (arrived - from) / n
		}
		start := arrived - (n-1)*step
		if k := c.state.recent.len(); k > 0 {
			start = following(c.state.recent.last().t, start, n, step)
		}
		for i := range b.T {
			b.T[i] = start + float64(i)*step
		}
		b.Skew = max((arrived-asked)/2, step/2)
	}
	for i, v := range b.V {
		c.state.recent.add(b.T[i], v)
		c.state.count++
		switch {
		case v != v:
			c.state.missing++
		case v-v != 0:
			c.state.overs++
		}
	}
	c.state.arrived, c.state.skew = a.arrived, b.Skew
	c.state.trouble = ""
	return b
}

// following is when the first of n readings was taken, given the last one before
// it and what the answer's arrival tells. An answer may be late but never early:
// where it came sooner than expected it is nearer to the truth and is followed;
// where it came later the meter's own spacing is kept, drawn after the arrivals
// by a fiftieth, since the two clocks may differ in rate. Beyond two answers'
// worth readings were missed.
func following(last, told, n, step float64) float64 {
	expected := last + step
	switch late := told - expected; {
	case late > 2*n*step+1:
		return told
	case late > 0:
		return expected + late/50
	}
	return max(told, last+step/2)
}

// tell sends a message to a meter that is polled, between two readings: a scanner
// is switched, a range set. What it asks is thrown away; what the meter says
// about it in its error queue is the error.
func (c *channel) tell(message string) error {
	<-c.turn
	defer func() { c.turn <- struct{}{} }()
	c.mu.Lock()
	s := c.state.session
	trouble := c.state.trouble
	c.mu.Unlock()
	if s == nil {
		return fmt.Errorf("%s: no link; %s", c.meter.Name, or(trouble, "it was not reached yet"))
	}
	if err := s.tell(message); err != nil {
		s.Close() // the polling goroutine finds out and opens another
		return fmt.Errorf("%s: %s: %w", c.meter.Name, Why(err), err)
	}
	faults, err := s.Faults()
	if err != nil {
		s.Close()
		return fmt.Errorf("%s: %s: %w", c.meter.Name, Why(err), err)
	}
	// What was read before belongs to another place.
	c.mu.Lock()
	c.state.recent = ring{}
	c.mu.Unlock()
	if len(faults) > 0 {
		return fmt.Errorf("%s does not take %q: %w (%s)", c.meter.Name, message, faults[0], faults[0].Class())
	}
	return nil
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// ring holds the most recent samples.
type ring struct {
	samples []sample
	at      int
}

type sample struct{ t, v float64 }

// ringHolds is how many samples a view looks back at most.
const ringHolds = 2048

func (r *ring) add(t, v float64) {
	if len(r.samples) < ringHolds {
		r.samples = append(r.samples, sample{t, v})
		return
	}
	r.samples[r.at] = sample{t, v}
	r.at = (r.at + 1) % ringHolds
}

func (r *ring) len() int { return len(r.samples) }

func (r *ring) last() sample { return r.back(0) }

// back returns the k-th sample from the newest, 0 ≤ k < len.
func (r *ring) back(k int) sample {
	n := len(r.samples)
	return r.samples[((r.at-1-k)%n+n)%n]
}
