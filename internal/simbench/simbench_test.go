package simbench

import (
	"bufio"
	"fmt"
	"math"
	"net"
	"strings"
	"testing"
	"time"

	"railtally/internal/example"
	"railtally/internal/scpi"
)

// line is a connection to one meter, as a plain program would open it.
type line struct {
	t *testing.T
	c net.Conn
	r *bufio.Reader
}

func serve(t *testing.T, c Config) (*Bench, []Place) {
	t.Helper()
	if c.Clock == nil {
		c.Clock = Virtual()
	}
	b, err := New(c)
	if err != nil {
		t.Fatal(err)
	}
	places, stop, err := b.Serve(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	return b, places
}

func dial(t *testing.T, address string) *line {
	t.Helper()
	c, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	_ = c.SetDeadline(time.Now().Add(20 * time.Second))
	return &line{t, c, bufio.NewReader(c)}
}

func (l *line) send(text string) {
	l.t.Helper()
	if _, err := fmt.Fprintf(l.c, "%s\n", text); err != nil {
		l.t.Fatal(err)
	}
}

func (l *line) ask(text string) string {
	l.t.Helper()
	l.send(text)
	s, err := scpi.ReadResponse(l.r, 1<<20)
	if err != nil {
		l.t.Fatalf("%s: %v", text, err)
	}
	return s
}

func (l *line) readings(text string) []float64 {
	l.t.Helper()
	v, err := scpi.Readings(l.ask(text))
	if err != nil {
		l.t.Fatal(err)
	}
	return v
}

func mean(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s / float64(len(x))
}

func TestMeterSpeaksSCPI(t *testing.T) {
	_, places := serve(t, Config{})
	l := dial(t, places[0].Address)
	if id, err := scpi.ParseIdent(l.ask("*IDN?")); err != nil || id.Model != "DESK 45" {
		t.Errorf("%+v, %v", id, err)
	}
	l.send("NONSENSE:HERE 1;:VOLT:NPLC banana;:VOLT:NPLC 1000")
	for _, want := range []string{"-113", "-120", "-222", "0,"} {
		if got := l.ask("SYST:ERR?"); !strings.HasPrefix(got, want) {
			t.Errorf("%s, want %s", got, want)
		}
	}
	for range 25 {
		l.send("NONSENSE")
	}
	for range 19 {
		l.ask("SYST:ERR?")
	}
	if got := l.ask("SYST:ERR?"); !strings.HasPrefix(got, "-350") { // full queue: SCPI-1999, last entry replaced
		t.Error(got)
	}
	if got := l.ask("VOLT:NPLC 10;NPLC?;:SAMP:COUN?"); got != "10;1" {
		t.Error(got)
	}
}

// What the leads touch follows from the example's truth: a rail's voltage within
// the meter's accuracy line, and the clamp's output within clamp, position and meter.
func TestReadingsComeFromTheTruth(t *testing.T) {
	b, places := serve(t, Config{})
	l := dial(t, places[0].Address)
	l.send(`BENC:STAT "one-busy"`)
	l.send("BENC:WAIT 900;:SAMP:COUN 200")
	l.send(`BENC:LEAD "voltage","core"`)
	i := b.evening.Current("core", "one-busy")
	truth := b.evening.Volts("core", i)
	if got := mean(l.readings("READ?")); math.Abs(got-truth) > 0.001*truth+0.001+0.0005 {
		t.Errorf("%g V, true %g", got, truth)
	}
	l.send(`BENC:LEAD "current","core"`)
	got := mean(l.readings("READ?"))
	l.send(`BENC:LEAD "zero","red clamp"`)
	zero := mean(l.readings("READ?"))
	amps := (got - zero) * 10 * 1.004
	if math.Abs(amps/i-1) > 0.02 {
		t.Errorf("%g A, true %g", amps, i)
	}
	if got := l.ask(`BENC:TRUE? "one-busy"`); !strings.HasPrefix(got, fmt.Sprintf("%.6f", b.True("one-busy", ""))) {
		t.Error(got)
	}
	p := dial(t, places[1].Address)
	p.send("BENC:WAIT 2000")
	want := b.evening.Temperature("case", b.True("one-busy", ""))
	if got := p.readings("READ?")[0]; math.Abs(got-want) > 1.0 {
		t.Errorf("%g °C, true %g", got, want)
	}
}

// A state takes time: the current comes from below and settles, as leakage does.
func TestBoardSettles(t *testing.T) {
	b, err := New(Config{Clock: Virtual()})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.SetState("bare"); err != nil {
		t.Fatal(err)
	}
	full := b.evening.Current("core", "bare")
	at := func(s float64) float64 { return b.amps("core", time.Duration(s*1e9), cycle) / full }
	// exp(-75 s/75 s) of the hundredth that leakage lacks at first.
	for s, want := range map[float64]float64{0: 0.99, 75: 1 - 0.01*math.Exp(-1), 1000: 1} {
		if got := at(s); math.Abs(got-want) > 1e-5 {
			t.Errorf("after %g s %g of the current, want %g", s, got, want)
		}
	}
}

// The power of noise falls as 1/f: from one octave of averaging to the next the
// Allan variance of pink noise stays the same, that of white noise halves.
func TestNoiseIsPink(t *testing.T) {
	n := noise{7}
	allan := func(of func(time.Duration) float64, tau time.Duration) float64 {
		const per, groups = 16, 4000
		sum, last := 0.0, 0.0
		for g := range groups {
			m := 0.0
			for k := range per {
				m += of(time.Duration(g)*tau+time.Duration(k)*tau/per) / per
			}
			if g > 0 {
				sum += (m - last) * (m - last) / 2
			}
			last = m
		}
		return sum / (groups - 1)
	}
	a, c := allan(n.pink, 800*time.Millisecond), allan(n.pink, 3200*time.Millisecond)
	if r := c / a; r < 0.75 || r > 1.33 {
		t.Errorf("Allan variance of pink noise changes by %.2f over two octaves, want 1", r)
	}
	if v := allan(n.white, time.Second); math.Abs(v*16-1) > 0.1 {
		t.Errorf("sixteen white readings have the variance %.3f, want 1/16", v)
	}
}

// Over the time between two zeros a zero wanders by about what the example's
// own benches draw.
func TestZeroWanders(t *testing.T) {
	sum := 0.0
	const benches = 4000
	for k := range uint64(benches) {
		n := noise{mix(k)}
		d := n.wander(22 * time.Minute)
		sum += d * d
	}
	if sd := math.Sqrt(sum / benches); math.Abs(sd-1) > 0.05 {
		t.Errorf("wanders by %.3f, want 1", sd)
	}
}

func TestRippleVanishesOverWholeCycles(t *testing.T) {
	if r := ripple(100, 0, cycle); math.Abs(r) > 1e-9 {
		t.Error(r)
	}
	if r := ripple(100, 0, 400*time.Microsecond); r < 0.1 {
		t.Error(r)
	}
}

// A meter that samples by its own timer hands over every reading once.
func TestMemory(t *testing.T) {
	b, places := serve(t, Config{Loggers: 2})
	l := dial(t, places[2].Address)
	l.send(`SAMP:TIM 0.001;:INIT:CONT ON`)
	if got := len(l.readings("DATA:REM? 500")); got != 500 {
		t.Fatal(got)
	}
	if got := len(l.readings("DATA:REM? 300")); got != 300 {
		t.Fatal(got)
	}
	if lost, handed := b.Lost("logger 1"); lost != 0 || handed != 800 {
		t.Errorf("lost %d, handed over %d", lost, handed)
	}
	l.send("BENC:WAIT 100")
	l.readings("DATA:REM? 1")
	if lost, _ := b.Lost("logger 1"); lost == 0 {
		t.Error("a memory of 20000 readings held 100000")
	}
	if got := l.ask("SYST:ERR?"); !strings.HasPrefix(got, "-363") {
		t.Error(got)
	}
}

func TestWhatIsRefused(t *testing.T) {
	b, err := New(Config{Clock: Virtual()})
	if err != nil {
		t.Fatal(err)
	}
	for what, err := range map[string]error{
		"state":   b.SetState("asleep"),
		"meter":   b.Connect("no meter", Leads{Voltage, "core"}),
		"rail":    b.Connect("desk meter", Leads{Voltage, "cor"}),
		"leads":   b.Connect("desk meter", Leads{"power", "core"}),
		"unfit":   b.Connect("desk meter", Leads{Temperature, "case"}),
		"ailment": b.Ail("no meter", Slow, 1),
	} {
		if err == nil {
			t.Errorf("%s: no error", what)
		}
	}
	for _, c := range []Config{{Board: "Badger"}, {Loggers: 11}, {Loggers: -1}} {
		if _, err := New(c); err == nil {
			t.Errorf("%+v: no error", c)
		}
	}
	if _, err := FaultNamed("hiccup"); err == nil {
		t.Error("no error")
	}
	if len(example.Plan()) < 1000 {
		t.Error("the plan is missing")
	}
}
