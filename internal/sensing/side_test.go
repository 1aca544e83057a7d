package sensing

import (
	"math"
	"testing"

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
