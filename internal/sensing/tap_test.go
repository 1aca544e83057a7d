package sensing

import (
	"math"
	"strings"
	"testing"
	"time"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// The wire threaded both ways: every constant part is gone, whatever it is,
// and the gain error stays (algebra: (N·I + o) − (−N·I + o) = 2 N·I).
func TestThreadedBothWays(t *testing.T) {
	r := newRig(t)
	r.clamp.Ranges[0].Spec = spec(t, "±(2 % + 500 mA)", quantity.Ampere)
	r.meter.Ranges[0].Spec = spec(t, "±20 mV", quantity.Volt)
	r.rail.Taps[0].Turns = 2
	b := New(gum.New(), r.study)
	back := study.Reading{Entry: *entry(t, "-35.000000000 mV", quantity.Volt)}
	c, err := b.Current(r.place(), r.rail.Taps[0], &study.TapReading{
		Reading: study.Reading{Entry: *entry(t, "45.000000000 mV", quantity.Volt)}, Back: &back})
	if err != nil {
		t.Fatal(err)
	}
	got := result(t, b, c.Value)
	near(t, "I", got.Estimate, 10*0.040/2, 1e-12)
	near(t, "u", got.U, 0.2*0.02/math.Sqrt(3), 1e-6)
	if found(b, "no-zero") {
		t.Error("a zero is asked for where the wire was threaded both ways")
	}
}

func TestReversedTapTurnsTheSign(t *testing.T) {
	r := newRig(t)
	b, got := r.current(t, "-40.0 mV")
	near(t, "I", got.Estimate, -0.4, 1e-12)
	if !found(b, "current-negative") {
		t.Error("a negative current is not questioned")
	}
	r.rail.Taps[0].Reversed = true
	b, got = r.current(t, "-40.0 mV")
	near(t, "I", got.Estimate, 0.4, 1e-12)
	if found(b, "current-negative") {
		t.Error("a reversed tap is questioned")
	}
}

// Winding of 1.2 mΩ at 20 °C, read at 60 °C: +15.7 % (copper, 0.393 %/K).
func TestWindingWarms(t *testing.T) {
	r := newRig(t)
	r.rail.Taps[0] = &study.Tap{Kind: study.TapInductor, Turns: 1, WindingRef: 20,
		Winding:  entry(t, "60 ± 0.000001 °C", quantity.Celsius),
		Resistor: &study.ShuntValue{Resistance: *entry(t, "1.2 mΩ", quantity.Ohm)}}
	_, got := r.current(t, "6.0000000000 mV")
	near(t, "I", got.Estimate, 5/(1+0.00393*40), 1e-9)
	// The temperature's own uncertainty: dI/I = α/(1+α·40)·u(T).
	r.rail.Taps[0].Winding = entry(t, "60 ± 10 °C", quantity.Celsius)
	_, got = r.current(t, "6.0000000000 mV")
	near(t, "u", got.U, got.Estimate*0.00393/(1+0.00393*40)*10/math.Sqrt(3), 1e-6)
	// From another reference temperature the coefficient is smaller: R(60)/R(45).
	r.rail.Taps[0].WindingRef, r.rail.Taps[0].Winding = 45, entry(t, "60 ± 0.000001 °C", quantity.Celsius)
	_, got = r.current(t, "6.0000000000 mV")
	near(t, "I from 45 °C", got.Estimate, 5*(1+0.00393*25)/(1+0.00393*40), 1e-9)
}

func TestSeriesMeter(t *testing.T) {
	r := newRig(t)
	r.meter.Ranges = append(r.meter.Ranges, &study.Range{Name: "10 A", Measures: quantity.Ampere,
		To: entry(t, "10 A", quantity.Ampere), Digit: entry(t, "10 mA", quantity.Ampere),
		Spec: spec(t, "±(1 % + 3 digits)", quantity.Ampere)})
	r.rail.Taps[0] = &study.Tap{Kind: study.TapSeries, Instrument: "meter", Range: "10 A", Turns: 1}
	b, got := r.current(t, "2.00 A")
	near(t, "I", got.Estimate, 2, 1e-12)
	near(t, "u", got.U, math.Hypot(0.05/math.Sqrt(3), 0.01/math.Sqrt(12)), 1e-9)
	if found(b, "no-zero") {
		t.Error("a series meter is asked for a zero")
	}
}

// A calibration takes the place of the proportional part of the accuracy line
// and leaves its constant part.
func TestCalibrationReplacesTheProportionalPart(t *testing.T) {
	r := newRig(t)
	r.clamp.Ranges[0].Spec = spec(t, "±(3 % + 10 mA)", quantity.Ampere)
	r.clamp.Calibration = &study.Calibration{Factor: *entry(t, "1.004 ± 0.003 (k=2)", quantity.None), Drift: 0.002}
	_, got := r.current(t, "100.000000000 mV")
	near(t, "I", got.Estimate, 1.004, 1e-12)
	near(t, "u", got.U, math.Sqrt(math.Pow(0.0015, 2)+math.Pow(1.004*0.002, 2)/3+0.01*0.01/3), 1e-9)
}

// A part of the line that holds after zeroing stays, whether or not a zero was
// taken, and is shared by the readings of one mounting.
func TestPartThatHoldsAfterZeroing(t *testing.T) {
	r := newRig(t)
	r.clamp.Ranges[0].Spec = spec(t, "±(1 % + 6 mA after zero)", quantity.Ampere)
	r.sit.Steps[0].Zeros = []*study.Zero{{Instrument: "clamp", Range: "low", Reading: study.Reading{Entry: *entry(t, "0.00000000 mV", quantity.Volt)}}}
	b := New(gum.New(), r.study)
	read := func(text string) gum.Value {
		c, err := b.Current(r.place(), r.rail.Taps[0], &study.TapReading{Reading: study.Reading{Entry: *entry(t, text, quantity.Volt)}})
		if err != nil {
			t.Fatal(err)
		}
		return c.Value
	}
	one, two := read("100.000000000 mV"), read("150.000000000 mV")
	near(t, "u", result(t, b, one).U, math.Hypot(0.01, 0.006)/math.Sqrt(3), 1e-6)
	near(t, "u of the difference", result(t, b, two.Sub(one)).U, 0.5*0.01/math.Sqrt(3), 1e-6)
}

// E9 and E10 in currents: one clamp's gain is one input, zeros of their own
// are not, and the position belongs to the mounting.
func TestWhatReadingsShare(t *testing.T) {
	r := newRig(t)
	r.clamp.Ranges[0].Spec = spec(t, "±2 %", quantity.Ampere)
	r.clamp.Ranges[0].Position = 0.01
	other := &study.Rail{Name: "link", Nominal: r.rail.Nominal, Taps: r.rail.Taps}
	b := New(gum.New(), r.study)
	at := func(rail *study.Rail, sit *study.Sitting) gum.Value {
		p := r.place()
		p.Rail, p.Sitting = rail, sit
		c, err := b.Current(p, rail.Taps[0], &study.TapReading{Reading: study.Reading{Entry: *entry(t, "100.000000000 mV", quantity.Volt)}})
		if err != nil {
			t.Fatal(err)
		}
		return c.Value
	}
	next := *r.sit
	next.Name = "another evening"
	ug, up := 0.02/math.Sqrt(3), 0.01/math.Sqrt(3)
	core := at(r.rail, r.sit)
	for what, c := range map[string]struct {
		v    gum.Value
		want float64
	}{
		"same rail, same sitting":    {at(r.rail, r.sit), 1},
		"other rail, same sitting":   {at(other, r.sit), ug * ug / (ug*ug + up*up)},
		"same rail, another sitting": {at(r.rail, &next), ug * ug / (ug*ug + up*up)},
	} {
		got, err := b.G.Corr(core, c.v)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%s: correlation %.7f, want %.7f", what, got, c.want)
		}
	}
}

// Loop of 100 mm AWG 20: 3.33 mΩ at 20 °C (wire tables: 33.3 Ω/km).
func TestFeedSideVoltageLosesTheLoopsDrop(t *testing.T) {
	r := newRig(t)
	w, err := quantity.ParseWire("100 mm AWG 20")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "loop", LoopResistance(w), 3.33e-3, 2e-3)
	r.rail.Taps[0].Loop = &w
	b := New(gum.New(), r.study)
	c, err := b.Current(r.place(), r.rail.Taps[0], &study.TapReading{Reading: study.Reading{Entry: *entry(t, "500.00000 mV", quantity.Volt)}})
	if err != nil {
		t.Fatal(err)
	}
	v, err := b.Voltage(r.place(), &study.RailReading{Rail: "core", FeedSide: true,
		Voltage: &study.Reading{Entry: *entry(t, "1.00000000 V", quantity.Volt)}}, []Sensed{c})
	if err != nil {
		t.Fatal(err)
	}
	got := result(t, b, v.Value)
	near(t, "V", got.Estimate, 1-5*LoopResistance(w), 1e-12)
	near(t, "u", got.U, 5*LoopResistance(w)*loopTolerance/math.Sqrt(3), 1e-5)
}

func TestNominalVoltageStandsInAtACost(t *testing.T) {
	r := newRig(t)
	b := New(gum.New(), r.study)
	v, err := b.Voltage(r.place(), &study.RailReading{Rail: "core"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u", result(t, b, v.Value).U, 0.05/math.Sqrt(3), 1e-12)
	if !v.Stands || !found(b, "nominal-voltage") {
		t.Error("a nominal voltage is not flagged")
	}
}

func TestZerosByTimeAndAge(t *testing.T) {
	at := func(hm string) time.Time {
		v, err := time.Parse("15:04", hm)
		if err != nil {
			t.Fatal(err)
		}
		return v.AddDate(2026, 2, 13)
	}
	r := newRig(t)
	zero := func(hm, text string) *study.Step {
		return &study.Step{At: at(hm), Zeros: []*study.Zero{{Instrument: "clamp", Range: "low",
			Reading: study.Reading{Entry: *entry(t, text, quantity.Volt)}}}}
	}
	read := r.sit.Steps[0]
	sense := func(steps ...*study.Step) (*Bench, gum.Result) {
		r.sit.Steps = steps
		b := New(gum.New(), r.study)
		p := r.place()
		for i, s := range steps {
			if s == read {
				p.Step = i
			}
		}
		c, err := b.Current(p, r.rail.Taps[0], &study.TapReading{Reading: study.Reading{Entry: *entry(t, "100.000000 mV", quantity.Volt)}})
		if err != nil {
			t.Fatal(err)
		}
		return b, result(t, b, c.Value)
	}
	read.At = at("15:10")
	_, got := sense(zero("15:00", "0.000000 mV"), read, zero("15:40", "4.000000 mV"))
	near(t, "zero a quarter of the way", got.Estimate, 1-0.010, 1e-9)
	near(t, "drift is half the change", got.U, 0.020/math.Sqrt(3), 1e-6)

	r.clamp.Ranges[0].ZeroDrift = 0.006 / 3600
	b, got := sense(zero("14:10", "1.000000 mV"), read)
	near(t, "zero before only", got.Estimate, 1-0.010, 1e-9)
	near(t, "drift by the data sheet", got.U, 0.006/math.Sqrt(3), 1e-6)
	if !found(b, "zero-stale") {
		t.Error("a zero an hour old is not questioned")
	}
	r.clamp.Ranges[0].ZeroDrift = 0
	b, _ = sense(zero("15:00", "1.000000 mV"), read)
	if found(b, "zero-stale") || !found(b, "drift-unknown") {
		t.Errorf("findings %v: want drift-unknown only", b.Findings())
	}
}

func TestFindingsNameWhatToDo(t *testing.T) {
	r := newRig(t)
	r.clamp.Ranges[0].Spec = nil
	r.clamp.Calibration = &study.Calibration{Factor: *entry(t, "1.0 ± 0.1", quantity.None),
		Due: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)}
	r.rail.Nominal = *entry(t, "0.9 V ±3 %", quantity.Volt)
	b := New(gum.New(), r.study)
	for _, text := range []string{"3.1 V", "1.0 mV", "11 V"} {
		if _, err := b.Current(r.place(), r.rail.Taps[0], &study.TapReading{Reading: study.Reading{Entry: *entry(t, text, quantity.Volt)}}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.Voltage(r.place(), &study.RailReading{Rail: "core", Voltage: &study.Reading{Entry: *entry(t, "1.0 V", quantity.Volt)}}, nil); err != nil {
		t.Fatal(err)
	}
	for _, code := range []string{"over-range", "low-in-range", "calibration-overdue", "voltage-outside", "no-zero", "no-accuracy-line"} {
		if !found(b, code) {
			t.Errorf("no finding %q", code)
		}
	}
	for _, f := range b.Findings() {
		if !strings.HasSuffix(f.Text.String(), ".") || !strings.HasSuffix(f.Do.String(), ".") || f.Board == "" || f.Rail == "" {
			t.Errorf("finding %q is not complete: %+v", f.Code, f)
		}
	}
}

func TestWhereTheInductorIsNotTheOutput(t *testing.T) {
	for conv, code := range map[study.Converter]string{study.Boost: "inductor-not-output", "": "converter-not-said", study.Buck: ""} {
		r := newRig(t)
		r.rail.Feed, r.rail.Converter = study.InductorLeg, conv
		b := New(gum.New(), r.study)
		b.CheckFeed(r.place())
		if code == "" && len(b.Findings()) > 0 || code != "" && !found(b, code) {
			t.Errorf("converter %q: findings %v, want %q", conv, b.Findings(), code)
		}
	}
}

func TestMeterMustBeKnown(t *testing.T) {
	r := newRig(t)
	r.sit.CurrentMeter = ""
	b := New(gum.New(), r.study)
	_, err := b.Current(r.place(), r.rail.Taps[0], &study.TapReading{Reading: study.Reading{Entry: *entry(t, "1 mV", quantity.Volt)}})
	if err == nil || !strings.Contains(err.Error(), "no meter is named") {
		t.Errorf("error %v", err)
	}
}
