package trace

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"railtally/internal/quantity"
)

// TestWindowsNameWhatHappens: a made record of a steady state, a step with an exponential settling, and
// a drift; time constants and slopes are known.
func TestWindowsNameWhatHappens(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 1))
	const tau, final, amplitude, slope = 12.0, 3.0, 0.5, 0.002
	var v []float64
	for range 600 { // 60 s idle
		v = append(v, 2+0.005*rng.NormFloat64())
	}
	for i := range 1200 { // 120 s: load on, warms up by 0.5 W
		v = append(v, final-amplitude*math.Exp(-float64(i)/10/tau)+0.005*rng.NormFloat64())
	}
	for i := range 600 { // 60 s of drift
		v = append(v, 4+slope*float64(i)/10*10+0.005*rng.NormFloat64())
	}
	st, _, err := Windows(even(v, 0.1), WindowOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var kinds []string
	for _, s := range st {
		kinds = append(kinds, string(s.Kind))
	}
	if got := strings.Join(kinds, " "); got != "steady settling steady drifting" {
		t.Fatalf("stretches: %s\n%+v", got, st)
	}
	idle, settle, settled, drift := st[0], st[1], st[2], st[3]
	if idle.Window == nil || idle.Window.From < 0.1 || idle.Window.To > 59.9 || math.Abs(idle.Mean-2) > 0.002 {
		t.Errorf("idle %+v", idle)
	}
	a := settle.Approach
	if math.Abs(a.Tau-tau) > 4*a.UTau+0.2 || math.Abs(a.Final-final) > 4*a.U+0.001 || !a.SettledAtKnown {
		t.Errorf("settling %+v", a)
	}
	// What remains falls below 0.1 % of 3 W after τ ln(0.5/0.003).
	if want := 60 + tau*math.Log(amplitude/(0.001*final)); math.Abs(settled.Start-want) > 3 {
		t.Errorf("settled at %.1f s, want %.1f s", settled.Start, want)
	}
	if settled.Window == nil || math.Abs(settled.Mean-final) > 0.005 {
		t.Errorf("settled %+v", settled)
	}
	if drift.Window != nil || math.Abs(drift.Trend.PerSecond-slope*10) > 5*drift.Trend.U+1e-4 {
		t.Errorf("drift %+v, want %g a second", drift.Trend, slope*10)
	}
}

// TestSampleLogStates: the sample log with a change of state in rows 41 to 60 (testdata of package
// logfile, file 02) is rebuilt here from its description: 0.41 A, and 0.53 A in rows 41 to 60.
func TestShortStateIsFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(22, 1))
	v := make([]float64, 100)
	for i := range v {
		v[i] = 0.412 + 0.002*rng.NormFloat64()
		if i >= 40 && i < 60 {
			v[i] += 0.12
		}
	}
	s := even(v, 0.1)
	s.Unit = quantity.Ampere
	st, _, err := Windows(s, WindowOptions{MinDuration: 1.5})
	if err != nil {
		t.Fatal(err)
	}
	if len(st) != 3 || st[1].From != 40 || st[1].To != 60 {
		t.Fatalf("%+v", st)
	}
	for _, x := range st {
		if x.Kind != Steady {
			t.Errorf("%+v", x)
		}
	}
	st, _, err = Windows(s, WindowOptions{MinDuration: 3})
	if err != nil || st[1].Kind != Brief || st[1].Window != nil {
		t.Errorf("%+v %v", st, err)
	}
}

// TestStandbySlope: the limits of IEC 62301 ed. 2 (from memory) on lines whose slopes are known.
func TestStandbySlope(t *testing.T) {
	line := func(level, perHour, minutes float64, unit quantity.Unit) *Series {
		n := int(minutes * 60)
		v := make([]float64, n)
		for i := range v {
			v[i] = level + perHour*float64(i)/3600 + 1e-5*float64(i%2)
		}
		s := even(v, 1)
		s.Unit = unit
		return s
	}
	for _, c := range []struct {
		s      *Series
		steady bool
	}{
		{line(0.5, 0.008, 15, quantity.Watt), true},  // 8 mW/h below 1 W
		{line(0.5, 0.012, 15, quantity.Watt), false}, // 12 mW/h
		{line(4, 0.03, 15, quantity.Watt), true},     // 0.75 % an hour
		{line(4, 0.05, 15, quantity.Watt), false},    // 1.25 % an hour
		{line(4, 0.03, 14, quantity.Watt), false},    // too short
		{line(0.5, 0.008, 20, quantity.Ampere), false},
		{line(0.5, 0.004, 20, quantity.Ampere), true},
	} {
		if v := StandbySlope().Check(c.s); v.Steady != c.steady {
			t.Errorf("%+v, want %v", v, c.steady)
		}
	}
	// Only the last two thirds count.
	warm := line(4, 0.01, 30, quantity.Watt)
	for i := range 590 {
		warm.V[i] -= 0.5
	}
	if v := StandbySlope().Check(warm); !v.Steady {
		t.Errorf("%+v", v)
	}
}

func TestOtherCriteria(t *testing.T) {
	rng := rand.New(rand.NewPCG(23, 1))
	v := make([]float64, 400)
	for i := range v {
		v[i] = 2 + 0.002*rng.NormFloat64()
	}
	s := even(v, 1)
	for _, c := range Criteria()[:1] {
		if x := c.Check(s); !x.Steady {
			t.Errorf("%s: %+v", c.Name, x)
		}
	}
	if x := StandbySpread().Check(s); !x.Steady {
		t.Errorf("%+v", x)
	}
	for i := range v {
		v[i] += 0.0004 * float64(i) // 8 % over the window
	}
	if x := HalfMeans(0.01).Check(s); x.Steady {
		t.Errorf("%+v", x)
	}
	if x := StandbySpread().Check(even(v[:200], 1)); x.Steady {
		t.Errorf("too short: %+v", x)
	}
	if x := HalfMeans(0.01).Check(even(v[:2], 1)); x.Steady || x.Why == "" {
		t.Errorf("%+v", x)
	}
}

// TestPeriod: a ripple over an unfinished cycle moves the mean by at most the stated bias; the closed
// form is b·sinc(fT)·sin(πfT+φ).
func TestPeriod(t *testing.T) {
	rng := rand.New(rand.NewPCG(24, 1))
	for _, cycles := range []float64{3.3, 5, 7.75, 20.5} {
		v := make([]float64, 2000)
		phase := rng.Float64() * 2 * math.Pi
		for i := range v {
			v[i] = 2 + 0.5*math.Sin(2*math.Pi*cycles*float64(i)/2000+phase) + 0.05*rng.NormFloat64()
		}
		p, err := FindPeriod(even(v, 0.01))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(p.Cycles-cycles) > 0.02 || math.Abs(p.Amplitude-0.5) > 0.02 || math.Abs(p.Seconds-20/cycles) > 0.05 {
			t.Errorf("%+v, want %g cycles", p, cycles)
		}
		x := math.Pi * cycles
		shift := 0.5 * math.Sin(x) / x * math.Sin(x+phase)
		if got := MomentsOf(v).Mean() - 2; math.Abs(got) > p.Bias+4*0.05/math.Sqrt(2000) || math.Abs(shift) > p.Bias+1e-3 {
			t.Errorf("mean is %g off, closed form %g, bias %g", got, shift, p.Bias)
		}
		if got := MomentsOf(v[:p.Whole]).Mean() - 2; math.Abs(got) > 4*0.05/math.Sqrt(float64(p.Whole))+0.002 {
			t.Errorf("mean over whole cycles is %g off", got)
		}
	}
	// A window longer than periodPoints, of a prime length.
	long := make([]float64, 50021)
	for i := range long {
		long[i] = 3 + 0.2*math.Sin(2*math.Pi*2.6*float64(i)/50021) + 0.05*rng.NormFloat64()
	}
	s, err := Summarise(even(long, 0.01))
	if err != nil || s.Period == nil || math.Abs(s.Period.Cycles-2.6) > 0.05 || !strings.Contains(strings.Join(s.Warnings, " "), "2.6 cycles") {
		t.Errorf("%+v %v %v", s.Period, s.Warnings, err)
	}
	// Bursts, on for some part of each cycle: what the mean is off by, known since the load is, is never more
	// than the bias; where the part is the unfinished one it is not much less.
	for _, on := range []float64{0.05, 0.1, 0.25, 0.5, 0.75, 0.9} {
		for cycles := 2.05; cycles < 9; cycles += 0.05 {
			const n = 2000
			burst := make([]float64, n)
			for i := range burst {
				if _, part := math.Modf((float64(i) + 0.5) / n * cycles); part < on {
					burst[i] = 1
				}
			}
			p, err := FindPeriod(even(burst, 0.01))
			if err != nil || math.Abs(p.Cycles-cycles) > 1 {
				continue // a harmonic stands out more
			}
			off := math.Abs(MomentsOf(burst).Mean() - on)
			if off > p.Bias+1.5e-3 { // a cycle has some hundred samples
				t.Errorf("on for %g of %g cycles: %g off, bias %g (%g cycles found)", on, cycles, off, p.Bias, p.Cycles)
			}
			if rest := cycles - math.Floor(cycles); math.Abs(rest-on) < 1e-9 && on > 0.2 && on < 0.8 && off < p.Bias/2 {
				t.Errorf("on for %g of %g cycles: %g off, bias %g", on, cycles, off, p.Bias)
			}
		}
	}
	found := 0
	for range 200 {
		if _, err := FindPeriod(even(ar1(rng, 256, 0), 1)); err == nil {
			found++
		}
	}
	if found > 2 { // Fisher's level is 0.001
		t.Errorf("white noise has a period in %d of 200", found)
	}
}

// TestFiniteWindow: the closed form of the mean over an unfinished cycle.
func TestFiniteWindow(t *testing.T) {
	var in struct{ A, B, F, Phi, T float64 }
	var want struct{ Mean float64 }
	analytic(t, "finite-window-ripple", &in, &want)
	const n = 200000
	v := make([]float64, n)
	for i := range v {
		v[i] = in.A + in.B*math.Sin(2*math.Pi*in.F*in.T*(float64(i)+0.5)/n+in.Phi)
	}
	if m := MomentsOf(v).Mean(); math.Abs(m-want.Mean) > 1e-9 {
		t.Errorf("%.10g, want %.10g", m, want.Mean)
	}
}
