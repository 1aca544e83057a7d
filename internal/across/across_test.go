package across_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"railtally/internal/across"
	"railtally/internal/example"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

func worked(t *testing.T) *study.Study {
	t.Helper()
	s, _, err := studyfile.Read("otter.yaml", example.New(example.Seed).Text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// only keeps one board of a study with its sittings.
func only(t *testing.T, board string) *study.Study {
	t.Helper()
	s := worked(t)
	s.Boards = slices.DeleteFunc(s.Boards, func(b *study.Board) bool { return b.Name != board })
	s.Sittings = slices.DeleteFunc(s.Sittings, func(x *study.Sitting) bool { return x.Board != board })
	s.Comparisons, s.Claims, s.Cooling, s.Aims, s.Expected, s.Proofs = nil, nil, nil, nil, nil, nil
	return s
}

func tallied(t *testing.T, s *study.Study) *tally.Tally {
	t.Helper()
	x, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func merged(t *testing.T, a, b *study.Study, o across.Options) *across.Merged {
	t.Helper()
	m, err := across.Merge(a, b, o)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// A study cut in two, one for each board, and put together again gives the
// differences of the whole to the last bit, once all instruments are known to be
// shared: it is the same model.
func TestCutAndPutTogether(t *testing.T) {
	whole := tallied(t, worked(t))
	marten, otter := only(t, "Marten"), only(t, "Otter")
	m := merged(t, marten, otter, across.Options{Same: []string{"blue clamp", "io shunt", "desk meter", "case probe"}})
	if m.Labels != [2]string{"March 2026", "April 2026"} {
		t.Errorf("labels %q", m.Labels)
	}
	if len(m.Shared) != len(marten.Instruments) {
		t.Errorf("shared: %q", m.Shared)
	}
	together := tallied(t, m.Study)
	apart := tallied(t, merged(t, marten, otter, across.Options{}).Study)
	if len(together.Differences) != len(example.States()) {
		t.Fatalf("%d differences", len(together.Differences))
	}
	for i, d := range together.Differences {
		want, err := whole.Compare(whole.State(d.First.On()), whole.State(d.Second.On()))
		if err != nil {
			t.Fatal(err)
		}
		if !near(d.Difference.Estimate, want.Difference.Estimate) || !near(d.Difference.U, want.Difference.U) || !near(d.Difference.DOF, want.Difference.DOF) {
			t.Errorf("%s: %g ± %g, in the whole study %g ± %g", d.First.On(), d.Difference.Estimate, d.Difference.U, want.Difference.Estimate, want.Difference.U)
		}
		// Where nothing says that the blue clamp is one, it counts as two.
		if u := apart.Differences[i].Difference.U; !(u > d.Difference.U) {
			t.Errorf("%s: with fewer instruments shared the uncertainty is %g, with all %g", d.First.On(), u, d.Difference.U)
		}
	}
}

func near(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b))
}

// The same study twice: nothing differs, and the errors of what is shared are
// gone from the difference.
func TestSameBoardTwice(t *testing.T) {
	then, now := only(t, "Otter"), only(t, "Otter")
	for _, x := range now.Sittings {
		x.On = x.On.AddDate(1, 0, 0)
		for _, st := range x.Steps {
			if !st.At.IsZero() {
				st.At = st.At.AddDate(1, 0, 0)
			}
		}
	}
	m := merged(t, then, now, across.Options{})
	if m.Labels != [2]string{"2026", "2027"} || m.Study.Board("Otter (2026)") == nil || m.Study.Board("Otter (2027)") == nil {
		t.Fatalf("%q", m.Labels)
	}
	x := tallied(t, m.Study)
	for _, d := range x.Differences {
		if d.First.Board.Name != "Otter (2027)" || math.Abs(d.Difference.Estimate) > 1e-9 || d.Verdict == tally.Resolved {
			t.Errorf("%s against %s: %g, %s", d.First.On(), d.Second.On(), d.Difference.Estimate, d.Verdict)
		}
		independent := math.Hypot(d.First.Total.U, d.Second.Total.U)
		if !(d.Difference.U < 0.95*independent) {
			t.Errorf("%s: u %g, independent %g: the red clamp's gain is still in it", d.First.On(), d.Difference.U, independent)
		}
	}
	if !slices.Contains(m.Shared, "red clamp") || slices.Contains(m.Shared, "blue clamp") {
		t.Errorf("shared: %q", m.Shared)
	}
}

// What is one instrument and what is two, and what is said of it.
func TestIdentity(t *testing.T) {
	for name, c := range map[string]struct {
		change func(a, b *study.Study)
		shared bool
		note   string
	}{
		"one calibration": {func(a, b *study.Study) {}, true, "used in both studies: red clamp"},
		"calibrated anew": {func(a, b *study.Study) {
			b.Instruments[0].Calibration.On = b.Instruments[0].Calibration.On.AddDate(0, 1, 0)
		}, false, "calibrated anew between the studies"},
		"no calibration":    {func(a, b *study.Study) { a.Instruments[0].Calibration, b.Instruments[0].Calibration = nil, nil }, false, "neither a serial number nor a calibration"},
		"one serial number": {ident("hall clamp, serial 4711", "hall clamp, serial 4711"), true, "used in both studies: red clamp"},
		"two":               {ident("hall clamp, serial 4711", "hall clamp, serial 4712"), false, "their serial numbers differ"},
		"kept alias":        {ident("hall clamp, serial withheld 0a1b2c3d", "hall clamp, serial withheld 0a1b2c3d"), true, "used in both studies: red clamp"},
		"counted alias":     {ident("hall clamp, serial withheld 1", "hall clamp, serial withheld 1"), false, "neither a serial number nor a calibration"},
		"another position":  {func(a, b *study.Study) { b.Instruments[0].Ranges[0].Position = 0.02 }, false, "described differently"},
		"another name": {func(a, b *study.Study) {
			ident("serial 4711", "serial 4711")(a, b)
			rename(b, "red clamp", "clamp no. one")
		}, true, "used in both studies: red clamp"},
	} {
		a, b := only(t, "Marten"), only(t, "Otter")
		c.change(a, b)
		m := merged(t, a, b, across.Options{})
		if slices.Contains(m.Shared, "red clamp") != c.shared {
			t.Errorf("%s: shared %q", name, m.Shared)
		}
		if notes := strings.Join(m.Notes, "\n"); !strings.Contains(notes, c.note) {
			t.Errorf("%s: %q is not among\n%s", name, c.note, notes)
		}
	}
}

// ident gives the red clamp an identity in each study, and no calibration.
func ident(first, second string) func(a, b *study.Study) {
	return func(a, b *study.Study) {
		for i, s := range []*study.Study{a, b} {
			s.Instruments[0].Calibration, s.Instruments[0].Ident = nil, []string{first, second}[i]
		}
	}
}

func rename(s *study.Study, was, is string) {
	s.Instrument(was).Name = is
	for _, b := range s.Boards {
		for _, r := range b.Rails {
			for _, x := range r.Taps {
				if x.Instrument == was {
					x.Instrument = is
				}
			}
		}
	}
	for _, x := range s.Sittings {
		for _, st := range x.Steps {
			for _, z := range st.Zeros {
				if z.Instrument == was {
					z.Instrument = is
				}
			}
		}
	}
}

func TestStatesAndSettings(t *testing.T) {
	a, b := only(t, "Marten"), only(t, "Otter")
	b.State("bare").Levels[2].Value = "6 Gbit/s"
	b.Level = 0.99
	b.EqualWithin = &quantity.Entry{Values: []float64{0.02}, Unit: quantity.Watt, Text: "20 mW"}
	m := merged(t, a, b, across.Options{Labels: [2]string{"old", "new"}})
	notes := strings.Join(m.Notes, "\n")
	for _, want := range []string{"the state bare is not compared: it means link 3 Gbit/s in old and 6 Gbit/s in new", "at 95 % and at 99 %", "the narrower limit"} {
		if !strings.Contains(notes, want) {
			t.Errorf("%q is not among\n%s", want, notes)
		}
	}
	if m.Study.EqualWithin.Value() != 0.02 || m.Study.Level != 0.95 {
		t.Errorf("%v %g", m.Study.EqualWithin, m.Study.Level)
	}
	for _, c := range m.Study.Comparisons {
		if strings.HasPrefix(c.First.State, "bare") {
			t.Error("bare is compared")
		}
	}
	before := worked(t)
	if len(a.Sittings) == 0 || a.Instruments[0].Name != before.Instruments[0].Name || a.Boards[0].Name != "Marten" {
		t.Error("a study that was merged is changed")
	}
}

// Two effects of a sitting that were taken over are pooled by their variances:
// (4·30² + 6·20²)/10 = 600, so 24.49 mW with 10 degrees of freedom.
func TestPooledEffect(t *testing.T) {
	a, b := only(t, "Marten"), only(t, "Otter")
	carried := func(sd, dof float64, from string) *study.CarriedEffect {
		return &study.CarriedEffect{SD: quantity.Entry{Values: []float64{sd}, Unit: quantity.Watt}, DOF: dof, From: from}
	}
	a.SittingEffect, b.SittingEffect = carried(0.03, 4, "winter"), carried(0.02, 6, "spring")
	e := merged(t, a, b, across.Options{}).Study.SittingEffect
	if math.Abs(e.SD.Value()-math.Sqrt(600e-6)) > 1e-12 || e.DOF != 10 || e.From != "winter and spring" {
		t.Errorf("%+v", e)
	}
	b.SittingEffect = carried(0.03, 4, "winter")
	if e := merged(t, a, b, across.Options{}).Study.SittingEffect; e.DOF != 4 || e.SD.Value() != 0.03 {
		t.Errorf("%+v", e)
	}
}

func TestRefusals(t *testing.T) {
	a, b := only(t, "Marten"), only(t, "Otter")
	if _, err := across.Merge(a, b, across.Options{Same: []string{"green clamp"}}); err == nil || !strings.Contains(err.Error(), "red clamp") {
		t.Errorf("%v", err)
	}
	b.Instrument("blue clamp").Ranges[0].Position = 0.5
	if _, err := across.Merge(a, b, across.Options{Same: []string{"blue clamp"}}); err == nil || !strings.Contains(err.Error(), "describe it differently") {
		t.Errorf("%v", err)
	}
	if _, err := across.Merge(a, b, across.Options{Labels: [2]string{"x", "x"}}); err == nil || !strings.Contains(err.Error(), "two labels") {
		t.Errorf("%v", err)
	}
	b.Sittings = nil
	if _, err := across.Merge(a, b, across.Options{}); err == nil || !strings.Contains(err.Error(), "no state was measured in both") {
		t.Errorf("%v", err)
	}
}
