package simbench

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"railtally/internal/example"
	"railtally/internal/scpi"
)

// hands carries out what a tester's hands do on a real bench. Any meter takes
// these commands; METER is the one asked unless another is named.
//
//	BENCh:STATe "one-busy"[,480]            sets a state, and when that changed anything lets so
//	                                        many seconds pass; "" leaves it; BENCh:STATe? tells it
//	BENCh:LEADs "current","core"[,METER]    moves leads; BENCh:LEADs? tells where they lie
//	BENCh:FAULt GARBAGE[,TIMES[,METER]]     gives a meter a fault; NONE ends it
//	BENCh:WAIT 480                          lets so many seconds of the bench's time pass
//	BENCh:TIME?                             the bench's time in seconds
//	BENCh:TRUE? "one-busy"[,"core"]         what a tally must find, in W
func (m *meter) hands(ctx context.Context, u scpi.Unit) (string, error) {
	is := func(pattern string, query bool) bool { return u.Query == query && scpi.Match(pattern, u.Header) }
	arg := func(i int) string {
		if i < len(u.Args) {
			return u.Args[i]
		}
		return ""
	}
	named := func(i int) string {
		if name := arg(i); name != "" {
			return name
		}
		return m.name
	}
	refused := func(err error) (string, error) {
		if err != nil {
			return "", m.fail(-224, "Illegal parameter value;"+strings.ReplaceAll(err.Error(), `"`, `'`))
		}
		return "", nil
	}
	switch {
	case is("BENCh:STATe", false):
		if arg(0) == "" || arg(0) == m.b.State() {
			return "", nil
		}
		if err := m.b.SetState(arg(0)); err != nil || arg(1) == "" {
			return refused(err)
		}
		return m.wait(ctx, arg(1))
	case is("BENCh:STATe", true):
		return m.b.State(), nil
	case is("BENCh:LEADs", false):
		return refused(m.b.Connect(named(2), Leads{arg(0), arg(1)}))
	case is("BENCh:LEADs", true):
		m.mu.Lock()
		defer m.mu.Unlock()
		return strings.TrimSpace(m.leads.What + " " + m.leads.Of), nil
	case is("BENCh:FAULt", false):
		f, err := FaultNamed(arg(0))
		times, _ := strconv.Atoi(arg(1))
		if err == nil {
			err = m.b.Ail(named(2), f, times)
		}
		return refused(err)
	case is("BENCh:WAIT", false):
		return m.wait(ctx, arg(0))
	case is("BENCh:TIME", true):
		return fmt.Sprintf("%.3f", m.b.Now().Seconds()), nil
	case is("BENCh:TRUE", true):
		for _, s := range example.States() {
			if s == arg(0) {
				return fmt.Sprintf("%.6f", m.b.True(arg(0), arg(1))), nil
			}
		}
		return refused(fmt.Errorf("no state called %q", arg(0)))
	}
	return "", m.fail(-113, "Undefined header")
}

// wait lets seconds of the bench's time pass.
func (m *meter) wait(ctx context.Context, text string) (string, error) {
	s, err := strconv.ParseFloat(text, 64)
	if err != nil || !(s >= 0 && s <= 86400) {
		return "", m.fail(-222, "Data out of range")
	}
	m.b.clock.Until(ctx, m.b.Now()+time.Duration(s*float64(time.Second)))
	return "", ctx.Err()
}
