package sensing

import (
	"encoding/json"
	"math"
	"os"
	"testing"
	"time"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// rig is the smallest study that reads one rail: a clamp or shunt, a meter and
// a sitting, to which the tests add what they are about.
type rig struct {
	study *study.Study
	board *study.Board
	rail  *study.Rail
	sit   *study.Sitting
	clamp *study.Instrument
	meter *study.Instrument
}

func newRig(t *testing.T) *rig {
	t.Helper()
	r := &rig{
		clamp: &study.Instrument{Name: "clamp", Kind: study.Clamp, Ranges: []*study.Range{{
			Name: "low", Scale: 10, Measures: quantity.Ampere, To: entry(t, "20 A", quantity.Ampere),
		}}},
		meter: &study.Instrument{Name: "meter", Kind: study.Meter, Ranges: []*study.Range{{
			Name: "all", Measures: quantity.Volt, To: entry(t, "10 V", quantity.Volt),
		}}},
		rail: &study.Rail{Name: "core", Nominal: *entry(t, "1 V ±5 %", quantity.Volt), Feed: study.Bead,
			Taps: []*study.Tap{{Kind: study.TapClamp, Instrument: "clamp", Range: "low", Turns: 1}}},
	}
	r.board = &study.Board{Name: "Otter", Rails: []*study.Rail{r.rail}}
	r.sit = &study.Sitting{Name: "evening", Board: "Otter", On: time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC),
		VoltageMeter: "meter", CurrentMeter: "meter",
		Steps: []*study.Step{{State: "bare", Rails: []*study.RailReading{{Rail: "core"}}}}}
	r.study = &study.Study{Question: "q", Level: 0.95, Boards: []*study.Board{r.board},
		Instruments: []*study.Instrument{r.clamp, r.meter}, Sittings: []*study.Sitting{r.sit},
		States: []*study.State{{Name: "bare"}}}
	return r
}

func entry(t testing.TB, text string, u quantity.Unit) *quantity.Entry {
	t.Helper()
	e, err := quantity.Parse(text, u, "")
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return &e
}

func spec(t *testing.T, text string, u quantity.Unit) *quantity.Spec {
	t.Helper()
	s, err := quantity.ParseSpec(text, u)
	if err != nil {
		t.Fatal(err)
	}
	return &s
}

func (r *rig) place() Place {
	return Place{Sitting: r.sit, Board: r.board, Rail: r.rail, State: "bare", Step: len(r.sit.Steps) - 1}
}

// current senses the rig's tap with a reading written as text.
func (r *rig) current(t *testing.T, text string) (*Bench, gum.Result) {
	t.Helper()
	b := New(gum.New(), r.study)
	u := quantity.Volt
	if r.rail.Taps[0].Kind == study.TapSeries {
		u = quantity.Ampere
	}
	c, err := b.Current(r.place(), r.rail.Taps[0], &study.TapReading{Reading: study.Reading{Entry: *entry(t, text, u)}})
	if err != nil {
		t.Fatal(err)
	}
	return b, result(t, b, c.Value)
}

func (r *rig) voltage(t *testing.T, text string) gum.Result {
	t.Helper()
	b := New(gum.New(), r.study)
	v, err := b.Voltage(r.place(), &study.RailReading{Rail: "core", Voltage: &study.Reading{Entry: *entry(t, text, quantity.Volt)}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return result(t, b, v.Value)
}

func result(t *testing.T, b *Bench, v gum.Value) gum.Result {
	t.Helper()
	res, err := b.G.Result(v)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// expected reads a case of testdata/instrument-errors.json.
func expected(t *testing.T, id string) (map[string]float64, float64) {
	t.Helper()
	raw, err := os.ReadFile("testdata/instrument-errors.json")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Cases []struct {
			ID      string
			Results map[string]float64
			RelTol  float64 `json:"rel_tol"`
		}
	}
	if err := json.Unmarshal(raw, &doc); err != nil {
		t.Fatal(err)
	}
	for _, c := range doc.Cases {
		if c.ID == id {
			return c.Results, c.RelTol
		}
	}
	t.Fatalf("no case %s", id)
	return nil, 0
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if math.Abs(got-want) > rel*math.Abs(want) || math.IsNaN(got) {
		t.Errorf("%s = %.8g, want %.8g (within %g)", what, got, want, rel)
	}
}

// Readings below are written with more digits than a meter shows where a case
// leaves resolution out of account.

func TestVoltageSpecCases(t *testing.T) {
	for _, c := range []struct {
		id, reading, to, spec, digit string
	}{
		{"E1", "1.0487000000 V", "10 V", "±(0.0035 % of reading + 0.0005 % of range)", ""},
		{"E1b", "1.0487000000 V", "1 V", "±(0.0040 % of reading + 0.0007 % of range)", ""},
		{"E12", "0.0000000000 V", "1 V", "", ""},
	} {
		t.Run(c.id, func(t *testing.T) {
			want, rel := expected(t, c.id)
			if c.id == "E12" {
				for text, key := range map[string]string{"±0.1 V (95 %)": "u_95", "±0.1 V (99 %)": "u_99", "±0.1 V": "u_limit"} {
					r := newRig(t)
					r.meter.Ranges[0].Spec = spec(t, text, quantity.Volt)
					near(t, key, r.voltage(t, c.reading).U, want[key], rel)
				}
				return
			}
			r := newRig(t)
			r.meter.Ranges[0].To = entry(t, c.to, quantity.Volt)
			r.meter.Ranges[0].Spec = spec(t, c.spec, quantity.Volt)
			near(t, "u", r.voltage(t, c.reading).U, want["u_V"], rel)
			lim, ok := LimitsOf(r.meter.Ranges[0], math.NaN())
			if !ok {
				t.Fatal("no limits")
			}
			near(t, "half-width", lim.HalfWidth(1.0487), want["half_width_V"], rel)
		})
	}
}

// E2, E2b: counts depend on the range. The cases leave out the resolution that
// a single reading has besides, so it is added here in closed form.
func TestCountsDependOnTheRange(t *testing.T) {
	for _, c := range []struct {
		id, reading, digit string
		count              float64
	}{{"E2", "1.052 V", "1 mV", 0.001}, {"E2b", "1.05 V", "10 mV", 0.01}} {
		want, rel := expected(t, c.id)
		r := newRig(t)
		r.meter.Ranges[0].Digit = entry(t, c.digit, quantity.Volt)
		r.meter.Ranges[0].Spec = spec(t, "±(0.5 % of reading + 2 counts)", quantity.Volt)
		near(t, c.id, r.voltage(t, c.reading).U, math.Hypot(want["u_V"], c.count/math.Sqrt(12)), rel)
		lim, _ := LimitsOf(r.meter.Ranges[0], 23)
		near(t, c.id+" half-width", lim.HalfWidth(entry(t, c.reading, quantity.Volt).Value()), want["half_width_V"], rel)
	}
}

func e3Meter(t *testing.T, r *rig) {
	t.Helper()
	rng := r.meter.Ranges[0]
	rng.To = entry(t, "0.1 V", quantity.Volt)
	rng.Spec = spec(t, "±(0.0050 % of reading + 0.0035 % of range)", quantity.Volt)
	tc, err := quantity.ParseTempCo("±(0.0005 % of reading + 0.0005 % of range) per K outside 18..28 °C", quantity.Volt)
	if err != nil {
		t.Fatal(err)
	}
	rng.TempCo = &tc
	r.sit.Room = entry(t, "33 °C", quantity.Celsius)
}

func TestTemperatureOutsideTheWindow(t *testing.T) {
	want, rel := expected(t, "E3")
	r := newRig(t)
	e3Meter(t, r)
	near(t, "u", r.voltage(t, "35.200000000 mV").U, want["u_V"], rel)
	r.sit.Room = entry(t, "20 °C", quantity.Celsius)
	near(t, "u inside the window", r.voltage(t, "35.200000000 mV").U, want["a0_V"]/math.Sqrt(3), rel)
}

func TestClampWithoutZero(t *testing.T) {
	want, rel := expected(t, "E4")
	r := newRig(t)
	e3Meter(t, r)
	r.clamp.Ranges[0].Spec = spec(t, "±(2 % + 5 mA)", quantity.Ampere)
	b, got := r.current(t, "35.200000000 mV")
	near(t, "I", got.Estimate, want["I_A"], rel)
	near(t, "u", got.U, want["u_A"], rel)
	if !found(b, "no-zero") {
		t.Error("a reading without a zero is not questioned")
	}
}

func TestTurnsShrinkTheOffset(t *testing.T) {
	want, rel := expected(t, "E4b")
	for turns, key := range map[int]string{1: "u_N1_A", 10: "u_N10_A"} {
		r := newRig(t)
		r.clamp.Ranges[0].Spec = spec(t, "±(2 % + 5 mA)", quantity.Ampere)
		r.rail.Taps[0].Turns = turns
		text := map[int]string{1: "2.0000000 mV", 10: "20.0000000 mV"}[turns]
		_, got := r.current(t, text)
		near(t, "I", got.Estimate, 0.02, 1e-12)
		near(t, key, got.U, want[key], rel)
	}
}

func TestZeroReadZero(t *testing.T) {
	want, rel := expected(t, "E5")
	r := newRig(t)
	r.clamp.Ranges[0].Scale = 1
	r.clamp.Ranges[0].Spec = spec(t, "±(2 % + 50 mA)", quantity.Ampere) // the offset must cancel
	r.meter.Ranges[0].Digit = entry(t, "0.1 mV", quantity.Volt)
	r.meter.Ranges[0].Spec = spec(t, "±3 mV", quantity.Volt) // so must the meter's
	zero := func(text string) *study.Step {
		return &study.Step{Zeros: []*study.Zero{{Instrument: "clamp", Range: "low",
			Reading: study.Reading{Entry: *entry(t, text, quantity.Volt)}}}}
	}
	r.sit.Steps = []*study.Step{zero("3.1 mV"), r.sit.Steps[0], zero("3.7 mV")}
	b := New(gum.New(), r.study)
	p := r.place()
	p.Step = 1
	c, err := b.Current(p, r.rail.Taps[0], &study.TapReading{Reading: study.Reading{Entry: *entry(t, "355.2 mV", quantity.Volt)}})
	if err != nil {
		t.Fatal(err)
	}
	got := result(t, b, c.Value)
	near(t, "I", got.Estimate, want["I_A"], rel)
	near(t, "u", got.U, want["u_A"], rel)
}

func TestShuntWithHeatingAndEMF(t *testing.T) {
	want, rel := expected(t, "E7")
	r := newRig(t)
	r.meter.Ranges[0].To = entry(t, "0.1 V", quantity.Volt)
	r.meter.Ranges[0].Spec = spec(t, "±(0.0050 % of reading + 0.0035 % of range)", quantity.Volt)
	r.rail.Taps[0] = &study.Tap{Kind: study.TapShunt, Turns: 1, Resistor: &study.ShuntValue{
		Resistance: *entry(t, "10 mΩ ±1 %", quantity.Ohm), TempCo: 75e-6, Heating: 15, EMF: 2e-6}}
	_, got := r.current(t, "12.400000000 mV")
	near(t, "I", got.Estimate, want["I_A"], rel)
	near(t, "u", got.U, want["u_A"], rel)
}

func TestResolutionOnly(t *testing.T) {
	want, rel := expected(t, "E6")
	r := newRig(t)
	r.meter.Ranges[0].Digit = entry(t, "1 mV", quantity.Volt)
	near(t, "one reading", r.voltage(t, "1.052 V").U, want["u_single"], rel)
	// Digits that were not written are not known.
	near(t, "one digit fewer written", r.voltage(t, "1.05 V").U, 10*want["u_single"], rel)
}

func TestRepeatsAndASpecHaveEffectiveDOF(t *testing.T) {
	want, rel := expected(t, "E11")
	r := newRig(t)
	r.clamp.Ranges[0].Scale = 1
	r.meter.Ranges[0].Spec = spec(t, "±0.34641016 mV", quantity.Volt) // u = 0.2 mV
	// More digits than a meter shows, so that resolution stays out of it.
	_, got := r.current(t, "0.35210000 0.35190000 0.35300000 0.35240000 0.35160000 0.35270000 0.35220000 0.35180000 V")
	near(t, "mean", got.Estimate, want["mean_A"], rel)
	near(t, "u", got.U, want["u_c_A"], rel)
	near(t, "nu_eff", got.DOF, want["nu_eff"], rel)
}

func found(b *Bench, code string) bool {
	for _, f := range b.Findings() {
		if f.Code == code {
			return true
		}
	}
	return false
}
