package simbench

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net"
	"strings"
	"sync"
	"time"
)

// Place is where a meter listens.
type Place struct {
	Meter   string
	Address string // HOST:PORT
	Leads   Leads
}

// slowness is how late an answer of a slow meter is, in the computer's time.
const slowness = 3 * time.Second

// Serve listens on loopback, one port for each meter, and answers until the
// returned stop is called. first is the port of the first meter, the others
// follow; 0 takes ports that are free.
func (b *Bench) Serve(ctx context.Context, first int) (places []Place, stop func(), err error) {
	ctx, cancel := context.WithCancel(ctx)
	var all sync.WaitGroup
	var listeners []net.Listener
	stop = func() {
		cancel()
		for _, l := range listeners {
			l.Close()
		}
		all.Wait()
	}
	for i, m := range b.meters {
		port := 0
		if first > 0 {
			port = first + i
		}
		l, err := net.ListenTCP("tcp", &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: port})
		if err != nil {
			stop()
			return nil, nil, err
		}
		listeners = append(listeners, l)
		places = append(places, Place{m.name, l.Addr().String(), m.leads})
		all.Go(func() { m.accept(ctx, l, &all) })
	}
	return places, stop, nil
}

func (m *meter) accept(ctx context.Context, l net.Listener, all *sync.WaitGroup) {
	for {
		c, err := l.Accept()
		if err != nil {
			return
		}
		if m.gone() {
			c.Close()
			continue
		}
		all.Go(func() {
			defer c.Close()
			release := context.AfterFunc(ctx, func() { c.Close() })
			defer release()
			m.converse(ctx, c)
		})
	}
}

// longest bounds a message to a meter.
const longest = 64 << 10

// converse answers one connection.
func (m *meter) converse(ctx context.Context, c io.ReadWriter) {
	in := bufio.NewScanner(c)
	in.Buffer(make([]byte, 0, 4096), longest)
	for in.Scan() {
		r := m.execute(ctx, in.Text())
		if !r.asked {
			continue
		}
		if !m.answer(ctx, c, r) {
			return
		}
	}
	if errors.Is(in.Err(), bufio.ErrTooLong) {
		_ = m.fail(-363, "Input buffer overrun") // there is nobody left to tell
	}
}

// answer sends one response, spoiled by what ails the meter; false ends the
// connection.
func (m *meter) answer(ctx context.Context, w io.Writer, r reply) bool {
	line := r.text + "\n"
	fault := None
	if !r.hands {
		fault = m.ails()
	}
	switch fault {
	case Disconnect, Gone:
		return false
	case Garbage:
		line = "\x00\xff~~" + strings.Repeat("?", len(r.text)%7) + "\n"
	case Slow:
		bell := time.NewTimer(slowness)
		defer bell.Stop()
		select {
		case <-bell.C:
		case <-ctx.Done():
			return false
		}
	case Overload:
		line = "+9.90000000E+37\n"
	case Half:
		_, _ = io.WriteString(w, line[:len(line)/2]) // the connection ends either way
		return false
	case Flood:
		for chunk := strings.Repeat("+1.00000000E+00,", 512); ctx.Err() == nil; {
			if _, err := io.WriteString(w, chunk); err != nil {
				return false
			}
		}
		return false
	}
	_, err := io.WriteString(w, line)
	return err == nil
}
