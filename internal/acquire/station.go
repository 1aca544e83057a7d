package acquire

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"
)

// Batch is what one answer of a meter brought: readings in SI, with the middle
// of when each was taken, in seconds since the station began. ±Inf is beyond the
// range, NaN no reading. Receivers must not keep the slices.
type Batch struct {
	Meter   string
	T, V    []float64
	Skew    float64   // how far the times may be off, seconds either way
	Arrived time.Time // when the answer was here
}

// Sink takes batches. It is called from the meter's goroutine, so that nothing
// is lost between them, and must be quick.
type Sink func(Batch)

// Options are what a station takes from outside. The zero value is fit for use.
type Options struct {
	Dial Dialer // nil: Dial
	// Backoff is the first pause before a lost meter is tried again; it doubles up
	// to thirty times of it. 0: one second.
	Backoff time.Duration
}

// Station polls meters. Make one with NewStation.
type Station struct {
	began    time.Time
	opt      Options
	channels []*channel
}

// NewStation makes a station of meters, all of which must be valid and differ in
// name. Nothing is asked of them until somebody listens.
func NewStation(meters []Meter, opt Options) (*Station, error) {
	if opt.Dial == nil {
		opt.Dial = Dial
	}
	if opt.Backoff <= 0 {
		opt.Backoff = time.Second
	}
	s := &Station{began: time.Now(), opt: opt}
	for i := range meters {
		m := meters[i]
		if err := m.Validate(); err != nil {
			return nil, err
		}
		if s.channel(m.Name) != nil {
			return nil, fmt.Errorf("two meters are called %q", m.Name)
		}
		s.channels = append(s.channels, newChannel(s, m))
	}
	return s, nil
}

// Began is the moment that the times of batches count from.
func (s *Station) Began() time.Time { return s.began }

// Meters lists the meters.
func (s *Station) Meters() []Meter {
	out := make([]Meter, len(s.channels))
	for i, c := range s.channels {
		out[i] = c.meter
	}
	return out
}

func (s *Station) channel(name string) *channel {
	for _, c := range s.channels {
		if c.meter.Name == name {
			return c
		}
	}
	return nil
}

// errNoMeter is returned for a name that the station does not know.
func (s *Station) errNoMeter(name string) error {
	var names []string
	for _, c := range s.channels {
		names = append(names, c.meter.Name)
	}
	return fmt.Errorf("no meter called %q; there are %q", name, names)
}

// Listen polls a meter until the returned leave is called, and hands its batches
// to sink; sink may be nil where Now is enough. After leave returned sink is not
// called any more; a sink must not leave.
func (s *Station) Listen(name string, sink Sink) (leave func(), err error) {
	c := s.channel(name)
	if c == nil {
		return nil, s.errNoMeter(name)
	}
	return c.join(sink), nil
}

// Now is what a meter shows at the moment.
func (s *Station) Now(name string) (View, error) {
	c := s.channel(name)
	if c == nil {
		return View{}, s.errNoMeter(name)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.view(), nil
}

// channel is one meter of a station. Its goroutine runs while it has listeners.
type channel struct {
	s     *Station
	meter Meter
	turn  chan struct{} // holds the one token for who talks to the meter

	calling sync.Mutex // of sinks; taken before mu
	sinks   map[int]Sink

	mu     sync.Mutex
	next   int
	stop   context.CancelFunc // of the goroutine; nil while nobody listens
	gone   chan struct{}      // closed when the goroutine before has ended
	state  state
	looked [2][]float64 // memory of view: times and values
}

func newChannel(s *Station, m Meter) *channel {
	c := &channel{s: s, meter: m, turn: make(chan struct{}, 1), sinks: map[int]Sink{}}
	c.turn <- struct{}{}
	return c
}

// join adds a listener and starts polling with the first one.
func (c *channel) join(sink Sink) (leave func()) {
	c.calling.Lock()
	defer c.calling.Unlock()
	c.mu.Lock()
	defer c.mu.Unlock()
	id := c.next
	c.next++
	c.sinks[id] = sink
	if c.stop == nil {
		ctx, stop := context.WithCancel(context.Background())
		c.stop = stop
		before, gone := c.gone, make(chan struct{})
		c.gone = gone
		c.state = state{}
		go func() {
			defer close(gone)
			if before != nil {
				<-before
			}
			c.run(ctx)
		}()
	}
	var once sync.Once
	return func() {
		once.Do(func() {
			c.calling.Lock()
			defer c.calling.Unlock()
			c.mu.Lock()
			defer c.mu.Unlock()
			delete(c.sinks, id)
			if len(c.sinks) == 0 && c.stop != nil {
				c.stop()
				c.stop = nil
			}
		})
	}
}

// Close ends all polling and waits until no meter is talked to any more.
func (s *Station) Close() {
	for _, c := range s.channels {
		c.calling.Lock()
		c.mu.Lock()
		clear(c.sinks)
		if c.stop != nil {
			c.stop()
			c.stop = nil
		}
		gone := c.gone
		c.mu.Unlock()
		c.calling.Unlock()
		if gone != nil {
			<-gone
		}
	}
}

// run keeps a session to the meter until ctx ends.
func (c *channel) run(ctx context.Context) {
	pause := c.s.opt.Backoff
	for ctx.Err() == nil {
		began := time.Now()
		err := c.poll(ctx)
		if ctx.Err() != nil {
			return
		}
		// What has worked for a while is tried again soon.
		if time.Since(began) > 10*pause {
			pause = c.s.opt.Backoff
		}
		c.lost(err, pause)
		sleep(ctx, pause)
		pause = min(2*pause, 30*c.s.opt.Backoff)
	}
}

// sleep waits for d or until ctx ends.
func sleep(ctx context.Context, d time.Duration) {
	if d <= 0 {
		return
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
	case <-ctx.Done():
	}
}

// mostNonsense is how many answers in a row may be no readings before the link
// is opened anew.
const mostNonsense = 3

// poll asks the meter again and again; it returns what ended it.
func (c *channel) poll(ctx context.Context) error {
	session, err := Open(ctx, &c.meter, c.s.opt.Dial)
	if err != nil {
		return err
	}
	defer session.Close()
	// A meter that is waited for is not waited for any longer than need be.
	release := context.AfterFunc(ctx, func() { session.Close() })
	defer release()
	c.linked(session)
	defer c.linked(nil)
	nonsense := 0
	for ctx.Err() == nil {
		select {
		case <-c.turn:
		case <-ctx.Done():
			return ctx.Err()
		}
		a, err := session.read()
		c.turn <- struct{}{}
		switch {
		case err == nil:
			nonsense = 0
			c.took(a)
		case errors.Is(err, errNonsense):
			if nonsense++; nonsense >= mostNonsense {
				return err
			}
			c.stumbled(err)
		default:
			return err
		}
		sleep(ctx, seconds(c.meter.Pause))
	}
	return ctx.Err()
}
