package simbench

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"railtally/internal/scpi"
)

// reply is what a message brings.
type reply struct {
	text  string // the answers of its queries, on one line
	asked bool   // it held a query that could be answered
	hands bool   // it was for the tester's hands alone: no fault spoils that
}

// execute carries out a message.
func (m *meter) execute(ctx context.Context, line string) reply {
	units, err := scpi.ParseMessage(line)
	if err != nil {
		_ = m.fail(-110, "Command header error") // the queue holds it; a meter says no more
		return reply{}
	}
	out := reply{hands: true}
	var parts []string
	for _, u := range units {
		out.hands = out.hands && strings.HasPrefix(u.Header, "BENC")
		text, err := m.unit(ctx, u)
		if err != nil {
			if u.Query {
				// A meter that could not carry out a query answers nothing. That
				// would block whoever asked until a timeout, as it does on a bench.
				return reply{}
			}
			continue
		}
		if u.Query {
			parts = append(parts, text)
		}
	}
	out.text, out.asked = strings.Join(parts, ";"), len(parts) > 0
	return out
}

// errNotDone says that a fault is in the queue.
var errNotDone = errors.New("not done")

// fail puts an entry into the error queue; a full queue ends in -350.
func (m *meter) fail(code int, text string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	const most = 20
	if len(m.errors) >= most {
		m.errors[most-1] = `-350,"Queue overflow"`
		return errNotDone
	}
	m.errors = append(m.errors, fmt.Sprintf(`%d,"%s"`, code, text))
	return errNotDone
}

// unit carries out one unit of a message.
func (m *meter) unit(ctx context.Context, u scpi.Unit) (string, error) {
	is := func(pattern string, query bool) bool { return u.Query == query && scpi.Match(pattern, u.Header) }
	switch {
	case is("*IDN", true):
		return m.ident, nil
	case is("*OPC", true):
		return "1", nil
	case is("*TST", true), is("*ESR", true), is("*ESE", true), is("*SRE", true):
		return "0", nil
	case is("*STB", true):
		m.mu.Lock()
		defer m.mu.Unlock()
		return strconv.Itoa(4 * min(len(m.errors), 1)), nil // bit 2: the error queue holds something
	case is("*CLS", false):
		m.mu.Lock()
		m.errors = nil
		m.mu.Unlock()
		return "", nil
	case is("*RST", false):
		m.mu.Lock()
		m.reset()
		m.mu.Unlock()
		return "", nil
	case is("*OPC", false), is("*WAI", false), is("*ESE", false), is("*SRE", false),
		is("SYSTem:REMote", false), is("SYSTem:LOCal", false), is("TRIGger:SOURce", false), is("TRIGger:COUNt", false):
		return "", nil
	case is("SYSTem:ERRor[:NEXT]", true):
		m.mu.Lock()
		defer m.mu.Unlock()
		if len(m.errors) == 0 {
			return `0,"No error"`, nil
		}
		first := m.errors[0]
		m.errors = m.errors[1:]
		return first, nil
	case is("SYSTem:VERSion", true):
		return "1999.0", nil
	case strings.HasPrefix(u.Header, "BENC"):
		return m.hands(ctx, u)
	}
	return m.measuring(ctx, u, is)
}

// measuring carries out the commands by which the meter measures.
func (m *meter) measuring(ctx context.Context, u scpi.Unit, is func(string, bool) bool) (string, error) {
	switch {
	case is("CONFigure:VOLTage[:DC]", false), is("CONFigure:TEMPerature", false):
		m.mu.Lock()
		m.reset()
		m.mu.Unlock()
		return "", nil
	case is("[SENSe:]VOLTage[:DC]:NPLCycles", false):
		return m.set(u, 0.02, 100, func(x float64) { m.aperture = time.Duration(x * float64(cycle)) })
	case is("[SENSe:]VOLTage[:DC]:NPLCycles", true):
		return m.get(func() float64 { return m.aperture.Seconds() / cycle.Seconds() }), nil
	case is("[SENSe:]VOLTage[:DC]:RANGe[:UPPer]", false):
		return m.set(u, 0, 5, func(x float64) { m.hold = x })
	case is("[SENSe:]VOLTage[:DC]:RANGe[:UPPer]", true):
		return m.get(func() float64 { return m.hold }), nil
	case is("[SENSe:]VOLTage[:DC]:RANGe:AUTO", false):
		m.mu.Lock()
		m.hold = 0
		m.mu.Unlock()
		return "", nil
	case is("SAMPle:COUNt", false):
		return m.set(u, 1, 10000, func(x float64) { m.samples = int(x) })
	case is("SAMPle:COUNt", true):
		return m.get(func() float64 { return float64(m.samples) }), nil
	case is("SAMPle:TIMer", false):
		return m.set(u, 0.0002, 3600, func(x float64) { m.memory.every = time.Duration(math.Round(x * 1e9)) })
	case is("INITiate:CONTinuous", false):
		return m.continuous(u)
	case is("ABORt", false):
		m.mu.Lock()
		m.memory.running = false
		m.mu.Unlock()
		return "", nil
	case is("READ", true):
		return m.read(ctx)
	case is("INITiate[:IMMediate]", false):
		_, err := m.read(ctx)
		return "", err
	case is("FETCh", true):
		m.mu.Lock()
		last := m.last
		m.mu.Unlock()
		if len(last) == 0 {
			return "", m.fail(-230, "Data corrupt or stale")
		}
		return written(last), nil
	case is("MEASure[:SCALar][:VOLTage][:DC]", true), is("MEASure:TEMPerature", true):
		m.mu.Lock()
		m.reset()
		m.mu.Unlock()
		return m.read(ctx)
	case is("DATA:POINts", true):
		return m.get(func() float64 {
			t := m.b.clock.Now()
			m.memory.fit(t)
			return float64(m.memory.due(t) - m.memory.taken)
		}), nil
	case is("DATA:REMove", true):
		return m.remove(ctx, u)
	}
	return "", m.fail(-113, "Undefined header")
}

// set takes one number within limits.
func (m *meter) set(u scpi.Unit, lo, hi float64, put func(float64)) (string, error) {
	if len(u.Args) != 1 {
		return "", m.fail(-109, "Missing parameter")
	}
	x, err := strconv.ParseFloat(u.Args[0], 64)
	if err != nil {
		return "", m.fail(-120, "Numeric data error")
	}
	if !(x >= lo && x <= hi) {
		return "", m.fail(-222, "Data out of range")
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	put(x)
	return "", nil
}

func (m *meter) get(what func() float64) string {
	m.mu.Lock()
	defer m.mu.Unlock()
	return strconv.FormatFloat(what(), 'G', -1, 64)
}

// written gives readings as a meter does, in NR3.
func written(values []float64) string {
	out := make([]byte, 0, 16*len(values))
	for i, x := range values {
		if i > 0 {
			out = append(out, ',')
		}
		switch {
		case math.IsInf(x, 1):
			out = append(out, "+9.90000000E+37"...)
		case math.IsInf(x, -1):
			out = append(out, "-9.90000000E+37"...)
		default:
			if !math.Signbit(x) {
				out = append(out, '+')
			}
			out = strconv.AppendFloat(out, x, 'E', 8, 64)
		}
	}
	return string(out)
}
