package cooling

import (
	"math"
	"strings"
	"testing"
	"time"

	"railtally/internal/example"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

func try(t testing.TB, c *Cooling, b *Board, ch Change) *Trial {
	t.Helper()
	out, err := c.Try(b, ch)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// No change at all is what the law predicts, with its interval.
func TestNoChange(t *testing.T) {
	c, b := otter(t, Options{Power: entry(t, "8 W", quantity.Watt)})
	for _, pr := range try(t, c, b, Change{}).Points {
		want, err := c.Predict(pr.Point, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(pr.Temperature.Estimate-want.Temperature.Estimate) > 1e-6 || math.Abs(pr.Temperature.U-want.Temperature.U) > 1e-3*want.Temperature.U {
			t.Errorf("%s: %g ± %g, the law says %g ± %g", pr.Point.Name, pr.Temperature.Estimate, pr.Temperature.U,
				want.Temperature.Estimate, want.Temperature.U)
		}
	}
}

// The model set by the measurement passes through it: at the powers that were
// read it gives the rises that were read, on average.
func TestModelPassesThroughTheReadings(t *testing.T) {
	c, b := otter(t, Options{})
	m := b.Model
	if !m.Calibrated || m.At.Name != "sink" {
		t.Fatalf("%+v", m)
	}
	var off, sum float64
	for _, r := range m.At.Readings {
		l, in := m.with(m.Ladder, []float64{m.args[argFactor].Estimate(), m.args[argEmissivity].Estimate(), 0,
			m.args[argInterface].Estimate(), r.Power.Estimate, r.Room.Estimate()}, b.Ask.Pressure)
		g, err := l.At(r.Power.Estimate, in)
		if err != nil {
			t.Fatal(err)
		}
		off += g.Base - in.Air - r.Rise.Estimate
		sum++
	}
	if math.Abs(off/sum) > 0.2 {
		t.Errorf("the model is off by %.2f K on average", off/sum)
	}
	_ = c
}

// Taller fins cool, too many heat, wind cools; and the interval widens with the
// distance from what was measured.
func TestChanges(t *testing.T) {
	c, b := otter(t, Options{})
	same := try(t, c, b, Change{})
	was := same.Points[0].Temperature
	s := *b.Model.Ladder.Sink
	tall := s
	tall.Height *= 1.5
	dense := s
	dense.Fins = 22
	wind := 0.5
	for what, x := range map[string]struct {
		ch   Change
		warm bool
	}{"taller": {Change{Sink: &tall}, false}, "dense": {Change{Sink: &dense}, true}, "wind": {Change{Speed: &wind}, false}} {
		n := try(t, c, b, x.ch)
		now := n.Points[0].Temperature
		if (now.Estimate > was.Estimate) != x.warm {
			t.Errorf("%s: %g °C, was %g °C", what, now.Estimate, was.Estimate)
		}
		if now.U < 0.7*was.U || !(n.Discrepancy > 0) {
			t.Errorf("%s: ± %g K, was ± %g K", what, now.U, was.U)
		}
	}
	if same.Discrepancy != 0 {
		t.Errorf("no change costs %g", same.Discrepancy)
	}
	bad := s
	bad.Fins = 90
	if _, err := c.Try(b, Change{Sink: &bad}); err == nil || !strings.Contains(err.Error(), "overlap") {
		t.Errorf("fins that overlap: %v", err)
	}
	if _, err := c.Try(b, Change{NoSink: true}); err == nil {
		t.Error("a board of which nothing is known was used")
	}
}

// The answers, where the limit is kept and where it is not.
func TestAnswers(t *testing.T) {
	for _, x := range []struct {
		room, power string
		want        map[string]Verdict
		words       []string
	}{
		{"23 °C", "6 W", map[string]Verdict{"passive": Yes, "sink": Yes, "fan": Yes}, []string{"no fan is needed", "may draw up to"}},
		{"50 °C", "9 W", map[string]Verdict{"passive": No, "sink": Yes, "fan": Yes}, []string{"not enough without a fan", "mm tall", "m/s between the fins keep the limit", "outside"}},
		{"84 °C", "12 W", map[string]Verdict{"passive": No, "sink": No}, []string{"No fins up to"}},
	} {
		c, b := otter(t, Options{Room: entry(t, x.room, quantity.Celsius), Power: entry(t, x.power, quantity.Watt)})
		list, err := c.Answers(b)
		if err != nil {
			t.Fatal(err)
		}
		all := ""
		for _, a := range list {
			all += a.Text.String() + "\n"
			if v, ok := x.want[a.Question]; ok && v != a.Verdict {
				t.Errorf("%s in %s: %s is %q: %s", x.power, x.room, a.Question, a.Verdict, a.Text)
			}
		}
		for _, w := range x.words {
			if !strings.Contains(all, w) {
				t.Errorf("%s in %s: nothing says %q in\n%s", x.power, x.room, w, all)
			}
		}
	}
}

// With a fan running nothing is said of still air, unless a sink is described.
func TestReadWithAFan(t *testing.T) {
	c := run(t, tallied(t, example.Seed, "\ncooling:\n  Otter: {air: fan, limits: {case: 80 °C}}\n"), Options{Board: "Otter"})
	a, _, err := c.passive(c.Boards[0])
	if err != nil || a.Verdict != Open || !strings.Contains(a.Text.String(), "fan") {
		t.Errorf("%+v, %v", a, err)
	}
	if lo, hi := c.Boards[0].Named("case").Law.BandLo, c.Boards[0].Named("case").Law.BandHi; lo != 0.85 || hi != 1 {
		t.Errorf("band %g to %g", lo, hi)
	}
}

// Where the fan's air speed is known, still air is worked out; where it is not,
// the sink's factor would hide the fan, and nothing is said.
func TestWithoutTheFan(t *testing.T) {
	const sink = "sink: {kind: plate fins, width: 40 mm, length: 40 mm, base thickness: 3 mm, fins: 10, fin height: 18 mm, fin thickness: 1 mm}"
	c := run(t, tallied(t, example.Seed, "\ncooling:\n  Otter: {air: fan, limits: {case: 80 °C}, "+sink+"}\n"), Options{Board: "Otter"})
	if b := c.Boards[0]; b.Model != nil || b.NoModel == nil {
		t.Errorf("a model was set with an unknown fan: %v", b.NoModel)
	}
	c = run(t, tallied(t, example.Seed, "\ncooling:\n  Otter: {air: fan, air speed: 0.6 ± 0.1 m/s, limits: {case: 80 °C}, "+sink+"}\n"), Options{Board: "Otter"})
	b := c.Boards[0]
	with, err := c.Predict(b.Named("case"), b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
	if err != nil {
		t.Fatal(err)
	}
	a, pr, err := c.passive(b)
	if err != nil {
		t.Fatal(err)
	}
	if a.Verdict != No || pr.Temperature.Estimate < with.Temperature.Estimate+10 || pr.Temperature.U < with.Temperature.U {
		t.Errorf("%s: %g ± %g °C, with the fan %g °C", a.Text, pr.Temperature.Estimate, pr.Temperature.U, with.Temperature.Estimate)
	}
}

// Readings that scatter no more than their display explains get no scatter, and
// still set the model.
func TestNoScatter(t *testing.T) {
	tl, bench := tallied(t, example.Seed, described), example.New(example.Seed)
	power := map[string]float64{}
	for _, s := range tl.Board("Otter").States {
		power[s.State.Name] = s.Total.Estimate
	}
	for _, x := range tl.Study.Sittings {
		for _, st := range x.Steps {
			for _, n := range st.Temperatures {
				if p := power[st.State]; x.Board == "Otter" && p > 0 {
					n.Reading.Entry = *entry(t, quantity.Format(x.Room.Value()+bench.TrueRise(n.Name, p), quantity.Celsius, 6)+" ± 0.5 °C", quantity.Celsius)
				}
			}
		}
	}
	c := run(t, tl, Options{Board: "Otter"})
	b := c.Boards[0]
	if l := b.Named("case").Law; l.Scatter != 0 || !l.Assessed {
		t.Errorf("scatter %g", l.Scatter)
	}
	if b.Model == nil || !b.Model.Calibrated || !b.Model.Measured {
		t.Errorf("%+v, %v", b.Model, b.NoModel)
	}
}

// The board beside the sink, and the board alone.
func TestBoardBeside(t *testing.T) {
	beside := strings.Replace(described, "    chip side:", "    board: {width: 100 mm, height: 70 mm, thickness: 1.6 mm, planes: 1}\n    chip side:", 1)
	c := run(t, tallied(t, example.Seed, beside), Options{Board: "Otter"})
	b := c.Boards[0]
	if b.Model == nil {
		t.Fatal(b.NoModel)
	}
	h, err := c.Path(b)
	if err != nil {
		t.Fatal(err)
	}
	if !h.Split || math.Abs(h.Up+h.Down-h.Power.Estimate) > 1e-6 || !(h.Down > 0 && h.Radiated > 0 && h.Radiated < h.Up) {
		t.Errorf("%+v", h)
	}
	var sum float64
	for _, s := range h.Steps {
		sum += s.Estimate
	}
	last := h.Rungs[len(h.Rungs)-1]
	if math.Abs(sum*h.Power.Estimate-(last.Temperature.Estimate-h.Rungs[0].Temperature.Estimate)) > 1e-6 {
		t.Errorf("the steps add up to %g K/W", sum)
	}
	bare := try(t, c, b, Change{NoSink: true})
	if bare.Points[0].Temperature.Estimate < h.Rungs[2].Temperature.Estimate+10 {
		t.Errorf("without its sink the case reaches %g °C", bare.Points[0].Temperature.Estimate)
	}
	list, err := c.Answers(b)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range list {
		if a.Question == "board alone" && a.Verdict != No {
			t.Errorf("%+v", a)
		}
	}
}

// A case that reads cooler than its sink, and pins, are told and not computed.
func TestNoModel(t *testing.T) {
	for _, x := range []struct{ cooling, want string }{
		{"\ncooling:\n  Otter:\n    points: {case: sink, sink: case}\n    sink: {kind: plate, width: 40 mm, length: 40 mm, base thickness: 3 mm}\n", "no warmer than the sink"},
		{"\ncooling:\n  Otter: {sink: {kind: pins}}\n", "pins"},
	} {
		c := run(t, tallied(t, example.Seed, x.cooling), Options{Board: "Otter"})
		if b := c.Boards[0]; b.NoModel == nil || !strings.Contains(b.NoModel.Error(), x.want) {
			t.Errorf("%v: want %q", b.NoModel, x.want)
		}
	}
}

func TestBurn(t *testing.T) {
	for celsius, want := range map[float64]string{40: "", 50: "48 °C", 58: "55 °C", 70: "65 °C"} {
		if got := Burn("sink", celsius).String(); (got == "") != (want == "") || !strings.Contains(got, want) {
			t.Errorf("%g °C: %q", celsius, got)
		}
	}
}

// A step of its own for each reading makes a series of a state.
func TestSeriesInAStudy(t *testing.T) {
	tl := tallied(t, example.Seed, described)
	for _, x := range tl.Study.Sittings {
		if x.Name != "April" {
			continue
		}
		last := x.Steps[len(x.Steps)-1].At
		for i := range 20 {
			at := last.Add(time.Duration(i+1) * time.Minute)
			v := 23.6 + 45*(1-math.Exp(-float64(i+1)/5))
			x.Steps = append(x.Steps, &study.Step{At: at, State: "four-busy", Temperatures: []*study.Named{{Name: "lid",
				Reading: study.Reading{Entry: *entry(t, quantity.Format(v, quantity.Celsius, 3), quantity.Celsius)}}}})
		}
	}
	c := run(t, tl, Options{Board: "Otter"})
	p := c.Boards[0].Named("lid")
	if p == nil || len(p.Readings) != 1 || p.Readings[0].Settling == nil || p.Kind != study.CasePoint {
		t.Fatalf("%+v", p)
	}
	if s := p.Readings[0].Settling; !s.Settled || math.Abs(s.Final-68.6) > 1 {
		t.Errorf("%+v", s)
	}
}

func BenchmarkTry(b *testing.B) {
	for name, text := range map[string]string{"sink": described, "sink and board": strings.Replace(described, "    chip side:",
		"    board: {width: 120 mm, height: 90 mm, thickness: 1.6 mm, planes: 2}\n    chip side:", 1)} {
		b.Run(name, func(b *testing.B) {
			c := run(b, tallied(b, example.Seed, text), Options{Board: "Otter"})
			board := c.Boards[0]
			s := *board.Model.Ladder.Sink
			for b.Loop() {
				s.Height += 1e-6
				if _, err := c.Try(board, Change{Sink: &s}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkMap(b *testing.B) {
	c, board := otter(b, Options{})
	for b.Loop() {
		c.MapOf(board, board.Named("case"), 100)
	}
}
