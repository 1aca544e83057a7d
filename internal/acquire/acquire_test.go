package acquire_test

import (
	"bytes"
	"context"
	"math"
	"net"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/quantity"
	"railtally/internal/simbench"
	"railtally/internal/trace/logfile"
)

// bench serves a simulated bench on a clock that costs no time.
func bench(t testing.TB, c simbench.Config) (*simbench.Bench, []simbench.Place) {
	t.Helper()
	if c.Clock == nil {
		c.Clock = simbench.Virtual()
	}
	b, err := simbench.New(c)
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

func station(t testing.TB, meters ...acquire.Meter) *acquire.Station {
	t.Helper()
	s, err := acquire.NewStation(meters, acquire.Options{Backoff: 2 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

// waitFor waits until something is so.
func waitFor(t testing.TB, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); !is(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("never: %s", what)
		}
	}
}

func TestSession(t *testing.T) {
	_, places := bench(t, simbench.Config{})
	m := acquire.Meter{Name: "desk meter", Address: places[0].Address, Setup: []string{"VOLT:NPLC 10"}}
	s, err := acquire.Open(t.Context(), &m, acquire.Dial)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if id, err := s.Identify(); err != nil || id.Maker != "MADE UP" {
		t.Errorf("%+v, %v", id, err)
	}
	if got, err := s.Ask("VOLT:NPLC?"); err != nil || got != "10" {
		t.Errorf("%q, %v: the setup was not sent", got, err)
	}
	if got, err := s.Ask("NONSENSE 1"); err != nil || got != "" {
		t.Errorf("%q, %v", got, err)
	}
	if f, err := s.Faults(); err != nil || len(f) != 1 || f[0].Code != -113 {
		t.Errorf("%v, %v", f, err)
	}
	if _, err := s.Ask("OUTP ON"); err == nil || !strings.Contains(err.Error(), "OUTP") {
		t.Errorf("a command that sources was sent: %v", err)
	}
	m.Setup = []string{"VOLT:NPLC 1000"}
	if _, err := acquire.Open(t.Context(), &m, acquire.Dial); err == nil || !strings.Contains(err.Error(), "-222") {
		t.Errorf("a setup that the meter refused: %v", err)
	}
}

// Whatever a meter does, readings come again, what was taken before stays, and
// the page can say what is wrong.
func TestFaultyMeter(t *testing.T) {
	for fault, says := range map[simbench.Fault]string{
		simbench.Disconnect: "closed the connection",
		simbench.Garbage:    "nonsense",
		simbench.Slow:       "in time",
		simbench.Half:       "middle of an answer",
		simbench.Flood:      "without end",
	} {
		t.Run(string(fault), func(t *testing.T) {
			t.Parallel()
			b, places := bench(t, simbench.Config{})
			s := station(t, acquire.Meter{Name: "m", Address: places[0].Address, Timeout: 0.25, Pause: 0.001})
			var mu sync.Mutex
			taken, trouble := 0, ""
			leave, err := s.Listen("m", func(b acquire.Batch) { mu.Lock(); taken += len(b.V); mu.Unlock() })
			if err != nil {
				t.Fatal(err)
			}
			defer leave()
			count := func() int { mu.Lock(); defer mu.Unlock(); return taken }
			waitFor(t, "a first reading", func() bool { return count() > 0 })
			if err := b.Ail("desk meter", fault, 0); err != nil {
				t.Fatal(err)
			}
			waitFor(t, "it says what is wrong", func() bool {
				v, err := s.Now("m")
				trouble = v.Trouble
				return err == nil && strings.Contains(trouble, says)
			})
			before := count()
			if err := b.Ail("desk meter", simbench.None, 0); err != nil {
				t.Fatal(err)
			}
			waitFor(t, "readings again", func() bool { return count() > before+3 })
			if v, _ := s.Now("m"); v.Lost == 0 && fault != simbench.Garbage {
				t.Errorf("the link was never given up: %+v", v)
			}
		})
	}
}

func TestOverloadIsNoReading(t *testing.T) {
	b, places := bench(t, simbench.Config{})
	s := station(t, acquire.Meter{Name: "m", Address: places[0].Address})
	if err := b.Ail("desk meter", simbench.Overload, 0); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Take(t.Context(), "m", acquire.TakeOptions{Most: 50 * time.Millisecond}); err == nil || !strings.Contains(err.Error(), "beyond the range") {
		t.Error(err)
	}
	leave, err := s.Listen("m", nil)
	if err != nil {
		t.Fatal(err)
	}
	defer leave()
	waitFor(t, "the mark", func() bool { v, _ := s.Now("m"); return v.Mark == acquire.Over && math.IsInf(v.Last, 1) })
}

// A meter that is not there is tried again and again, and readings come when it is.
func TestMeterThatComesLater(t *testing.T) {
	b, places := bench(t, simbench.Config{})
	if err := b.Ail("desk meter", simbench.Gone, 0); err != nil {
		t.Fatal(err)
	}
	s := station(t, acquire.Meter{Name: "m", Address: places[0].Address, Timeout: 0.25})
	leave, err := s.Listen("m", nil)
	if err != nil {
		t.Fatal(err)
	}
	defer leave()
	waitFor(t, "several tries", func() bool { v, _ := s.Now("m"); return v.Lost > 2 && v.Mark == acquire.Silent })
	if _, err := s.Take(t.Context(), "m", acquire.TakeOptions{Most: 20 * time.Millisecond}); err == nil || !strings.Contains(err.Error(), "no reading") {
		t.Errorf("a take without a meter: %v", err)
	}
	if err := b.Ail("desk meter", simbench.None, 0); err != nil {
		t.Fatal(err)
	}
	waitFor(t, "readings", func() bool { v, _ := s.Now("m"); return v.Count > 3 && v.Linked })
}

const leads = `BENC:LEAD "{what}","{of}"`

// A take ends by itself: a steady voltage when its mean is known better than the
// last digit, a flickering current when 1/f noise lets the uncertainty fall no
// further. Its interval holds what a long average tells; the zero of the clamp
// wanders meanwhile, by 3 mA or 0.3 mV between two zeros.
func TestTakeEndsByItself(t *testing.T) {
	b, places := bench(t, simbench.Config{})
	if err := b.SetState("four-busy"); err != nil {
		t.Fatal(err)
	}
	s := station(t, acquire.Meter{Name: "m", Address: places[0].Address, Setup: []string{"BENC:WAIT 1500", "SAMP:COUN 10"}, Prepare: leads, Spacing: 0.02})
	long := func(p acquire.Place) float64 {
		got, err := s.Take(t.Context(), "m", acquire.TakeOptions{Place: p, For: 600 * time.Second, Most: 2 * time.Second})
		if err != nil {
			t.Fatal(err)
		}
		return got.Stats.Mean()
	}
	volts := acquire.Place{What: "voltage", Of: "core"}
	got, err := s.Take(t.Context(), "m", acquire.TakeOptions{Place: volts, Least: time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	if got.Ended != acquire.EnoughDigit || math.Abs(got.Stats.Mean()-long(volts)) > 2*got.Stats.U+0.0005 {
		t.Errorf("%s: %s, %d readings", got.Text(quantity.Volt), got.Ended, got.Stats.N)
	}
	var seen []acquire.Taking
	amps := acquire.Place{What: "current", Of: "core"}
	got, err = s.Take(t.Context(), "m", acquire.TakeOptions{Place: amps, Least: time.Millisecond, Digit: 1e-4, Progress: func(p acquire.Taking) { seen = append(seen, p) }})
	if err != nil {
		t.Fatal(err)
	}
	if got.Ended == acquire.EnoughTime || len(seen) < 2 || math.Abs(got.Stats.Mean()-long(amps)) > 2*math.Hypot(got.Stats.U, 0.0003) {
		t.Errorf("%s: %s, %d readings, long average %g", got.Text(quantity.Volt), got.Ended, got.Stats.N, long(amps))
	}
	if e, err := quantity.Parse(got.Text(quantity.Volt), quantity.Volt, ""); err != nil || e.Tol == nil || e.Tol.K != 1 || !(e.Tol.DOF >= 1) {
		t.Errorf("%q is no entry: %+v, %v", got.Text(quantity.Volt), e, err)
	}
	if _, err := s.Take(t.Context(), "m", acquire.TakeOptions{Place: acquire.Place{What: "voltage", Of: "nothing"}}); err == nil || !strings.Contains(err.Error(), "-224") {
		t.Errorf("leads to nowhere: %v", err)
	}
	if _, err := s.Take(t.Context(), "x", acquire.TakeOptions{}); err == nil {
		t.Error("a meter that is not there")
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.Take(ctx, "m", acquire.TakeOptions{}); err == nil {
		t.Error("a take that was given up")
	}
}

// A current that settles is marked as drifting.
func TestViewTellsDrift(t *testing.T) {
	b, places := bench(t, simbench.Config{Clock: simbench.Paced(200)})
	s := station(t, acquire.Meter{Name: "m", Address: places[0].Address, Setup: []string{`BENC:LEAD "voltage","link"`}})
	leave, err := s.Listen("m", nil)
	if err != nil {
		t.Fatal(err)
	}
	defer leave()
	if err := b.SetState("bare"); err != nil {
		t.Fatal(err)
	}
	waitFor(t, "steady", func() bool {
		v, _ := s.Now("m")
		return v.Mark == acquire.Steady && math.Abs(v.Mean-1.506) < 0.01
	})
	if v, _ := s.Now("m"); v.Rate <= 0 || v.N < 8 || v.SD > 0.002 {
		t.Errorf("%+v", v)
	}
}

func TestFind(t *testing.T) {
	_, places := bench(t, simbench.Config{})
	_, port, _ := net.SplitHostPort(places[0].Address)
	n, _ := strconv.Atoi(port)
	quiet, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer quiet.Close()
	go func() {
		for {
			c, err := quiet.Accept()
			if err != nil {
				return
			}
			c.Close()
		}
	}()
	found, err := acquire.Find(t.Context(), acquire.Where{Hosts: []string{"127.0.0.1"}, Ports: []int{n, quiet.Addr().(*net.TCPAddr).Port}}, nil)
	if err != nil || len(found) != 2 || found[0].Ident.Model != "DESK 45" || found[1].Note == "" {
		t.Errorf("%+v, %v", found, err)
	}
	for _, h := range []string{"10.0.0.0/8", "fe80::/64", "192.0.2.0/99"} {
		if _, err := acquire.Find(t.Context(), acquire.Where{Hosts: []string{h}, Ports: []int{1}}, nil); err == nil {
			t.Errorf("%s was searched", h)
		}
	}
}

// A recorded log is a log like any other: read back, nothing is lost.
func TestRecordedLogIsRead(t *testing.T) {
	b, places := bench(t, simbench.Config{Loggers: 2})
	if err := b.SetState("one-busy"); err != nil {
		t.Fatal(err)
	}
	meter := func(name, address string) acquire.Meter {
		return acquire.Meter{Name: name, Address: address, Query: "DATA:REM? 100", Setup: []string{"SAMP:TIM 0.001", "INIT:CONT ON"}, Spacing: 0.001}
	}
	s := station(t, meter("core, current", places[2].Address), meter("core V", places[3].Address))
	var buf bytes.Buffer
	log := acquire.NewCSV(&buf, s.Began(), "V")
	var leaves []func()
	for _, m := range s.Meters() {
		leave, err := s.Listen(m.Name, log.Sink)
		if err != nil {
			t.Fatal(err)
		}
		leaves = append(leaves, leave)
	}
	waitFor(t, "a thousand readings of both", func() bool {
		x, _ := s.Now("core, current")
		y, _ := s.Now("core V")
		return x.Count > 1000 && y.Count > 1000
	})
	for _, leave := range leaves {
		leave()
	}
	s.Close()
	rows, err := log.Close()
	if err != nil {
		t.Fatal(err)
	}
	d, whole, err := logfile.Detect(bytes.NewReader(buf.Bytes()), logfile.Hints{})
	if err != nil {
		t.Fatal(err)
	}
	l, err := logfile.Load(t.Context(), whole, &d.Profile, logfile.Options{})
	if err != nil {
		t.Fatal(err)
	}
	samples := int64(0)
	for _, x := range l.Series {
		samples += int64(x.Len())
		if x.Unit != quantity.Volt {
			t.Errorf("%s is read in %q", x.Name, x.Unit.Symbol())
		}
	}
	if len(l.Series) != 2 || samples != rows {
		t.Errorf("%d channels with %d samples of %d rows", len(l.Series), samples, rows)
	}
}

func TestSettings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new", "bench-meters.json")
	if got := acquire.SettingsPath("/data/bench.db"); got != "/data/bench-meters.json" {
		t.Error(got)
	}
	s, err := acquire.LoadSettings(path)
	if err != nil || len(s.Meters) != 0 {
		t.Fatalf("%+v, %v", s, err)
	}
	want := acquire.Meter{Name: "desk meter", Address: "127.0.0.1:5025", Query: "FETC?", Setup: []string{"CONF:VOLT:DC"}, Prepare: leads, Overload: []string{"1E9"}, Timeout: 2}
	if err := s.Put(want); err != nil {
		t.Fatal(err)
	}
	if err := s.Save(path); err != nil {
		t.Fatal(err)
	}
	again, err := acquire.LoadSettings(path)
	if err != nil {
		t.Fatal(err)
	}
	if got := again.Meter("desk meter"); got == nil || got.Query != want.Query || got.Prepare != want.Prepare || got.Setup[0] != want.Setup[0] {
		t.Errorf("%+v", got)
	}
	if !again.Remove("desk meter") || again.Remove("desk meter") {
		t.Error("taken out twice or never")
	}
	for _, m := range []acquire.Meter{
		{Address: "127.0.0.1"}, {Name: "a"}, {Name: "a", Address: "127.0.0.1:0"}, {Name: "a", Address: "h", Query: "READ"},
		{Name: "a", Address: "h", Setup: []string{"OUTP ON"}}, {Name: "a", Address: "h", Query: "READ?\n*RST"},
		{Name: "a", Address: "h", Timeout: math.NaN()}, {Name: "a", Address: "h", Prepare: "*RST"},
	} {
		if err := again.Put(m); err == nil {
			t.Errorf("%+v was taken", m)
		}
	}
}
