package simbench

import (
	"context"
	"sync"
	"time"
)

// Clock is how time passes on the bench, from 0.
type Clock interface {
	Now() time.Duration
	// Until waits until the bench's time is t or ctx ends.
	Until(ctx context.Context, t time.Duration)
}

// paced follows the computer's monotonic clock.
type paced struct {
	start time.Time
	rate  float64
}

// Paced returns a clock on which the bench's time passes rate times as fast as
// the computer's; rate must be positive.
func Paced(rate float64) Clock { return &paced{time.Now(), rate} }

func (c *paced) Now() time.Duration {
	return time.Duration(float64(time.Since(c.start)) * c.rate)
}

func (c *paced) Until(ctx context.Context, t time.Duration) {
	d := time.Duration(float64(t-c.Now()) / c.rate)
	if d <= 0 {
		return
	}
	bell := time.NewTimer(d)
	defer bell.Stop()
	select {
	case <-bell.C:
	case <-ctx.Done():
	}
}

// virtual stands still until somebody waits.
type virtual struct {
	mu  sync.Mutex
	now time.Duration
}

// Virtual returns a clock that goes forward exactly when something is waited
// for, and then at once.
func Virtual() Clock { return &virtual{} }

func (c *virtual) Now() time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *virtual) Until(_ context.Context, t time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = max(c.now, t)
}
