package simbench

import (
	"context"
	"strconv"
	"time"

	"railtally/internal/scpi"
)

// read takes readings one after the other, as READ? does, and takes the time
// that they need.
func (m *meter) read(ctx context.Context) (string, error) {
	m.mu.Lock()
	n, aperture := m.samples, m.aperture
	m.mu.Unlock()
	out := make([]float64, 0, n)
	for range n {
		t := m.b.clock.Now()
		m.b.clock.Until(ctx, t+aperture)
		if ctx.Err() != nil {
			return "", ctx.Err()
		}
		m.mu.Lock()
		out = append(out, m.reading(t))
		m.mu.Unlock()
	}
	m.mu.Lock()
	m.last = out
	m.mu.Unlock()
	return written(out), nil
}

// continuous starts or ends sampling by the meter's own timer.
func (m *meter) continuous(u scpi.Unit) (string, error) {
	m.mu.Lock()
	on := len(u.Args) == 1 && (u.Args[0] == "1" || u.Args[0] == "ON" || u.Args[0] == "on")
	every := m.memory.every
	if on && every > 0 {
		m.memory = memory{running: true, from: m.b.clock.Now(), every: every}
		// Sampling faster than the aperture shortens it.
		m.aperture = min(m.aperture, every)
	} else if !on {
		m.memory.running = false
	}
	m.mu.Unlock()
	if on && every <= 0 {
		return "", m.fail(-221, "Settings conflict")
	}
	return "", nil
}

// remove hands over the oldest readings of the memory, so many as were asked
// for, and waits until there are.
func (m *meter) remove(ctx context.Context, u scpi.Unit) (string, error) {
	n := 0
	if len(u.Args) == 1 {
		n, _ = strconv.Atoi(u.Args[0])
	}
	if n < 1 || n > memoryHolds {
		return "", m.fail(-222, "Data out of range")
	}
	m.mu.Lock()
	if !m.memory.running {
		m.mu.Unlock()
		return "", m.fail(-230, "Data corrupt or stale")
	}
	until := m.memory.from + time.Duration(m.memory.taken+int64(n)-1)*m.memory.every
	m.mu.Unlock()
	m.b.clock.Until(ctx, until)
	if ctx.Err() != nil {
		return "", ctx.Err()
	}
	m.mu.Lock()
	over := m.memory.fit(m.b.clock.Now())
	out := make([]float64, n)
	for i := range out {
		out[i] = m.reading(m.memory.from + time.Duration(m.memory.taken)*m.memory.every)
		m.memory.taken++
	}
	m.mu.Unlock()
	if over > 0 {
		_ = m.fail(-363, "Input buffer overrun") // told in the queue, as a meter does
	}
	return written(out), nil
}

// Lost is how many readings a meter's memory forgot before they were fetched,
// and Handed how many were fetched, since it was last started.
func (b *Bench) Lost(meterName string) (lost, handed int64) {
	m := b.meterNamed(meterName)
	if m == nil {
		return 0, 0
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.memory.lost, m.memory.taken - m.memory.lost
}
