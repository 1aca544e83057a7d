package sensing

import (
	"math"
	"testing"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// An accuracy line allows p|y| + a whatever the sign of the reading
// (JCGM 100 4.3.7 makes it (p|y| + a)/√3), here 0.3 % of 12.02 V and 4 digits
// of 10 mV, with the resolution of the last digit.
func TestAccuracyLineOfANegativeReading(t *testing.T) {
	r := newRig(t)
	rng := r.meter.Ranges[0]
	rng.To, rng.Digit = entry(t, "50 V", rng.Measures), entry(t, "10 mV", rng.Measures)
	rng.Spec = spec(t, "±(0.3 % + 4 digits)", rng.Measures)
	r.rail.Nominal = *entry(t, "-12 V ±5 %", rng.Measures)
	want := math.Hypot(0.003*12.02+0.04, 0.005) / math.Sqrt(3)
	near(t, "u(+12.02 V)", r.voltage(t, "12.02 V").U, want, 1e-12)
	near(t, "u(-12.02 V)", r.voltage(t, "-12.02 V").U, want, 1e-12)
}

// A clamp that sits the other way round shows the same current with the same
// uncertainty, without a zero and with one.
func TestReversedClampIsAsUncertain(t *testing.T) {
	for _, zero := range []string{"", "0.4 mV"} {
		r := newRig(t)
		r.clamp.Ranges[0].Spec = spec(t, "±(1.5 % + 10 mA)", r.clamp.Ranges[0].Measures)
		r.meter.Ranges[0].Spec = spec(t, "±(0.5 % + 0.2 mV)", r.meter.Ranges[0].Measures)
		if zero != "" {
			r.sit.Steps = append([]*study.Step{{Zeros: []*study.Zero{{Instrument: "clamp", Range: "low",
				Reading: study.Reading{Entry: *entry(t, zero, r.meter.Ranges[0].Measures)}}}}}, r.sit.Steps...)
		}
		up, down := "50.4 mV", "-50.4 mV"
		if zero != "" { // 50 mV lie between the zero and either reading
			down = "-49.6 mV"
		}
		_, straight := r.current(t, up)
		r.rail.Taps[0].Reversed = true
		_, turned := r.current(t, down)
		near(t, "current", turned.Estimate, straight.Estimate, 1e-12)
		near(t, "u", turned.U, straight.U, 1e-3)
	}
}

// A series meter's constant part after zeroing stays when the zero is taken
// off: ±5 mA is 5 mA/√3 beside 1 % of 50 mA.
func TestSeriesMeterKeepsWhatHoldsAfterZeroing(t *testing.T) {
	r := newRig(t)
	r.meter.Ranges = append(r.meter.Ranges, &study.Range{Name: "400 mA", Measures: quantity.Ampere,
		To: entry(t, "400 mA", quantity.Ampere), Spec: spec(t, "±(1 % + 5 mA after zero)", quantity.Ampere)})
	r.rail.Taps[0] = &study.Tap{Kind: study.TapSeries, Instrument: "meter", Range: "400 mA", Turns: 1}
	_, got := r.current(t, "50.0000000 mA")
	near(t, "u", got.U, math.Hypot(0.01*0.05, 0.005)/math.Sqrt(3), 1e-6)
}

// A meter whose line holds after zeroing keeps it for a voltage too.
func TestVoltageKeepsWhatHoldsAfterZeroing(t *testing.T) {
	r := newRig(t)
	r.meter.Ranges[0].Spec = spec(t, "±(0.5 % + 3 mV after zero)", quantity.Volt)
	near(t, "u", r.voltage(t, "1.00000000 V").U, math.Hypot(0.005, 0.003)/math.Sqrt(3), 1e-6)
}

// A calibration found the factor at its own temperature: 0.1 % per kelvin for
// 12 K outside the window stays beside the factor's uncertainty.
func TestCalibrationKeepsTheTemperaturePart(t *testing.T) {
	r := newRig(t)
	rng := r.clamp.Ranges[0]
	rng.Spec = spec(t, "±(3 %)", quantity.Ampere)
	tc, err := quantity.ParseTempCo("±(0.1 %) per K outside 18..28 °C", quantity.Ampere)
	if err != nil {
		t.Fatal(err)
	}
	rng.TempCo = &tc
	r.sit.Room = entry(t, "40 °C", quantity.Celsius)
	r.clamp.Calibration = &study.Calibration{Factor: *entry(t, "1.000 ± 0.003 (k=2)", quantity.None), Drift: 0.002}
	_, got := r.current(t, "100.000000000 mV")
	near(t, "u", got.U, math.Sqrt(math.Pow(0.0015, 2)+math.Pow(0.002, 2)/3+math.Pow(0.012, 2)/3), 1e-6)
}

// What lies below zero by less than its error is no reversed clamp.
func TestNoiseBelowZeroIsNotAReversedClamp(t *testing.T) {
	r := newRig(t)
	r.clamp.Ranges[0].Spec = spec(t, "±(1 % + 10 mA)", quantity.Ampere)
	if b, _ := r.current(t, "-0.5 mV"); found(b, "current-negative") {
		t.Error("-5 mA by a clamp of ±10 mA is called negative")
	}
	if b, _ := r.current(t, "-20 mV"); !found(b, "current-negative") {
		t.Error("-200 mA by a clamp of ±10 mA is not called negative")
	}
}

// A winding read hot and taken as cold is 0.39 % wrong for each kelvin.
func TestWindingWithoutTemperatureIsQuestioned(t *testing.T) {
	r := newRig(t)
	r.rail.Converter = study.Buck
	r.rail.Taps[0] = &study.Tap{Kind: study.TapInductor, Turns: 1, WindingRef: 20,
		Resistor: &study.ShuntValue{Resistance: *entry(t, "1.2 mΩ ±8 %", quantity.Ohm)}}
	for _, known := range []bool{false, true} {
		if known {
			r.rail.Taps[0].Winding = entry(t, "60 ± 10 °C", quantity.Celsius)
		}
		b := New(gum.New(), r.study)
		b.CheckFeed(r.place())
		if found(b, "winding-unknown") == known {
			t.Errorf("temperature known %v: findings %v", known, b.Findings())
		}
	}
}

// Without a stated tolerance a slipped range or turned leads are still seen.
func TestVoltageFarFromNominalIsQuestioned(t *testing.T) {
	for _, c := range []struct {
		nominal, read string
		want          bool
	}{
		{"1.8 V", "1.75 V", false}, {"1.8 V", "-1.80 V", true}, {"1.8 V", "18.0 V", true},
		{"-12 V", "-11.9 V", false}, {"-12 V", "12.0 V", true},
	} {
		r := newRig(t)
		r.rail.Nominal = *entry(t, c.nominal, quantity.Volt)
		b := New(gum.New(), r.study)
		if _, err := b.Voltage(r.place(), &study.RailReading{Rail: "core", Voltage: &study.Reading{Entry: *entry(t, c.read, quantity.Volt)}}, nil); err != nil {
			t.Fatal(err)
		}
		if found(b, "voltage-outside") != c.want {
			t.Errorf("%s on a rail of %s: questioned %v", c.read, c.nominal, !c.want)
		}
	}
}
