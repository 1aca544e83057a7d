package study_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"railtally/internal/quantity"
	. "railtally/internal/study"
)

func entry(t *testing.T, text string, u quantity.Unit) quantity.Entry {
	t.Helper()
	e, err := quantity.Parse(text, u, "")
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// sound returns a small study without a fault.
func sound(t *testing.T) *Study {
	q := func(text string, u quantity.Unit) *quantity.Entry { e := entry(t, text, u); return &e }
	volts := func(text string) Reading { return Reading{Entry: entry(t, text, quantity.Volt)} }
	s := &Study{
		Question: "Is it warm?", Level: DefaultLevel,
		Instruments: []*Instrument{
			{Name: "clamp", Kind: Clamp, Ranges: []*Range{
				{Name: "low", Scale: 10, Measures: quantity.Ampere, To: q("20 A", quantity.Ampere)},
				{Name: "high", Scale: 100, Measures: quantity.Ampere, To: q("100 A", quantity.Ampere)},
			}},
			{Name: "meter", Kind: Meter, Ranges: []*Range{
				{Name: "5 V", Measures: quantity.Volt, To: q("5 V", quantity.Volt), Digit: q("1 mV", quantity.Volt)},
				{Name: "10 A", Measures: quantity.Ampere, To: q("10 A", quantity.Ampere), Digit: q("10 mA", quantity.Ampere)},
			}},
			{Name: "probe", Kind: Thermometer, Ranges: []*Range{{Measures: quantity.Celsius, To: q("200 °C", quantity.Celsius)}}},
		},
		Boards: []*Board{{Name: "Otter", Rails: []*Rail{
			{Name: "core", Nominal: entry(t, "1 V", quantity.Volt), Taps: []*Tap{
				{Name: "left", Kind: TapClamp, Instrument: "clamp", Range: "low", Turns: 1},
				{Name: "right", Kind: TapClamp, Instrument: "clamp", Range: "low", Turns: 2},
			}},
			{Name: "io", Nominal: entry(t, "3.3 V", quantity.Volt), Taps: []*Tap{{Kind: TapSense, Turns: 1,
				Resistor: &ShuntValue{Resistance: entry(t, "20 mΩ ±1 %", quantity.Ohm)}}}},
			{Name: "shut", Nominal: entry(t, "2.5 V", quantity.Volt), Bound: q("0..5 mA", quantity.Ampere)},
		}}},
		Factors:     []*Factor{{Name: "load", Levels: []string{"none", "copy"}}},
		States:      []*State{{Name: "idle", Levels: []Level{{"load", "none"}}}, {Name: "busy", Levels: []Level{{"load", "copy"}}}},
		Comparisons: []Comparison{{First: StateOn{"Otter", "busy"}, Second: StateOn{"Otter", "idle"}}},
		Sittings: []*Sitting{{
			Board: "Otter", On: time.Date(2026, 3, 14, 15, 20, 0, 0, time.UTC), Clock: true,
			VoltageMeter: "meter", CurrentMeter: "meter", Thermometer: "probe",
			Steps: []*Step{
				{Zeros: []*Zero{{Instrument: "clamp", Range: "low", Reading: volts("0.1 mV")}, {Rail: "core", Tap: "left", Reading: volts("0.2 mV")}}},
				{State: "idle", At: time.Date(2026, 3, 14, 15, 30, 0, 0, time.UTC), Rails: []*RailReading{
					{Rail: "core", Current: []*TapReading{{Tap: "left", Reading: volts("1 mV")}, {Tap: "right", Reading: volts("1 mV")}}},
					{Rail: "io", Current: []*TapReading{{Reading: volts("1 mV")}}},
				}},
			},
		}},
	}
	s.NameSittings()
	return s
}

// TestCheckSound: the study that every case below begins from has no fault.
func TestCheckSound(t *testing.T) {
	if f := Check(sound(t)); f != nil {
		t.Fatal(f)
	}
}

// TestCheck breaks a sound study in one way at a time: what only a program can
// do wrong, or what a file shows elsewhere (package studyfile has a file for
// every fault that a person can write).
func TestCheck(t *testing.T) {
	q := func(text string, u quantity.Unit) *quantity.Entry { e := entry(t, text, u); return &e }
	tap := func(s *Study) *Tap { return s.Boards[0].Rails[0].Taps[0] }
	step := func(s *Study) *Step { return s.Sittings[0].Steps[1] }
	for _, c := range []struct {
		name  string
		spoil func(s *Study)
		want  []string // each fault, in order: path, then part of the message
	}{
		{"no question", func(s *Study) { s.Question = " " }, []string{"study: the study asks nothing"}},
		{"level", func(s *Study) { s.Level = 0.99991 }, []string{"level: a coverage probability of 99.991 %"}},
		{"level not a number", func(s *Study) { s.Level = math.NaN() }, []string{"level: a coverage probability"}},
		{"limit of another unit", func(s *Study) { s.EqualWithin = q("5 V", quantity.Volt) }, []string{"equal within: 5 V is a voltage; a power is wanted here"}},
		{"age of nothing", func(s *Study) { s.StaleZero = &quantity.Entry{Unit: quantity.Second} }, []string{"stale zero: no value"}},
		{"board twice", func(s *Study) { s.Boards = append(s.Boards, s.Boards[0]) }, []string{`boards › Otter: the board "Otter" comes twice`}},
		{"name with a line end", func(s *Study) { s.Boards[0].Rails[2].Name = "a\nb" }, []string{"holds a control character"}},
		{"name too long", func(s *Study) { s.Boards[0].Rails[2].Name = strings.Repeat("é", 101) }, []string{"is 101 characters long"}},
		{"value not finite", func(s *Study) { s.Boards[0].Rails[0].Nominal.Values = []float64{math.Inf(1)} },
			[]string{"boards › Otter › rails › core › nominal: the value is not finite"}},
		{"negative tolerance", func(s *Study) { s.Boards[0].Rails[0].Nominal.Tol = &quantity.Tolerance{Minus: -1} },
			[]string{"boards › Otter › rails › core › nominal: the tolerance is negative"}},
		{"band without order", func(s *Study) { s.Boards[0].Rails[2].Bound.Values = []float64{2, 1} }, []string{"shut › not opened: the band has no order"}},
		{"no kind", func(s *Study) { s.Instruments[2].Kind = "" }, []string{`instruments › probe › kind: "" is no kind of instrument`}},
		{"shunt without a value", func(s *Study) { s.Instruments = append(s.Instruments, &Instrument{Name: "sh", Kind: Shunt}) },
			[]string{"instruments › sh › resistance: the shunt has no resistance"}},
		{"shunt with ranges", func(s *Study) {
			s.Instruments[2].Kind, s.Instruments[2].Shunt = Shunt, &ShuntValue{Resistance: entry(t, "1 Ω ±1 %", quantity.Ohm)}
		}, []string{"instruments › probe › ranges: a shunt has no ranges"}},
		{"meter with a resistance", func(s *Study) { s.Instruments[1].Shunt = &ShuntValue{} }, []string{"only a shunt has a resistance"}},
		{"negative position", func(s *Study) { s.Instruments[0].Ranges[0].Position = -0.1 }, []string{"low › position: a position error of -10 %"}},
		{"drift not a number", func(s *Study) { s.Instruments[0].Ranges[0].ZeroDrift = math.NaN() }, []string{"low › zero drift: the zero drift is negative"}},
		{"clamp in volts", func(s *Study) { s.Instruments[0].Ranges[1].Measures = quantity.Volt }, []string{"high: a clamp cannot show a voltage"}},
		{"spec of another unit", func(s *Study) { s.Instruments[1].Ranges[0].Spec = &quantity.Spec{Unit: quantity.Ampere} },
			[]string{"5 V › spec: the specification is for a current, the range shows a voltage"}},
		{"spec below zero", func(s *Study) { s.Instruments[1].Ranges[0].Spec = &quantity.Spec{Unit: quantity.Volt, Fixed: -1} },
			[]string{"5 V › spec: a part of the specification is negative"}},
		{"window without order", func(s *Study) {
			s.Instruments[1].Ranges[0].TempCo = &quantity.TempCo{Spec: quantity.Spec{Unit: quantity.Volt}, Lo: 28, Hi: 18}
		}, []string{"5 V › temperature: the window of temperature has no order"}},
		{"second calibration of an only range", func(s *Study) {
			s.Instruments[2].Ranges[0].Calibration = &Calibration{On: time.Unix(0, 0), Factor: entry(t, "1 ± 0.1", quantity.None)}
		}, []string{"instruments › probe › calibrated: an only range without a name has a calibration of its own"}},
		{"calibrated never", func(s *Study) {
			s.Instruments[1].Calibration = &Calibration{Factor: entry(t, "1 ± 0.1", quantity.None), Drift: -1}
		},
			[]string{"calibrated › on: the day of the calibration is missing", "calibrated › drift: a drift of -100 %"}},
		{"tap of no kind", func(s *Study) { tap(s).Kind = "magic" }, []string{`core › taps › left: "magic" is no kind of tap`}},
		{"turns", func(s *Study) { tap(s).Turns = 0 }, []string{"core › taps › left: 0 turns"}},
		{"no such range", func(s *Study) { tap(s).Range = "lo" }, []string{`core › taps › left: clamp has no range called "lo"`}},
		{"which range", func(s *Study) { tap(s).Range = "" }, []string{"core › taps › left: which range of clamp?"}},
		{"resistor and clamp", func(s *Study) { tap(s).Resistor = &ShuntValue{} }, []string{"core › taps › left: the tap has a resistance beside its instrument clamp"}},
		{"sense resistor of a name", func(s *Study) { s.Boards[0].Rails[1].Taps[0].Instrument = "clamp" },
			[]string{"io › tap: the sense resistor is no named instrument", "io › tap: the tap has a resistance beside"}},
		{"no resistor", func(s *Study) { s.Boards[0].Rails[1].Taps[0].Resistor = nil }, []string{"io › tap: the sense resistor has no resistance"}},
		{"range of no meter", func(s *Study) { tap(s).MeterRange = "5 V" }, []string{"left › read by: the range 5 V is of no meter"}},
		{"empty loop", func(s *Study) { tap(s).Loop = &quantity.Wire{} }, []string{"left › loop: the loop has neither a length nor a resistance"}},
		{"phases without names", func(s *Study) { tap(s).Name = "" },
			[]string{"core › taps › : the phase has no name", "zero › core/left: core has no phase", "core › i › left: core has no phase"}},
		{"series meter in volts", func(s *Study) {
			*tap(s) = Tap{Name: "left", Kind: TapSeries, Instrument: "meter", Range: "5 V", Turns: 1}
		},
			[]string{"left: the range 5 V of meter does not show amperes", "zero › core/left: meter is in series and shows amperes", "i › left: meter is in series and shows amperes"}},
		{"feed", func(s *Study) { s.Boards[0].Rails[0].Feed = "hope" }, []string{`core › feed: no feed called "hope"`}},
		{"converter", func(s *Study) { s.Boards[0].Rails[0].Converter = "bukc" }, []string{`core › converter: no converter called "bukc"`}},
		{"through nothing", func(s *Study) { s.Boards[0].Rails[1].From = &Supply{Rail: "core"} }, []string{"io › hangs on › through: nothing says through what"}},
		{"factor set twice", func(s *Study) { s.States[0].Levels = append(s.States[0].Levels, Level{"load", "copy"}) }, []string{"states › idle › load: the state sets load twice"}},
		{"compared with nothing", func(s *Study) { s.Comparisons[0].Second = StateOn{} },
			[]string{`compare › 1 › against: no board called ""`, `compare › 1 › against: no state called ""`}},
		{"sittings alike", func(s *Study) { s.Sittings = append(s.Sittings, s.Sittings[0]) }, []string{"sittings › 2 › name: sitting 1 is called"}},
		{"no day", func(s *Study) { s.Sittings[0].On = time.Time{} }, []string{"sittings › 1 › on: the day of the sitting is missing"}},
		{"step too early", func(s *Study) { step(s).At = s.Sittings[0].On.Add(-time.Second) }, []string{"steps › 2 › at: the step is before 2026-03-14 15:20:00"}},
		{"rail twice", func(s *Study) { step(s).Rails = append(step(s).Rails, step(s).Rails[1]) }, []string{"steps › 2 › io: io is read twice in one step"}},
		{"tap twice", func(s *Study) { r := step(s).Rails[0]; r.Current = append(r.Current, r.Current[0]) }, []string{"core › i › left: the tap is read twice"}},
		{"zero twice", func(s *Study) { st := s.Sittings[0].Steps[0]; st.Zeros = append(st.Zeros, st.Zeros[0]) }, []string{"zero › clamp low: clamp low is zeroed twice"}},
		{"zero of two things", func(s *Study) { s.Sittings[0].Steps[0].Zeros[0].Rail = "core" }, []string{"the zero is for a rail and for an instrument"}},
		{"zero of a thermometer", func(s *Study) { *s.Sittings[0].Steps[0].Zeros[0] = Zero{Instrument: "probe"} }, []string{"zero › probe: a thermometer has no zero of a current"}},
		{"temperature in volts", func(s *Study) {
			step(s).Temperatures = []*Named{{Name: "sink", Reading: Reading{Entry: entry(t, "1 V", quantity.Volt)}}}
		},
			[]string{"temperatures › sink: 1 V is a voltage; a temperature is wanted here"}},
		{"throughput below zero", func(s *Study) { step(s).Throughput = q("-1 GB/s", quantity.BytePerSecond) }, []string{"throughput: -1 GB/s is below zero"}},
		{"current of another unit", func(s *Study) { step(s).Rails[1].Current[0].Reading.Entry = entry(t, "1 W", quantity.Watt) },
			[]string{"io › i: 1 W is a power; a voltage is wanted here"}},
		{"clamp missing", func(s *Study) { tap(s).Instrument = "clmap" }, []string{`core › taps › left: no instrument called "clmap"`}},
		{"clamp is a meter", func(s *Study) { tap(s).Instrument = "meter" }, []string{"core › taps › left: meter is a meter, and a clamp is wanted here"}},
		{"shunt with a range", func(s *Study) {
			s.Instruments = append(s.Instruments, &Instrument{Name: "sh", Kind: Shunt, Shunt: &ShuntValue{Resistance: entry(t, "1 Ω ±1 %", quantity.Ohm), Heating: -1}})
			*tap(s) = Tap{Name: "left", Kind: TapShunt, Instrument: "sh", Range: "low", Turns: 1}
		}, []string{"instruments › sh › heating: the heating is negative", "core › taps › left: a shunt has no range"}},
		{"meter with a scale", func(s *Study) { s.Instruments[1].Ranges[0].Scale = 1 }, []string{"5 V: only a clamp has a scale"}},
		{"series meter read by another", func(s *Study) {
			*tap(s) = Tap{Name: "left", Kind: TapSeries, Instrument: "meter", Range: "10 A", Turns: 1, Meter: "meter"}
			s.Sittings[0].Steps = nil
		}, []string{"left › read by: a meter in series reads itself"}},
		{"meter without volts", func(s *Study) {
			s.Instruments = append(s.Instruments, &Instrument{Name: "amps", Kind: Meter, Ranges: s.Instruments[1].Ranges[1:]})
			s.Sittings[0].VoltageMeter = "amps"
		}, []string{"sittings › 1 › meter › voltage: amps has no range that shows a voltage"}},
		{"order of nothing", func(s *Study) { s.Order = []*Turn{{Board: "Otter", State: "bsy"}, {Board: "Oter", State: "busy"}} },
			[]string{`order › Otter: no state called "bsy"`, `order › Oter: no board called "Oter"`}},
		{"order twice", func(s *Study) {
			s.Order = []*Turn{{Board: "Otter", State: "busy"}, {Board: "Otter", State: "busy", Pinned: true}}
		},
			[]string{"order › Otter: busy stands twice in the order"}},
		{"threaded without a clamp", func(s *Study) { s.BothWays = []*Threaded{{"Otter", "io"}, {"Otter", "vtt"}} },
			[]string{"both ways › Otter: no clamp sits on io", `both ways › Otter: Otter has no rail called "vtt"`}},
		{"work out of hand", func(s *Study) { s.Work = &Work{Passes: 21, StatesPerZero: new(-1)} },
			[]string{"work › states per zero: -1 is outside", "work › passes: 21 is outside 0 to 20"}},
		{"rail of another board", func(s *Study) { step(s).Rails[1].Rail = "vtt" }, []string{`steps › 2 › vtt: Otter has no rail called "vtt"`}},
		{"zero of another rail", func(s *Study) { s.Sittings[0].Steps[0].Zeros[1].Rail = "vtt" }, []string{`zero › vtt/left: Otter has no rail called "vtt"`}},
		{"zero of nothing", func(s *Study) { s.Sittings[0].Steps[0].Zeros[0].Instrument = "clmap" }, []string{`zero › clmap low: no instrument called "clmap"`}},
		{"zero of every range", func(s *Study) { s.Sittings[0].Steps[0].Zeros[0].Range = "" }, []string{"zero › clamp: which range of clamp?"}},
		{"board missing", func(s *Study) { s.Sittings[0].Board = "Oter" }, []string{`sittings › 1 › board: no board called "Oter"`}},
		{"thermometer missing", func(s *Study) { s.Sittings[0].Thermometer = "prob" }, []string{`sittings › 1 › thermometer: no instrument called "prob"`}},
		{"thermometer's range", func(s *Study) {
			step(s).Temperatures = []*Named{{Name: "sink", Reading: Reading{Entry: entry(t, "40 °C", quantity.Celsius), Range: "hot"}}}
		}, []string{`temperatures › sink: probe has no range of temperature called "hot"`}},
		{"voltage at the feed of a closed rail", func(s *Study) {
			step(s).Rails = append(step(s).Rails, &RailReading{Rail: "shut", FeedSide: true, Voltage: &Reading{Entry: entry(t, "2.5 V", quantity.Volt)}})
		}, []string{"shut › v at feed: shut was not opened, so it has one side only"}},
		{"other parts alike", func(s *Study) {
			o := &Other{Part: "flash", Draws: entry(t, "1 mA", quantity.Ampere)}
			s.Boards[0].Rails[0].Others = []*Other{o, o}
		}, []string{`also feeds › flash: the part "flash" comes twice`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := sound(t)
			c.spoil(s)
			var got []string
			for _, f := range Check(s) {
				got = append(got, f.Error())
			}
			if len(got) != len(c.want) {
				t.Fatalf("%d faults, %d wanted:\n%s", len(got), len(c.want), strings.Join(got, "\n"))
			}
			for i := range got {
				if !strings.Contains(got[i], c.want[i]) {
					t.Errorf("fault %q, wanted %q", got[i], c.want[i])
				}
			}
		})
	}
}

// TestNearest: one slip for every three letters is forgiven.
func TestNearest(t *testing.T) {
	names := []string{"red clamp", "blue clamp", "io", "desk meter"}
	for word, want := range map[string]string{
		"red clmap": "red clamp", "redclamp": "red clamp", "RED  CLAMP": "red clamp", "bleu clamp": "blue clamp",
		"oi": "io", "i": "io", "desk": "", "": "", "x": "", "zzz zzzzz": "", "desk metre": "desk meter",
		strings.Repeat("red clamp", 50): "",
	} {
		if got := Nearest(word, names); got != want {
			t.Errorf("%q is taken for %q, not %q", word, got, want)
		}
	}
	if got := Accepting("bleu clamp", names); got != "red clamp, blue clamp, io, desk meter; did you mean blue clamp?" {
		t.Error(got)
	}
}

// TestNameSittings: made names are unique, and keep clear of written ones.
func TestNameSittings(t *testing.T) {
	day := time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)
	s := &Study{}
	for range 28 {
		s.Sittings = append(s.Sittings, &Sitting{Board: "Otter", On: day})
	}
	s.Sittings[1] = &Sitting{Board: "Otter", On: day, Name: "Otter 2026-03-14 b", Named: true}
	s.NameSittings()
	for i, want := range map[int]string{0: "Otter 2026-03-14", 1: "Otter 2026-03-14 b", 2: "Otter 2026-03-14 c", 25: "Otter 2026-03-14 z", 26: "Otter 2026-03-14 27"} {
		if got := s.Sittings[i].Name; got != want {
			t.Errorf("sitting %d is called %q, not %q", i, got, want)
		}
	}
}

func TestSomeRailEntersTheChip(t *testing.T) {
	s := sound(t)
	for _, r := range s.Boards[0].Rails {
		r.Aside = true
	}
	faults := Check(s)
	if len(faults) != 1 || !strings.Contains(faults[0].Error(), "none of the board's rails enters the chip") {
		t.Errorf("faults %v", faults)
	}
}
